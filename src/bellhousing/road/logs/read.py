"""A log read to shifts, slip and findings: the file as a stream, the drive stretch by stretch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from bellhousing.errors import InputFileError
from bellhousing.hydraulics.atmosphere import standard_pressure
from bellhousing.road.logs.blocks import BLOCK, Progress, Rows, Stop, blocks, layout_of_file
from bellhousing.road.logs.clock import ClockRepair
from bellhousing.road.logs.coasting import NO_COASTING, Coasting, CoastReader, beside
from bellhousing.road.logs.columns import Column, Correction, corrected, guess_columns
from bellhousing.road.logs.engagement import Engagement, driving_on, engagements
from bellhousing.road.logs.gear_set import GearSet
from bellhousing.road.logs.gears import idle_of, read_gears
from bellhousing.road.logs.kickdown import Floored, floored
from bellhousing.road.logs.lag import road_lag, without_lag
from bellhousing.road.logs.order import in_order, oldest_first
from bellhousing.road.logs.pasted import refuse_other_columns
from bellhousing.road.logs.scales import settled_units
from bellhousing.road.logs.shifts import Shift, measure_shifts, without_doubles
from bellhousing.road.logs.signals import clean_signals, without_frozen
from bellhousing.road.logs.slips import Slip, SlipReader
from bellhousing.road.logs.trace import NO_TRACE, Trace, TraceKeeper
from bellhousing.road.logs.tracks import FINEST, Cleaned, Track, even_steps, without_holds, without_spikes
from bellhousing.road.logs.tyre import TyreCheck
from bellhousing.road.logs.units import RPM, LogUnit
from bellhousing.road.logs.warnings import (
    about_clock,
    about_coasting,
    about_columns,
    about_drive,
    about_none,
)

FloatArray = NDArray[np.float64]

SEGMENT = 400_000
"""Rows looked at together."""

OVERLAP = 45.0
"""Time that two neighbouring pieces share, so that no shift falls between them [s]."""

LEVERS = "PRNDSL21"
FULL_VACUUM = 20.0 * 3386.389


@dataclass(frozen=True)
class DriveReading:
    """What a log tells of a drive.

    columns : what was read as what; clock_first : stamp of the first row [s]; seconds : time driven [s]
    lag : delay of the road speed that was taken out [s]; pulled : seconds of steady pull by gear
    coasting : changes down at idle, of single coasts (among the shifts too) and of all together
    converter : slip cruising in top and its spread [-]; trace : the drive itself, thinned where it is long
    """

    columns: tuple[Column, ...]
    shifts: tuple[Shift, ...]
    slips: tuple[Slip, ...]
    pulled: dict[int, float]
    converter: tuple[float, float] | None
    engagements: tuple[Engagement, ...]
    floored: tuple[Floored, ...]
    lag: float
    step: float
    rows: int
    seconds: float
    clock_first: float | None
    gears: int
    warnings: tuple[str, ...]
    trace: Trace = NO_TRACE
    coasting: Coasting = NO_COASTING


def read_log(
    path: Path,
    gears: GearSet,
    *,
    corrections: Sequence[Correction] = (),
    remembered: Sequence[Correction] = (),
    altitude: float = 0.0,
    rate: float | None = None,
    progress: Progress | None = None,
    stop: Stop | None = None,
    block: int = BLOCK,
) -> DriveReading:
    """Read a log; `rate` [1/s] is that of a log without a clock.

    Raises
    ------
    InputFileError : no file, no table, no road or engine speed in it, or a car that never moves.
    ReadingStopped : `stop` said so.
    """
    layout = layout_of_file(path)
    columns = corrected(layout, guess_columns(layout), remembered, "remembered")
    columns = corrected(layout, columns, corrections)
    _need(columns, layout.names, str(path))
    reader = _Reader(columns, gears, altitude, rate, str(path), [*about_none(columns, remembered)])
    for rows in oldest_first(blocks(path, layout, columns, progress=progress, stop=stop, block=block)):
        reader.take(rows)
    if reader.clock.unread:
        refuse_other_columns(path, layout, columns)
    return reader.done()


def _need(columns: Sequence[Column], names: Sequence[str], where: str) -> None:
    meanings = {column.meaning for column in columns}
    missing = [] if meanings & {"speed", "output-speed"} else ["road speed"]
    missing += [] if "engine-speed" in meanings else ["engine speed"]
    if missing:
        known = ", ".join(f"'{name}'" for name in names if name) or f"{len(names)} without names"
        raise InputFileError(
            f"no column of this log could be told to be {' or '.join(missing)}; its columns: {known}",
            where=where,
            remedy="say which it is: --column 'speed=COLUMN in mph' --column 'engine-speed=COLUMN'",
        )


@dataclass
class _Reader:
    """Takes rows as they come and reads a piece of the drive whenever enough are there."""

    columns: tuple[Column, ...]
    gears: GearSet
    altitude: float
    rate: float | None
    where: str
    said: list[str] = field(default_factory=list)
    cleaned: Cleaned = field(default_factory=Cleaned)
    trace: TraceKeeper = field(default_factory=TraceKeeper)
    shifts: list[Shift] = field(default_factory=list)
    engaged: list[Engagement] = field(default_factory=list)
    floored: list[Floored] = field(default_factory=list)
    rows: int = 0
    seconds: float = 0.0
    lag: float | None = None
    idle: float | None = None
    fastest: float = 0.0
    highest: float = 0.0

    def __post_init__(self) -> None:
        self.clock = ClockRepair(step=None if self.rate is None else 1.0 / self.rate)
        self.slip, self.tyre = SlipReader(self.gears), TyreCheck(self.gears)
        self.coasts = CoastReader(self.gears)
        self._kept: list[tuple[FloatArray, FloatArray, dict[str, FloatArray]]] = []
        self._waiting = 0
        self._done_to = -np.inf
        self._settled = False
        self._closed: float | None = None

    def take(self, rows: Rows) -> None:
        figures = dict(rows.figures)
        for meaning, cells in rows.texts.items():
            figures[meaning] = _lever(cells)
        if not self._settled:
            self.columns, said = settled_units(self.columns, figures, self.gears)
            self.said += said
            self._settled = True
        self.rows += len(rows)
        self.cleaned.wild += rows.wild
        factors = {column.meaning: column.unit for column in self.columns}
        values = {
            name: _in_si(array, factors[name], name) for name, array in figures.items() if name in factors
        }
        order = in_order(values.get("time"))
        if order is not None:
            self.clock.moved += int(np.count_nonzero(order != np.arange(len(order))))
            values = {name: array[order] for name, array in values.items()}
        time, clock, keep = self.clock.run_on(values.pop("time", None), values, len(rows))
        if not keep.all():
            values = {name: array[keep] for name, array in values.items()}
        self._kept.append((time, clock, values))
        self._waiting += len(time)
        if self._waiting >= SEGMENT:
            self._look(last=False)

    def done(self) -> DriveReading:
        if self.rows < 8 or self.clock.unread == self.rows:
            raise self._nothing_to_read()
        self._look(last=True)
        if self.highest < 200 * RPM:
            raise InputFileError(
                "the engine speed is zero throughout this log",
                where=self.where,
                remedy="say which column holds it, for example --column 'engine-speed=COLUMN'",
            )
        if self.fastest < 2.0:
            raise InputFileError(
                "the car never moves in this log",
                where=self.where,
                remedy="say which column holds the road speed, for example --column 'speed=COLUMN in mph'",
            )
        coasting = self.coasts.read()
        every = [*self.shifts, *beside(coasting.shifts, self.shifts)]
        shifts = without_doubles(tuple(sorted(every, key=lambda shift: shift.time)))
        slips = self.slip.slips()
        step = self.clock.step or FINEST
        warnings = [
            *self.said,
            *filter(None, [self.tyre.warning(slips)]),
            *about_columns(self.columns),
            *about_clock(self.clock, step),
            *about_coasting(coasting, len(self.gears.ratios)),
            *about_drive(self.cleaned, self.lag or 0.0, shifts, step, self.seconds),
        ]
        return DriveReading(
            self.columns, shifts, slips, self.slip.pulled(), self.slip.converter(),
            tuple(self.engaged), tuple(self.floored),
            self.lag or 0.0, step, self.rows, self.seconds, self.clock.first, len(self.gears.ratios),
            tuple(warnings), self.trace.trace(), coasting,
        )  # fmt: skip

    def _nothing_to_read(self) -> InputFileError:
        time = next((column.name for column in self.columns if column.meaning == "time"), None)
        if self.rows < 8 or time is None:
            return InputFileError(f"this log holds no more than {self.rows} row(s)", where=self.where)
        return InputFileError(
            f"no row has a time that can be read, in column '{time}'",
            where=self.where,
            remedy="say which does: --column time=COLUMN, or that none: --column time=none --rate '10 Hz'",
        )

    def _look(self, *, last: bool) -> None:
        if not self._kept:
            return
        time = np.concatenate([part[0] for part in self._kept])
        clock = np.concatenate([part[1] for part in self._kept])
        names = list(self._kept[0][2])
        values = {name: np.concatenate([part[2][name] for part in self._kept]) for name in names}
        if not len(time):
            return
        end = np.inf if last else float(time[-1]) - OVERLAP / 2
        tracks = self._tracks(time, clock, values)
        if tracks:
            if self.idle is None:
                self.idle = min(idle_of(track) for track in tracks)
            if self.lag is None:
                self.lag = road_lag(tracks, self.gears, self.idle)
            for track in tracks:
                self._read(without_lag(track, self.lag), end)
        self._done_to = end
        again = int(np.searchsorted(time, time[-1] - OVERLAP))
        self._kept = [(time[again:], clock[again:], {name: array[again:] for name, array in values.items()})]
        self._waiting = len(time) - again

    def _read(self, track: Track, end: float) -> None:
        if len(track) < 8:
            return
        path = read_gears(track, self.gears, self.idle)
        shifts = [shift for shift in measure_shifts(track, path) if self._done_to <= shift.time < end]
        self.shifts += shifts if not len(track.lever) else driving_on(track, shifts)
        begin = int(np.searchsorted(track.time, self._done_to))
        until = int(np.searchsorted(track.time, end)) if np.isfinite(end) else len(track)
        self.slip.take(track, path, slice(begin, until))
        self.tyre.take(track, path, slice(begin, until))
        self.coasts.take(track, path, slice(begin, until))
        self.trace.take(track, path, slice(begin, until))
        if any(column.meaning == "throttle" for column in self.columns):
            self.floored += [one for one in floored(track, path) if self._done_to <= one.time < end]
        self.engaged += [one for one in engagements(track) if self._done_to <= one.time < end]
        self.seconds += max(0, until - begin) * track.step

    def _tracks(self, time: FloatArray, clock: FloatArray, values: dict[str, FloatArray]) -> list[Track]:
        moving = np.nan_to_num(values.get("speed", values.get("output-speed", time * 0))) > 2.0
        for name in ("speed", "engine-speed", "output-speed"):
            if name in values:
                cleaned = without_spikes(time, values[name], name, self.cleaned)
                values[name] = without_holds(cleaned, moving, name, self.cleaned)
                best = float(np.nanmax(cleaned, initial=0.0)) if np.isfinite(cleaned).any() else 0.0
                if name == "engine-speed":
                    self.highest = max(self.highest, best)
                else:
                    scale = 1.0 if name == "speed" else self.gears.tyre_radius / self.gears.axle_ratio
                    self.fastest = max(self.fastest, best * scale)
        without_frozen(time, values, self.cleaned)
        clean_signals(time, values, self.columns, self.cleaned)
        usual = self.clock.step or FINEST
        pieces = even_steps(time, clock, values, max(usual, FINEST), self.cleaned)
        return [self._track(piece) for piece in pieces]

    def _track(self, piece: dict[str, FloatArray]) -> Track:
        output = piece.get("output-speed")
        if output is None or not np.isfinite(output).all():
            output = self.gears.output_speed(piece["speed"])
        speed = piece.get("speed")
        if speed is None or not np.isfinite(speed).all():
            speed = self.gears.road_speed(output)
        load, signal, charge = self._load(piece)
        nothing = np.empty(0)
        return Track(
            piece["time"], piece["clock"], speed, piece["engine-speed"], output, load, signal,
            piece.get("line-pressure", nothing), piece.get("lever", nothing), charge,
        )  # fmt: skip

    def _load(self, piece: dict[str, FloatArray]) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Throttle opening by share; the signal shown, vacuum where it is logged, else the throttle; how full
        the manifold is."""
        nothing = np.empty(0)
        vacuum = self._vacuum(piece)
        charge = nothing if vacuum is None else np.asarray(np.clip(1.0 - vacuum / FULL_VACUUM, 0.0, 1.0))
        throttle = _mended(piece.get("throttle"))
        if throttle is not None and np.ptp(throttle) > 0:
            low = float(np.quantile(throttle, 0.02))
            self._closed = low if self._closed is None else min(self._closed, low)
            column = next(column for column in self.columns if column.meaning == "throttle")
            full = (
                1.0 if column.unit.dimension == "number" else max(float(throttle.max()), self._closed + 1e-6)
            )
            load = np.clip((throttle - self._closed) / max(full - self._closed, 1e-6), 0.0, 1.0)
            return load, throttle if vacuum is None else vacuum, charge
        if vacuum is not None:
            return charge, vacuum, charge
        return nothing, nothing, nothing

    def _vacuum(self, piece: dict[str, FloatArray]) -> FloatArray | None:
        vacuum = _mended(piece.get("vacuum"))
        manifold = _mended(piece.get("manifold-pressure"))
        if vacuum is None and manifold is not None:
            around = 0.0 if np.median(manifold) < 0 else float(standard_pressure(self.altitude))
            vacuum = around - manifold
        if vacuum is None or np.ptp(vacuum) == 0:
            return None
        return (
            -vacuum
            if np.median(vacuum) < 0 and np.quantile(vacuum, 0.98) <= 3400
            else np.maximum(vacuum, 0.0)
        )


def _in_si(values: FloatArray, unit: LogUnit, meaning: str) -> FloatArray:
    """Figures of a file in SI; a time keeps its origin."""
    if unit.factor != 1.0:
        values = values * unit.factor
    return values + unit.offset if unit.offset and meaning != "time" else values


def _mended(values: FloatArray | None) -> FloatArray | None:
    """A signal with its holes joined by straight lines; None if much of it is missing."""
    if values is None or not len(values):
        return None
    good = np.isfinite(values)
    if good.mean() < 0.6:
        return None
    place = np.arange(len(values))
    return np.asarray(np.interp(place, place[good], values[good]))


def _lever(cells: Sequence[str | None]) -> FloatArray:
    """Ranges by letter as figures."""
    known = {letter: float(place) for place, letter in enumerate(LEVERS)}
    return np.asarray([known.get((cell or "").strip().upper()[:1], np.nan) for cell in cells])
