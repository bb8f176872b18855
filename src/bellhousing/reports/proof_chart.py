"""Before and after on one picture: the band of sound cars, and the shifts of both drives."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from bellhousing.quantities.units import from_si
from bellhousing.reports.chart import ACCENT, INK, titled_svg
from bellhousing.reports.shift_map_chart import (
    INHG,
    DrivenShift,
    ShiftMapPicture,
    shift_map_spec,
    shift_map_text,
)


def proof_spec(
    picture: ShiftMapPicture,
    before: Sequence[DrivenShift],
    after: Sequence[DrivenShift],
    speed_unit: str = "mph",
    *,
    dates: tuple[str, str] = ("before", "after"),
    width: int = 640,
    height: int = 340,
) -> dict[str, Any]:
    """The shift map with both drives: open rings before, filled ones after, as a Vega-Lite specification."""
    # Both drives take part in how far the axes reach; their marks are drawn here.
    spec = shift_map_spec(replace(picture, driven=(*before, *after)), speed_unit, width=width, height=height)
    layers = [layer for layer in spec["layer"] if not layer["name"].startswith("driven")]
    scales = {
        name: {key: layers[0]["encoding"][name][key] for key in ("scale", "axis")} for name in ("x", "y")
    }
    # The names of the bands stand above every band.
    layers.sort(key=lambda layer: layer["name"].startswith("label"))
    size = spec["config"]["axis"]["labelFontSize"]
    drives = [
        ("before", before, dates[0], {"shape": "diamond", "filled": False, "color": ACCENT}),
        ("after", after, dates[1], {"shape": "circle", "filled": True, "color": INK}),
    ]
    for place, (name, points, date, mark) in enumerate(drives):
        if not points:
            continue
        rows = [
            {
                "v": round(point.vacuum / INHG, 3),
                "x": round(float(from_si(point.speed, speed_unit)), 2),
                "text": point.shift.replace("-", "–"),
            }
            for point in points
        ]
        key = _key(place, f"{name}, {date}", scales)
        # What was before is named above its mark, what is now below it, so that neither hides the other.
        layers += _drive_layers(name, rows, scales, mark, {"fontSize": size, "dy": -12 if place == 0 else 13})
        layers += _drive_layers(f"{name}-key", [key], scales, mark, {"fontSize": size, "dx": 11})
    return {**spec, "layer": layers}


def _key(place: int, text: str, scales: dict[str, Any]) -> dict[str, Any]:
    """Which mark is which drive, at the left below the names of the bands, where no shift can be."""
    (_, end), (low, high) = scales["x"]["scale"]["domain"], scales["y"]["scale"]["domain"]
    return {"v": high + (low - high) * (0.17 + 0.08 * place), "x": 0.03 * end, "text": text}


def _drive_layers(
    name: str,
    rows: list[dict[str, Any]],
    scales: dict[str, Any],
    mark: dict[str, Any],
    text: dict[str, Any],
) -> list[dict[str, Any]]:
    """The marks of one drive, and beside each what it is."""
    at = {
        "y": {"field": "v", "type": "quantitative"} | scales["y"],
        "x": {"field": "x", "type": "quantitative"} | scales["x"],
    }
    return [
        {
            "name": name,
            "data": {"values": rows},
            "mark": {"type": "point", "size": 130, "opacity": 1, "strokeWidth": 2.5} | mark,
            "encoding": at,
        },
        {
            "name": f"{name}-text",
            "data": {"values": rows},
            "mark": {"type": "text", "align": "left", "color": mark["color"]} | text,
            "encoding": {**at, "text": {"field": "text"}},
        },
    ]


def proof_text(
    picture: ShiftMapPicture,
    before: Sequence[DrivenShift],
    after: Sequence[DrivenShift],
    speed_unit: str = "mph",
) -> str:
    """The picture in sentences."""
    said = [shift_map_text(replace(picture, driven=()), speed_unit)]
    for name, points in (("Before", before), ("After", after)):
        for point in points:
            speed = f"{from_si(point.speed, speed_unit):.0f} {speed_unit}"
            said.append(f"{name}: {point.shift.replace('-', '–')} at {speed}, {point.throttle} throttle.")
    return " ".join(said)


def proof_svg(
    picture: ShiftMapPicture,
    before: Sequence[DrivenShift],
    after: Sequence[DrivenShift],
    speed_unit: str = "mph",
    *,
    dates: tuple[str, str] = ("before", "after"),
    name: str = "proof",
) -> str:
    """The picture as SVG with title and description; `name` makes its ids unlike any other's on the page."""
    spec = proof_spec(picture, before, after, speed_unit, dates=dates)
    text = proof_text(picture, before, after, speed_unit)
    return titled_svg(spec, name=name, title="Shifts before and after", text=text)
