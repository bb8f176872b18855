"""A stretch of a kept log, drawn from all of its rows: the extremes of each moment."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from bellhousing.errors import InputFileError
from bellhousing.reports.drive_chart import DrivePicture, GearStretch
from bellhousing.road.logs.clock import ClockRepair
from bellhousing.road.logs.store import kept_meanings, kept_rows
from bellhousing.road.logs.trace import extremes
from bellhousing.road.logs.tracks import LONGEST_HOLE
from bellhousing.road.logs.units import RPM
from bellhousing.tasks.road_kept import KeptReading, kept_path, readings_of_job
from bellhousing.tasks.road_logs import rate_of
from bellhousing.tasks.shop import Shop

PIXELS = 480
"""Moments whose extremes are drawn: a line through them covers what one through every row would."""

LEAST = 2.0
"""Shortest stretch that is drawn [s]."""

BOTH = ("speed", "engine-speed")
MOST_HELD = 2


@dataclass(frozen=True)
class Window:
    """A stretch of a log from `begin` to `end` [s] of `first` to `last`, with all the `rows` it has.

    `fine` is false where the log's own rows cannot be drawn, and its picture as it was kept is shown.
    """

    reading: KeptReading
    picture: DrivePicture
    begin: float
    end: float
    first: float
    last: float
    rows: int
    fine: bool

    @property
    def whole(self) -> bool:
        """Whether it is all of the log."""
        return self.begin <= self.first and self.end >= self.last

    def closer(self, at: float | None = None) -> tuple[float, float]:
        """A third of the stretch, around a moment or its middle [s]."""
        middle = (self.begin + self.end) / 2 if at is None else at
        return self._around(middle, max(LEAST, (self.end - self.begin) / 3))

    def wider(self) -> tuple[float, float]:
        """Three times the stretch [s]."""
        return self._around((self.begin + self.end) / 2, 3 * (self.end - self.begin))

    def moved(self, share: float) -> tuple[float, float]:
        """The stretch moved by a share of itself [s]."""
        span = self.end - self.begin
        return self._around((self.begin + self.end) / 2 + share * span, span)

    def _around(self, middle: float, span: float) -> tuple[float, float]:
        begin = min(max(self.first, middle - span / 2), max(self.first, self.last - span))
        return round(begin, 2), round(min(self.last, begin + span), 2)


def log_window(
    shop: Shop, job: int, log: str, *, begin: float | None = None, end: float | None = None
) -> Window:
    """A stretch of a log of a job, all of it where none is named.

    Raises
    ------
    InputFileError : no such log on this job.
    """
    reading = next((one for one in readings_of_job(shop, job) if one.log == log), None)
    if reading is None or not reading.picture.time:
        raise InputFileError(f"job {job} has no such log", where=log[:64], remedy="see the road on its page")
    kept = reading.picture
    first, last = kept.time[0], kept.time[-1]
    start = first if begin is None else min(max(first, begin), max(first, last - LEAST))
    stop = last if end is None else max(min(last, end), min(last, start + LEAST))
    rows = _all_rows(shop, reading)
    if rows is None:
        inside = [place for place, time in enumerate(kept.time) if start <= time <= stop]
        picture = replace(
            kept,
            time=tuple(kept.time[place] for place in inside),
            speed=tuple(kept.speed[place] for place in inside),
            engine=tuple(kept.engine[place] for place in inside),
            stretch=tuple(kept.stretch[place] for place in inside),
        )
        return Window(reading, _clipped(picture, start, stop), start, stop, first, last, len(inside), False)
    picture, count = _drawn(rows, kept, start, stop)
    return Window(reading, _clipped(picture, start, stop), start, stop, first, last, count, True)


@dataclass(frozen=True, eq=False)
class _Rows:
    time: NDArray[np.float64]
    speed: NDArray[np.float32]
    engine: NDArray[np.float32]
    stretch: NDArray[np.intp]


def _drawn(rows: _Rows, kept: DrivePicture, start: float, stop: float) -> tuple[DrivePicture, int]:
    low, high = np.searchsorted(rows.time, [start, stop], side="left")
    inside = slice(int(low), int(high) + 1)
    time = rows.time[inside]
    speed, engine = rows.speed[inside].astype(np.float64), rows.engine[inside].astype(np.float64)
    places = extremes(time, (speed, engine), PIXELS)
    picture = replace(
        kept,
        time=tuple(np.round(time[places], 3).tolist()),
        speed=tuple(np.round(speed[places], 3).tolist()),
        engine=tuple(np.round(engine[places] / RPM, 1).tolist()),
        stretch=tuple(rows.stretch[inside][places].tolist()),
    )
    return picture, len(time)


def _clipped(picture: DrivePicture, start: float, stop: float) -> DrivePicture:
    """The picture with the gears and shifts of its stretch alone."""
    gears = (
        GearStretch(max(one.begin, start), min(one.end, stop), one.gear)
        for one in picture.gears
        if one.end > start and one.begin < stop
    )
    shifts = tuple(one for one in picture.shifts if start <= one.time <= stop)
    return replace(picture, gears=tuple(gears), shifts=shifts)


def _all_rows(shop: Shop, reading: KeptReading) -> _Rows | None:
    path = kept_path(shop, reading.log)
    try:
        return _read(path, path.stat().st_mtime_ns, reading.rate)
    except (OSError, InputFileError):
        return None


@lru_cache(maxsize=MOST_HELD)
def _read(path: Path, changed: int, rate: str | None) -> _Rows | None:
    """Every row of a kept log on the time that only grows, as the reading itself made it."""
    there = kept_meanings(path)
    if not set(BOTH) <= set(there):
        return None
    wanted = [name for name in ("time", *BOTH, "output-speed") if name in there]
    clock = ClockRepair(step=_step(rate))
    parts: list[tuple[NDArray[np.float64], NDArray[np.float32], NDArray[np.float32]]] = []
    for values in kept_rows(path, wanted):
        count = len(values["speed"])
        time, _, keep = clock.run_on(values.pop("time", None), values, count)
        speed, engine = values["speed"][keep], values["engine-speed"][keep]
        known = np.isfinite(speed) & np.isfinite(engine)
        parts.append((time[known], speed[known].astype(np.float32), engine[known].astype(np.float32)))
    time = np.concatenate([part[0] for part in parts])
    holes = np.diff(time, prepend=time[:1]) > LONGEST_HOLE
    return _Rows(
        time=time,
        speed=np.concatenate([part[1] for part in parts]),
        engine=np.concatenate([part[2] for part in parts]),
        stretch=np.cumsum(holes).astype(np.intp),
    )


def _step(rate: str | None) -> float | None:
    return None if rate is None else 1.0 / rate_of(rate)
