"""The drive itself as a picture needs it: both speeds and the gear over time, in bounded memory."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.gears import GearPath
from bellhousing.road.logs.tracks import Track

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

BINS = 8_000
"""Pieces of equal length into which a long drive is cut, each keeping its extremes."""

MOST = 20 * BINS
"""Samples above which a drive is thinned."""


@dataclass(frozen=True)
class Trace:
    """Samples of a drive, some left out where they lie between the extremes of their moment.

    time : running on without jumps [s]; clock : on the log's own clock [s]; speed : road speed [m/s]
    engine : engine speed [rad/s]; gear : from 1, 0 backwards; stretch : number of the stretch without a hole
    """

    time: FloatArray
    clock: FloatArray
    speed: FloatArray
    engine: FloatArray
    gear: IntArray
    stretch: IntArray

    def __len__(self) -> int:
        return len(self.time)

    def some(self, rows: IntArray) -> Trace:
        """The samples of some rows."""
        return Trace(
            self.time[rows], self.clock[rows], self.speed[rows], self.engine[rows],
            self.gear[rows], self.stretch[rows],
        )  # fmt: skip

    def turns(self) -> IntArray:
        """Rows where a gear or a stretch begins or ends."""
        if not len(self):
            return np.zeros(0, dtype=np.intp)
        turn = np.flatnonzero((np.diff(self.gear) != 0) | (np.diff(self.stretch) != 0))
        return np.unique(np.concatenate([[0], turn, turn + 1, [len(self) - 1]]))


NOTHING, NO_ROWS = np.zeros(0), np.zeros(0, dtype=np.intp)
NO_TRACE = Trace(NOTHING, NOTHING, NOTHING, NOTHING, NO_ROWS, NO_ROWS)


def extremes(time: FloatArray, series: Sequence[FloatArray], bins: int) -> IntArray:
    """Rows with the first, last, least and greatest of each series in each of `bins` equal pieces of time.

    A line through them covers the same pixels as one through all rows where a piece is a pixel wide.
    """
    if not len(time):
        return np.zeros(0, dtype=np.intp)
    span = max(float(time[-1] - time[0]), 1e-9)
    place = np.minimum(((time - time[0]) * (bins / span)).astype(np.int64), bins - 1)
    starts = np.flatnonzero(np.diff(place, prepend=-1))
    lasts = np.append(starts[1:], len(time)) - 1
    kept = [starts, lasts]
    counts = lasts - starts + 1
    for values in series:
        for furthest in (np.minimum, np.maximum):
            reached = np.flatnonzero(values == np.repeat(furthest.reduceat(values, starts), counts))
            kept.append(reached[np.diff(place[reached], prepend=-1) != 0])
    return _marked(len(time), kept)


def _marked(count: int, kept: Sequence[IntArray]) -> IntArray:
    """Rows that any of some lists name, each once and in order."""
    there = np.zeros(count, dtype=bool)
    for rows in kept:
        there[rows] = True
    return np.flatnonzero(there)


def thinned(trace: Trace, bins: int) -> Trace:
    """The trace with the extremes of both speeds in each piece of time, and every change of gear."""
    rows = (extremes(trace.time, (trace.speed, trace.engine), bins), trace.turns())
    return trace.some(_marked(len(trace), rows))


@dataclass
class TraceKeeper:
    """Gathers the drive as it is read."""

    bins: int = BINS
    most: int = MOST
    _parts: list[Trace] = field(default_factory=list)
    _count: int = 0
    _stretches: int = 0
    _end: float = -np.inf

    def take(self, track: Track, path: GearPath, wanted: slice) -> None:
        """Add a part of one stretch."""
        time = track.time[wanted]
        if not len(time):
            return
        # A stretch read in two pieces goes on where the first one ended.
        if time[0] - self._end > 1.5 * track.step:
            self._stretches += 1
        self._end = float(time[-1])
        gear = np.where(path.backwards[wanted], 0, path.gear[wanted] + 1)
        self._parts.append(
            Trace(
                time, track.clock[wanted], track.speed[wanted], track.engine[wanted],
                gear, np.full(len(time), self._stretches, dtype=np.intp),
            )
        )  # fmt: skip
        self._count += len(time)
        if self._count > self.most:
            self._parts = [thinned(self._joined(), self.bins)]
            self._count = len(self._parts[0])

    def trace(self) -> Trace:
        """The drive so far."""
        return self._joined()

    def _joined(self) -> Trace:
        if not self._parts:
            return NO_TRACE
        parts = self._parts
        return Trace(
            np.concatenate([part.time for part in parts]),
            np.concatenate([part.clock for part in parts]),
            np.concatenate([part.speed for part in parts]),
            np.concatenate([part.engine for part in parts]),
            np.concatenate([part.gear for part in parts]),
            np.concatenate([part.stretch for part in parts]),
        )
