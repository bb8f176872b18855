"""A drive over time as one chart for page and print: road speed, engine speed, and the gear as a band."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np

from bellhousing.quantities.units import from_si
from bellhousing.reports.chart import ACCENT, BANDS, INK, SOFT, Table, framed, titled_svg
from bellhousing.road.logs.trace import extremes

FLARE_RPM = 100.0
"""Engine speed above the old ratio from which a shift is marked as flaring [rpm]: the trade's figure."""

LONG = 600.0
"""Time from which the axis counts minutes [s]."""

LEAST_PIXELS = 0.5
"""Width below which a stretch in one gear is not drawn [px]."""

LETTER = 0.62
"""Width of a letter over the height of its type; common practice, no source."""


@dataclass(frozen=True)
class GearStretch:
    """A gear from one moment to another [s]."""

    begin: float
    end: float
    gear: int


@dataclass(frozen=True)
class DriveShift:
    """A shift of the drive: running time and the log's own clock [s], road speed [m/s], flare [rpm]."""

    time: float
    clock: float
    before: int
    after: int
    speed: float
    throttle: str
    duration: float
    flare: float

    @property
    def name(self) -> str:
        """As the trade writes it."""
        return f"{self.before}–{self.after}"

    @property
    def flares(self) -> bool:
        """Whether the engine runs up before the next gear takes hold."""
        return self.flare >= FLARE_RPM


@dataclass(frozen=True)
class DrivePicture:
    """Everything the chart shows.

    time [s]; speed [m/s]; engine [rpm]; stretch : number of the stretch without a hole, per sample
    slipping : gears that slip, with their slip in per cent
    """

    time: tuple[float, ...]
    speed: tuple[float, ...]
    engine: tuple[float, ...]
    stretch: tuple[int, ...]
    gears: tuple[GearStretch, ...]
    shifts: tuple[DriveShift, ...]
    slipping: tuple[tuple[int, float], ...] = ()

    @property
    def flaring(self) -> tuple[DriveShift, ...]:
        """The shifts that flare."""
        return tuple(shift for shift in self.shifts if shift.flares)


def thinned_picture(picture: DrivePicture, pixels: int) -> DrivePicture:
    """The picture with the extremes of both speeds in each pixel's time; lines drawn alike, however long."""
    if len(picture.time) <= 4 * pixels:
        return picture
    time = np.asarray(picture.time)
    stretch = np.asarray(picture.stretch)
    turn = np.flatnonzero(np.diff(stretch))
    kept = extremes(time, (np.asarray(picture.speed), np.asarray(picture.engine)), pixels)
    rows = [int(row) for row in np.unique(np.concatenate([kept, turn, turn + 1]))]
    return replace(
        picture,
        time=tuple(picture.time[row] for row in rows),
        speed=tuple(picture.speed[row] for row in rows),
        engine=tuple(picture.engine[row] for row in rows),
        stretch=tuple(picture.stretch[row] for row in rows),
    )


def drive_spec(
    picture: DrivePicture, speed_unit: str = "mph", *, width: int = 640, height: int = 300
) -> dict[str, Any]:
    """The chart as a Vega-Lite specification that holds its own data and points nowhere."""
    drawn = thinned_picture(picture, width)
    size = 15 if width > 500 else 13
    begin, end = _span(picture)
    minutes = end - begin > LONG
    per = 60.0 if minutes else 1.0
    scale = _Scale(per, begin / per, end / per, width, size)
    parts = [
        {
            "name": "road-speed",
            "width": width,
            "height": round(0.42 * height),
            "layer": [_rules(picture, scale), *_speed_line(drawn, speed_unit, scale)],
        },
        {
            "name": "engine-speed",
            "width": width,
            "height": round(0.42 * height),
            "layer": [_rules(picture, scale), *_engine_line(drawn, scale), *_flares(picture, scale)],
        },
        {
            "name": "gear",
            "width": width,
            "height": round(1.8 * size),
            "layer": _gear_band(picture, scale, "min" if minutes else "s"),
        },
    ]
    return framed({"spacing": 12, "vconcat": parts}, size)


def drive_svg(
    picture: DrivePicture,
    speed_unit: str = "mph",
    *,
    width: int = 640,
    height: int = 300,
    name: str = "drive",
) -> str:
    """The chart as SVG with title and description; `name` makes its ids unlike any other's on the page."""
    spec = drive_spec(picture, speed_unit, width=width, height=height)
    text = drive_text(picture, speed_unit)
    return titled_svg(spec, name=name, title="The drive over time", text=text, kind="shift-map drive")


def drive_text(picture: DrivePicture, speed_unit: str = "mph") -> str:
    """The picture in sentences, for who cannot see it."""
    begin, end = _span(picture)
    top = float(from_si(max(picture.speed, default=0.0), speed_unit))
    engine = max(picture.engine, default=0.0)
    count = len(picture.shifts)
    said = [
        f"{end - begin:.0f} s of driving, up to {top:.0f} {speed_unit} and {engine:.0f} rpm, "
        f"{count} {'shift' if count == 1 else 'shifts'}."
    ]
    said += [
        f"{shift.name} at {shift.time:.1f} s flares {shift.flare:.0f} rpm." for shift in picture.flaring[:12]
    ]
    if len(picture.flaring) > 12:
        said.append(f"{len(picture.flaring) - 12} more flare.")
    said += [f"Gear {gear} slips {percent:.1f} %." for gear, percent in picture.slipping]
    return " ".join(said)


def drive_table(picture: DrivePicture, speed_unit: str = "mph") -> Table:
    """Every shift of the drive with its figures."""
    own_clock = any(abs(shift.clock - shift.time) > 0.05 for shift in picture.shifts)
    headings = ["Shift", "At, s"]
    headings += ["On the log’s clock, s"] if own_clock else []
    headings += [f"Road speed, {speed_unit}", "Throttle", "Takes, s", "Flare, rpm"]
    rows = []
    for shift in picture.shifts:
        cells = [shift.name, f"{shift.time:.1f}"]
        cells += [f"{shift.clock:.1f}"] if own_clock else []
        cells += [f"{from_si(shift.speed, speed_unit):.1f}", shift.throttle or "not logged"]
        cells += [f"{shift.duration:.2f}", f"{shift.flare:.0f}" if shift.flare else "none"]
        rows.append(tuple(cells))
    return Table(tuple(headings), tuple(rows))


@dataclass(frozen=True)
class _Scale:
    """The axis of time all three parts share: seconds per unit, both ends, pixels, height of type."""

    per: float
    begin: float
    end: float
    pixels: int
    size: int

    def at(self, time: float) -> float:
        """A time of the drive [s] on the axis, which is in seconds or minutes."""
        return round(time / self.per, 5)

    def x(self, title: str | None = None) -> dict[str, Any]:
        """The axis of time, bare without a title."""
        labels = {"labels": title is not None, "ticks": title is not None}
        return {
            "field": "t",
            "type": "quantitative",
            "scale": {"domain": [self.begin, self.end], "nice": False, "zero": False},
            "axis": {"title": title, "grid": False, "tickCount": 6, **labels},
        }

    def pixel(self, time: float) -> int:
        """The column of the picture a time [s] falls into."""
        return math.floor(self.pixels_of(self.begin * self.per, time))

    def pixels_of(self, begin: float, end: float) -> float:
        """How many columns a span of time [s] takes."""
        return (end - begin) / self.per / max(self.end - self.begin, 1e-9) * self.pixels


def _span(picture: DrivePicture) -> tuple[float, float]:
    if not picture.time:
        return 0.0, 1.0
    return picture.time[0], max(picture.time[-1], picture.time[0] + 1.0)


def _line(
    picture: DrivePicture, values: list[float], name: str, title: str, colour: str, scale: _Scale
) -> list[dict[str, Any]]:
    rows = [
        {"t": scale.at(time), "v": value, "n": number}
        for time, value, number in zip(picture.time, values, picture.stretch, strict=True)
    ]
    return [
        {
            "name": name,
            "data": {"values": rows},
            "mark": {"type": "line", "color": colour, "strokeWidth": 1.6, "strokeJoin": "round"},
            "encoding": {
                "x": scale.x(),
                "y": {"field": "v", "type": "quantitative", "scale": {"zero": True, "nice": True}}
                | {"axis": {"title": title, "grid": True, "tickCount": 4}},
                "detail": {"field": "n", "type": "nominal"},
            },
        }
    ]


def _speed_line(picture: DrivePicture, unit: str, scale: _Scale) -> list[dict[str, Any]]:
    values = [round(float(from_si(value, unit)), 2) for value in picture.speed]
    return _line(picture, values, "speed", unit, INK, scale)


def _engine_line(picture: DrivePicture, scale: _Scale) -> list[dict[str, Any]]:
    lines = _line(picture, [round(value, 1) for value in picture.engine], "engine", "rpm", INK, scale)
    # Room for the marks of flares above the highest engine speed.
    top = 1000.0 * math.ceil(1.2 * max(picture.engine, default=0.0) / 1000.0)
    lines[0]["encoding"]["y"]["scale"] = {"domain": [0.0, max(top, 1000.0)], "nice": False}
    return lines


def _rules(picture: DrivePicture, scale: _Scale) -> dict[str, Any]:
    """A hairline at each shift, one to a pixel at most."""
    times = {scale.pixel(shift.time): scale.at(shift.time) for shift in picture.shifts}
    return {
        "name": "shifts",
        "data": {"values": [{"t": time} for time in times.values()]},
        "mark": {"type": "rule", "color": SOFT, "strokeDash": [2, 3], "strokeWidth": 1},
        "encoding": {"x": scale.x()},
    }


def _flares(picture: DrivePicture, scale: _Scale) -> list[dict[str, Any]]:
    """A mark above the engine's run-up, with its height where there is room to say it."""
    most: dict[int, DriveShift] = {}
    for shift in sorted(picture.flaring, key=lambda one: one.flare):
        most[scale.pixel(shift.time)] = shift
    if not most:
        return []
    places = sorted(most)
    rows: list[dict[str, Any]] = []
    for place, before, after in zip(places, [-math.inf, *places[:-1]], [*places[1:], math.inf], strict=True):
        shift = most[place]
        text = f"flare {shift.flare:.0f}"
        half = LETTER * scale.size * (len(text) + 1) / 2
        fits = place - before > half + scale.size and after - place > half + scale.size
        fits = fits and half < place < scale.pixels - half
        top = float(np.interp(shift.time, picture.time, picture.engine)) + shift.flare
        rows.append({"t": scale.at(shift.time), "v": round(top, 1), "text": text if fits else ""})
    encoding = {"x": scale.x(), "y": {"field": "v", "type": "quantitative"}}
    mark = {"type": "point", "shape": "triangle-down", "filled": True, "size": 90}
    return [
        {
            "name": "flare",
            "data": {"values": rows},
            "mark": mark | {"color": ACCENT, "opacity": 1, "yOffset": -7},
            "encoding": encoding,
        },
        {
            "name": "flare-label",
            "data": {"values": rows},
            "mark": {"type": "text", "dy": -21, "fontSize": scale.size, "color": INK},
            "encoding": {**encoding, "text": {"field": "text"}},
        },
    ]


def _gear_band(picture: DrivePicture, scale: _Scale, unit: str) -> list[dict[str, Any]]:
    """The gear at every moment; a slipping one edged and named as such."""
    slipping = dict(picture.slipping)
    seen = [one for one in picture.gears if scale.pixels_of(one.begin, one.end) >= LEAST_PIXELS]
    layers = []
    labels = []
    for gear in sorted({stretch.gear for stretch in seen}):
        slips = gear in slipping
        rows = [_band_row(stretch, slips, scale) for stretch in seen if stretch.gear == gear]
        edge = {"stroke": ACCENT, "strokeWidth": 2.5} if slips else {"stroke": SOFT, "strokeWidth": 0.5}
        layers.append(
            {
                "name": f"{'slipping-' if slips else ''}sound-{gear % 2}-{gear}",
                "data": {"values": rows},
                "mark": {"type": "rect", "color": BANDS[gear % 2], **edge},
                "encoding": {"x": scale.x(f"gear over time, {unit}"), "x2": {"field": "until"}},
            }
        )
        labels += [{"t": row["middle"], "text": row["text"]} for row in rows if row["text"]]
    text = {
        "name": "gear-label",
        "data": {"values": labels},
        "mark": {"type": "text", "fontSize": scale.size, "color": INK},
        "encoding": {"x": scale.x(f"gear over time, {unit}"), "text": {"field": "text"}},
    }
    return [*layers, text]


def _band_row(stretch: GearStretch, slips: bool, scale: _Scale) -> dict[str, Any]:
    room = scale.pixels_of(stretch.begin, stretch.end)
    long, short = f"{stretch.gear} slips", str(stretch.gear) if stretch.gear else "R"
    texts = [long, short] if slips else [short]
    text = next((text for text in texts if LETTER * scale.size * (len(text) + 0.6) < room), "")
    begin, end = scale.at(stretch.begin), scale.at(stretch.end)
    return {"t": begin, "until": end, "middle": round((begin + end) / 2, 5), "text": text}


def gear_stretches(time: np.ndarray[Any, Any], gear: np.ndarray[Any, Any], stretch: np.ndarray[Any, Any],
) -> tuple[GearStretch, ...]:  # fmt: skip
    """The band of gears of a drive [s]: from where one begins to where the next does, or to a hole."""
    if not len(time):
        return ()
    turn = np.flatnonzero((np.diff(gear) != 0) | (np.diff(stretch) != 0)) + 1
    found = []
    for begin, end in pairwise([0, *turn.tolist(), len(time)]):
        goes_on = end < len(time) and stretch[end] == stretch[begin]
        until = time[end] if goes_on else time[end - 1]
        found.append(GearStretch(round(float(time[begin]), 3), round(float(until), 3), int(gear[begin])))
    return tuple(found)
