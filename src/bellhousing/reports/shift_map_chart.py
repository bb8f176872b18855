"""The shift map as one chart for page and print: sound band, suspected cause, and the shifts driven."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from bellhousing.quantities.units import from_si
from bellhousing.reports.chart import ACCENT, BANDS, INK, Table, framed, titled_svg

# What a throttle is called, by the manifold vacuum it leaves [inHg]: common practice, as for driven shifts.
THROTTLES: Mapping[float, str] = {0.0: "full", 10.0: "half", 16.0: "light"}
VACUUM_UNIT: Mapping[str, str] = {"mph": "inHg", "km/h": "kPa"}
INHG = 3386.389
# Vacuum at which a band carries its name, and room below the highest vacuum drawn [inHg].
LABELLED_AT = 1.0
BELOW = 0.8
# A cause whose median shift speeds differ by less than this from a sound car's does not show on the map [1].
SAME = 0.03


@dataclass(frozen=True)
class MapBand:
    """Road speeds of one shift [m/s], one triple per vacuum; None where the shift never comes."""

    shift: str
    low: tuple[float | None, ...]
    median: tuple[float | None, ...]
    high: tuple[float | None, ...]


@dataclass(frozen=True)
class DrivenShift:
    """A shift as it was driven: road speed [m/s] at a manifold vacuum [Pa]."""

    shift: str
    speed: float
    vacuum: float
    throttle: str


@dataclass(frozen=True)
class ShiftMapPicture:
    """Everything the chart shows; `vacuum` [Pa] is shared by all bands, `suspected` may be empty."""

    vacuum: tuple[float, ...]
    sound: tuple[MapBand, ...]
    suspected: tuple[MapBand, ...] = ()
    suspected_name: str | None = None
    driven: tuple[DrivenShift, ...] = ()

    @property
    def drawn(self) -> tuple[MapBand, ...]:
        """The upshifts, and of the downshifts those that were driven."""
        shown = {"1-2", "2-3", "3-4"} | {point.shift for point in self.driven}
        return tuple(band for band in self.sound if band.shift in shown)

    @property
    def moved(self) -> bool:
        """Whether the suspected cause changes any shift speed enough to be seen."""
        sound = {band.shift: band.median for band in self.sound}
        pairs = (
            (before, after)
            for band in self.suspected
            for before, after in zip(sound.get(band.shift, ()), band.median, strict=False)
        )
        return any(
            (before is None) != (after is None)
            or (before is not None and after is not None and abs(after - before) > SAME * max(before, 1.0))
            for before, after in pairs
        )


def shift_map_spec(
    picture: ShiftMapPicture, speed_unit: str = "mph", *, width: int = 640, height: int = 300
) -> dict[str, Any]:
    """The chart as a Vega-Lite specification that holds its own data and points nowhere."""
    end = _furthest(picture, speed_unit)
    # A wide picture is shown smaller than it is drawn, a narrow one as it is.
    size = 15 if width > 500 else 13
    scale = {"x": {"domain": [0, end], "nice": False}, "y": {"domain": _y_domain(picture), "nice": False}}
    layers: list[dict[str, Any]] = []
    for place, band in enumerate(picture.drawn):
        layers += _sound_layers(picture, band, place, speed_unit, end, size)
    if picture.moved:
        layers += _suspected_layers(picture, speed_unit, end)
    layers += _driven_layers(picture, speed_unit, size)
    for layer in layers:
        for name, channel in layer["encoding"].items():
            if name in scale:
                channel["scale"] = scale[name]
                channel["axis"] = _x_axis(speed_unit) if name == "x" else _y_axis()
    return framed({"width": width, "height": height, "layer": layers}, size)


def shift_map_svg(
    picture: ShiftMapPicture,
    speed_unit: str = "mph",
    *,
    width: int = 640,
    height: int = 300,
    name: str = "map",
) -> str:
    """The chart as SVG with title and description; `name` makes its ids unlike any other's on the page.

    Classes carry the colours, so that a page may set its own; the attributes serve on paper.
    """
    spec = shift_map_spec(picture, speed_unit, width=width, height=height)
    title = "Shift map" if not picture.suspected_name else f"Shift map: sound, and {picture.suspected_name}"
    return titled_svg(spec, name=name, title=title, text=shift_map_text(picture, speed_unit))


def shift_map_text(picture: ShiftMapPicture, speed_unit: str = "mph") -> str:
    """The picture in sentences, for who cannot see it."""
    light, full = _at_throttle(picture, 16.0), _at_throttle(picture, 0.0)
    said = []
    for band in picture.drawn:
        said.append(
            f"{_title(band.shift)} on a sound car: {_speeds(band, light, speed_unit)} at light throttle, "
            f"{_speeds(band, full, speed_unit)} at full."
        )
    if picture.suspected_name and not picture.moved:
        said.append(f"{picture.suspected_name} does not move the shifts.")
    elif picture.suspected_name:
        for band in _suspected_drawn(picture):
            medians = [band.median[at] for at in (light, full)]
            at_light, at_full = (_speed(median, speed_unit) for median in medians)
            about = "" if medians[0] is None else "about "
            said.append(
                f"{_title(band.shift)} with {picture.suspected_name}: {about}{at_light} at light throttle, "
                f"{at_full} at full."
            )
    for point in picture.driven:
        said.append(
            f"Driven: {_title(point.shift)} at {_speed(point.speed, speed_unit)}, {point.throttle} throttle."
        )
    return " ".join(said)


def shift_map_table(picture: ShiftMapPicture, speed_unit: str = "mph", *, rows: int = 6) -> Table:
    """Road speeds of 95 in 100 sound cars, and the suspected cause's median, at some throttles."""
    vacuum_unit = VACUUM_UNIT[speed_unit]
    suspected = {band.shift: band for band in picture.suspected} if picture.moved else {}
    headings = ["Throttle, by vacuum"]
    for band in picture.sound:
        headings.append(f"{_title(band.shift)} sound")
        if band.shift in suspected:
            headings.append(f"{_title(band.shift)} suspected")
    lines = []
    for at in _picked(len(picture.vacuum), rows):
        vacuum = picture.vacuum[at]
        shown = f"{from_si(vacuum, vacuum_unit):.0f} {vacuum_unit}"
        name = _throttle_name(vacuum)
        cells = [f"{name} ({shown})" if name else shown]
        for band in picture.sound:
            cells.append(_speeds(band, at, speed_unit))
            if band.shift in suspected:
                cells.append(_speed(suspected[band.shift].median[at], speed_unit))
        lines.append(tuple(cells))
    return Table(tuple(headings), tuple(lines))


def _furthest(picture: ShiftMapPicture, unit: str) -> float:
    bands = [*picture.drawn, *(_suspected_drawn(picture) if picture.moved else ())]
    speeds = [speed for band in bands for speed in (*band.median, *band.high) if speed is not None]
    speeds += [point.speed for point in picture.driven]
    top = float(from_si(max(speeds, default=30.0), unit))
    step = 10.0 if unit == "mph" else 20.0
    return step * math.ceil(1.04 * top / step)


def _y_domain(picture: ShiftMapPicture) -> list[float]:
    seen = [*picture.vacuum, *(point.vacuum for point in picture.driven)]
    return [round(max(seen, default=20.0 * INHG) / INHG + BELOW, 3), 0.0]


def _x_axis(unit: str) -> dict[str, Any]:
    return {"title": f"road speed, {unit}", "grid": True, "tickCount": 6}


def _y_axis() -> dict[str, Any]:
    names = " : ".join(f"datum.value == {at:g} ? '{name}'" for at, name in THROTTLES.items())
    return {
        "title": "throttle",
        "grid": False,
        "values": list(THROTTLES),
        "labelExpr": f"{names} : ''",
    }


def _rows(picture: ShiftMapPicture, band: MapBand, unit: str, end: float) -> list[dict[str, float]]:
    rows = []
    for vacuum, low, high in zip(picture.vacuum, band.low, band.high, strict=True):
        if low is not None:
            top = end if high is None else float(from_si(high, unit))
            low_shown = float(from_si(low, unit))
            if low_shown <= end:
                rows.append({"v": round(vacuum / INHG, 3), "low": low_shown, "high": min(top, end)})
    return rows


def _sound_layers(
    picture: ShiftMapPicture, band: MapBand, place: int, unit: str, end: float, size: int
) -> list[dict[str, Any]]:
    rows = _rows(picture, band, unit, end)
    if not rows:
        return []
    top = min(rows, key=lambda row: abs(row["v"] - LABELLED_AT))
    label = {"v": top["v"], "x": top["low"], "text": f"{_title(band.shift)} sound"}
    return [
        {
            "name": f"sound-{place % 2}-{place}",
            "data": {"values": rows},
            "mark": {"type": "area", "orient": "horizontal", "color": BANDS[place % len(BANDS)]},
            "encoding": {"y": _number("v"), "x": _number("low"), "x2": {"field": "high"}},
        },
        {
            "name": f"label-{place}",
            "data": {"values": [label]},
            "mark": {"type": "text", "align": "right", "dx": -8, "fontSize": size, "color": INK},
            "encoding": {"y": _number("v"), "x": _number("x"), "text": {"field": "text"}},
        },
    ]


def _suspected_drawn(picture: ShiftMapPicture) -> list[MapBand]:
    shown = {band.shift for band in picture.drawn}
    return [band for band in picture.suspected if band.shift in shown]


def _suspected_layers(picture: ShiftMapPicture, unit: str, end: float) -> list[dict[str, Any]]:
    layers = []
    for place, band in enumerate(_suspected_drawn(picture)):
        rows = [
            {"v": round(vacuum / INHG, 3), "x": float(from_si(speed, unit))}
            for vacuum, speed in zip(picture.vacuum, band.median, strict=True)
            if speed is not None and float(from_si(speed, unit)) <= end
        ]
        layers.append(
            {
                "name": f"suspected-{place}",
                "data": {"values": rows},
                "mark": {"type": "line", "color": ACCENT, "strokeWidth": 2.5, "strokeDash": [6, 4]},
                "encoding": {"y": _number("v"), "x": _number("x"), "order": _number("v")},
            }
        )
    return layers


def _driven_layers(picture: ShiftMapPicture, unit: str, size: int) -> list[dict[str, Any]]:
    if not picture.driven:
        return []
    rows = [
        {
            "v": round(point.vacuum / INHG, 3),
            "x": float(from_si(point.speed, unit)),
            "text": _title(point.shift),
        }
        for point in picture.driven
    ]
    place = {"y": _number("v"), "x": _number("x")}
    return [
        {
            "name": "driven",
            "data": {"values": rows},
            "mark": {"type": "point", "shape": "cross", "filled": True, "size": 170}
            | {"color": INK, "opacity": 1},
            "encoding": dict(place),
        },
        {
            "name": "driven-label",
            "data": {"values": rows},
            "mark": {"type": "text", "align": "right", "dx": -11, "fontSize": size, "color": INK},
            "encoding": {**{key: dict(value) for key, value in place.items()}, "text": {"field": "text"}},
        },
    ]


def _number(field: str) -> dict[str, Any]:
    return {"field": field, "type": "quantitative"}


def _title(shift: str) -> str:
    return shift.replace("-", "–")


def _at_throttle(picture: ShiftMapPicture, vacuum_inhg: float) -> int:
    return min(range(len(picture.vacuum)), key=lambda at: abs(picture.vacuum[at] / INHG - vacuum_inhg))


def _throttle_name(vacuum: float) -> str:
    near = min(THROTTLES, key=lambda known: abs(known - vacuum / INHG))
    return THROTTLES[near] if abs(near - vacuum / INHG) < 0.75 else ""


def _speed(speed: float | None, unit: str) -> str:
    return "never" if speed is None else f"{from_si(speed, unit):.0f} {unit}"


def _speeds(band: MapBand, at: int, unit: str) -> str:
    low, high = band.low[at], band.high[at]
    if low is None:
        return "never"
    start = f"{from_si(low, unit):.0f}"
    return f"{start} {unit} or more" if high is None else f"{start}–{from_si(high, unit):.0f} {unit}"


def _picked(count: int, rows: int) -> Sequence[int]:
    if count <= rows:
        return range(count)
    return sorted({round(step * (count - 1) / (rows - 1)) for step in range(rows)})
