"""One reading over the years as a chart for page and print: its window, each value and how sure it is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from bellhousing.reports.chart import ACCENT, BANDS, INK, Table, framed, titled_svg


@dataclass(frozen=True)
class HistoryPoint:
    """A value on a day (2026-05-01) and the ends that hold 95 of 100; `where` says where it is from."""

    day: str
    value: float
    low: float
    high: float
    where: str = ""


@dataclass(frozen=True)
class HistoryPicture:
    """A reading over the years in one unit; an end of the window that is open or unknown is infinite."""

    name: str
    unit: str
    points: tuple[HistoryPoint, ...]
    low: float = -math.inf
    high: float = math.inf
    source: str = ""


def history_spec(picture: HistoryPicture, *, width: int = 640, height: int = 220) -> dict[str, Any]:
    """The chart as a Vega-Lite specification that holds its own data and points nowhere."""
    size = 15 if width > 500 else 13
    ends = [end for end in (picture.low, picture.high) if math.isfinite(end)]
    values = [*ends, *(end for point in picture.points for end in (point.low, point.high))]
    room = 0.1 * (max(values) - min(values)) or 0.1 * abs(max(values)) or 1.0
    domain = [min(values) - room, max(values) + room]
    low, high = (min(max(end, domain[0]), domain[1]) for end in (picture.low, picture.high))
    y = {"scale": {"domain": domain, "nice": False, "zero": False}, "type": "quantitative"}
    y |= {"axis": {"title": picture.unit or None, "grid": True, "tickCount": 4}}
    x = {"field": "day", "type": "temporal", "axis": {"title": None, "grid": False, "tickCount": 5}}
    rows = [
        {
            "day": point.day,
            "v": point.value,
            "low": point.low,
            "high": point.high,
            "in": inside(picture, point),
        }
        for point in picture.points
    ]
    layers: list[dict[str, Any]] = []
    if ends:
        band = {"data": {"values": [{"low": low, "high": high}]}, "name": "sound-0"}
        ends_of = {"y": {**y, "field": "low"}, "y2": {"field": "high"}}
        layers.append({**band, "mark": {"type": "rect", "color": BANDS[0]}, "encoding": ends_of})
    data = {"data": {"values": rows}}
    layers += [
        {
            **data,
            "name": "line",
            "mark": {"type": "line", "color": INK, "strokeWidth": 1, "strokeDash": [3, 3]},
            "encoding": {"x": x, "y": {**y, "field": "v"}},
        },
        {
            **data,
            "name": "whisker",
            "mark": {"type": "rule", "color": INK, "strokeWidth": 2},
            "encoding": {"x": x, "y": {**y, "field": "low"}, "y2": {"field": "high"}},
        },
        *(_marks(data, x, y, inner=inner) for inner in (True, False)),
    ]
    return framed({"width": width, "height": height, "layer": layers}, size)


def _marks(data: dict[str, Any], x: dict[str, Any], y: dict[str, Any], *, inner: bool) -> dict[str, Any]:
    """Values inside as filled rounds, values outside as open diamonds, so that no colour has to tell them."""
    shape = {"shape": "circle", "filled": True, "color": INK}
    if not inner:
        shape = {"shape": "diamond", "filled": False, "color": ACCENT, "strokeWidth": 3}
    return {
        **data,
        "name": "driven" if inner else "suspected",
        "transform": [{"filter": f"datum['in'] === {'true' if inner else 'false'}"}],
        "mark": {"type": "point", "size": 110, "opacity": 1, **shape},
        "encoding": {"x": x, "y": {**y, "field": "v"}},
    }


def inside(picture: HistoryPicture, point: HistoryPoint) -> bool:
    """Whether a value lies in the window."""
    return picture.low <= point.value <= picture.high


def history_svg(picture: HistoryPicture, *, name: str, width: int = 640, height: int = 220) -> str:
    """The chart as SVG with title and description; `name` makes its ids unlike any other's on the page."""
    spec = history_spec(picture, width=width, height=height)
    title, text = f"{picture.name} over the years", history_text(picture)
    return titled_svg(spec, name=name, title=title, text=text, kind="shift-map history")


def history_text(picture: HistoryPicture) -> str:
    """The picture in a sentence, for who cannot see it."""
    first, last = picture.points[0], picture.points[-1]
    unit = f" {picture.unit}" if picture.unit else ""
    said = f"{len(picture.points)} readings, from {first.value:.4g}{unit} on {first.day} to "
    said += f"{last.value:.4g}{unit} on {last.day}"
    if math.isfinite(picture.low) and math.isfinite(picture.high):
        said += f"; window {picture.low:.4g} to {picture.high:.4g}{unit}"
    out = sum(not inside(picture, point) for point in picture.points)
    return f"{said}, {out or 'none'} outside it." if math.isfinite(picture.low + picture.high) else f"{said}."


def history_table(picture: HistoryPicture) -> Table:
    """Every value with its day, how sure it is, and where it lies."""
    headings = (
        "Day",
        f"Value{', ' + picture.unit if picture.unit else ''}",
        "95 in 100 between",
        "Window",
        "From",
    )
    known = math.isfinite(picture.low) or math.isfinite(picture.high)
    return Table(
        headings,
        tuple(
            (
                point.day,
                f"{point.value:.4g}",
                f"{point.low:.4g} and {point.high:.4g}" if point.high > point.low else "not said",
                ("inside" if inside(picture, point) else "outside") if known else "not known",
                point.where,
            )
            for point in picture.points
        ),
    )
