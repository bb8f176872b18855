"""Rows made into tracks: spikes out, gaps cut, everything on one even time base."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.units import RPM

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

FINEST = 0.1
"""Rows closer than this are averaged: a shift takes several times as long [s]."""

LONGEST_HOLE = 1.5
"""A hole up to this is bridged, a longer one cuts the drive in two [s]."""

STEEPEST = {
    "speed": (12.0, 1.2),
    "engine-speed": (9000 * RPM, 200 * RPM),
    "output-speed": (1500 * RPM, 80 * RPM),
}
"""Fastest change of a car [per s] and what noise may add; more is a spike. Common practice, no source."""

POSSIBLE = {"speed": (-0.5, 90.0), "engine-speed": (-1.0, 9000 * RPM), "output-speed": (-1.0, 7000 * RPM)}

LONGEST_SPIKE = 8.0


@dataclass(frozen=True)
class Track:
    """One stretch of a drive without a hole, in even steps [SI].

    time : grows without jumps [s]; clock : the same on the log's own clock [s]
    speed : road speed [m/s]; engine : engine speed [rad/s]; output : output shaft's speed [rad/s]
    load : how far the throttle is open, 0 to 1, empty where nothing in the log tells
    charge : how full the manifold is, 0 to 1, empty where neither its vacuum nor its pressure is logged
    signal : throttle signal as it is shown (vacuum [Pa] or throttle [share]), empty where there is none
    lever : range the lever stands in, empty where not logged
    """

    time: FloatArray
    clock: FloatArray
    speed: FloatArray
    engine: FloatArray
    output: FloatArray
    load: FloatArray = field(default_factory=lambda: np.empty(0))
    signal: FloatArray = field(default_factory=lambda: np.empty(0))
    line: FloatArray = field(default_factory=lambda: np.empty(0))
    lever: FloatArray = field(default_factory=lambda: np.empty(0))
    charge: FloatArray = field(default_factory=lambda: np.empty(0))

    @property
    def step(self) -> float:
        """Time between samples [s]."""
        return float(self.time[1] - self.time[0])

    def __len__(self) -> int:
        return len(self.time)


@dataclass
class Cleaned:
    """Counts of what was cleaned; wild : figures that no logger can mean; frozen : time a speed stood [s]."""

    wild: int = 0
    spikes: int = 0
    holes: int = 0
    held: set[str] = field(default_factory=set)
    frozen: dict[str, float] = field(default_factory=dict)


def without_spikes(time: FloatArray, values: FloatArray, meaning: str, cleaned: Cleaned) -> FloatArray:
    """The values with NaN where no car can be: outside all bounds, or there and back faster than it can."""
    low, high = POSSIBLE[meaning]
    if not (values.min(initial=low) >= low and values.max(initial=high) <= high):
        values = np.where((values >= low) & (values <= high), values, np.nan)
    rate, noise = STEEPEST[meaning]
    if np.nanmax(np.abs(np.diff(values)), initial=0.0) < 0.75 * noise and np.isfinite(values[:1]).all():
        return values
    values = _without_lone(time, values, 0.25 * rate, 0.75 * noise, cleaned)
    good = np.flatnonzero(np.isfinite(values))
    if len(good) < 3:
        return values
    change, apart = np.diff(values[good]), np.diff(time[good])
    limit = rate * np.minimum(apart, 2.0) + noise
    edges = np.flatnonzero(np.abs(change) > limit)
    if not len(edges):
        return values
    out = values.copy()
    place = 0
    while place < len(edges) - 1:
        here, there = edges[place], edges[place + 1]
        close = time[good[there + 1]] - time[good[here]] < LONGEST_SPIKE
        back = abs(values[good[there + 1]] - values[good[here]])
        back_limit = rate * (time[good[there + 1]] - time[good[here]]) + noise
        if change[here] * change[there] < 0 and close and back <= back_limit:
            out[good[here + 1 : there + 1]] = np.nan
            cleaned.spikes += 1
            place += 2
        else:
            place += 1
    return out


def _without_lone(
    time: FloatArray, values: FloatArray, rate: float, noise: float, cleaned: Cleaned
) -> FloatArray:
    """The values with NaN where one lies far to one side of both its neighbours."""
    good = np.flatnonzero(np.isfinite(values))
    if len(good) < 3:
        return values
    before, here, after = values[good[:-2]], values[good[1:-1]], values[good[2:]]
    limit = rate * np.minimum(0.5 * (time[good[2:]] - time[good[:-2]]), 2.0) + noise
    lone = (np.minimum(here - before, here - after) > limit) | (
        np.minimum(before - here, after - here) > limit
    )
    cleaned.spikes += int(np.count_nonzero(lone))
    out = values.copy()
    out[good[1:-1][lone]] = np.nan
    return out


def without_holds(values: FloatArray, moving: BoolArray, meaning: str, cleaned: Cleaned) -> FloatArray:
    """Where a slower instrument's last value is written again and again, only its first appearance."""
    fresh = np.ones(len(values), dtype=bool)
    fresh[1:] = values[1:] != values[:-1]
    counted = moving & np.isfinite(values)
    if np.count_nonzero(counted) < 50 or np.mean(~fresh[counted]) < 0.55:
        return values
    cleaned.held.add(meaning)
    last = np.maximum.accumulate(np.where(fresh, np.arange(len(values)), 0))
    age = np.arange(len(values)) - last
    beats = np.diff(np.flatnonzero(fresh & counted))
    if not len(beats):
        return values
    usual = max(1, int(np.median(beats)))
    # A value that stays far longer than the instrument's own beat is a true one: the car stands.
    return np.where(fresh | (age % usual == 0), values, np.nan)


def even_steps(
    time: FloatArray, clock: FloatArray, values: Mapping[str, FloatArray], step: float, cleaned: Cleaned
) -> list[dict[str, FloatArray]]:
    """Cut at the holes and put every channel on even steps; of each piece the channels, `time` and `clock`.

    Where rows are finer than the step they are averaged, else joined by straight lines.
    """
    ends = np.flatnonzero(np.diff(time) > max(LONGEST_HOLE, 2.5 * step)) + 1
    cleaned.holes += len(ends)
    pieces = []
    for rows in np.split(np.arange(len(time)), ends):
        if len(rows) < 8 or time[rows[-1]] - time[rows[0]] < 2.0:
            continue
        begin, end = rows[0], rows[-1] + 1
        base = time[begin] + step * np.arange(int((time[end - 1] - time[begin]) / step) + 1)
        piece = {"time": base, "clock": _on_clock(base, time[begin:end], clock[begin:end])}
        means = _Means(base, step, time[begin:end])
        for name, array in values.items():
            piece[name] = means.of(array[begin:end])
        pieces.extend(_whole(piece, cleaned))
    return pieces


def _on_clock(base: FloatArray, time: FloatArray, clock: FloatArray) -> FloatArray:
    """The log's own clock at each step: that of the last row, and what has gone by since."""
    ahead = clock - time
    if np.ptp(ahead) < 1e-9:
        return np.asarray(base + ahead[0])
    row = np.clip(np.searchsorted(time, base + 1e-9) - 1, 0, len(time) - 1)
    return np.asarray(clock[row] + (base - time[row]))


class _Means:
    """Channels with rows finer than the steps of a base, averaged over each step; others joined by lines."""

    def __init__(self, base: FloatArray, step: float, time: FloatArray) -> None:
        self._base, self._step, self._time = base, step, time
        self._starts: NDArray[np.intp] | None = None
        if len(time) > 1.6 * len(base):
            bins = np.rint((time - base[0]) / step).astype(np.int64)
            starts = np.searchsorted(bins, np.arange(len(base) + 1))
            if np.all(np.diff(starts) > 0):
                self._starts, self._counts = starts[:-1], np.diff(starts)
                self._end = int(starts[-1])

    def of(self, values: FloatArray) -> FloatArray:
        """One channel on the base."""
        if self._starts is not None:
            sums = np.add.reduceat(values[: self._end], self._starts)
            if np.isfinite(sums).all():
                return np.asarray(sums / self._counts)
        return _on_base(self._base, self._step, self._time, values)


def _on_base(base: FloatArray, step: float, time: FloatArray, values: FloatArray) -> FloatArray:
    good = np.isfinite(values)
    if np.count_nonzero(good) < 2:
        return np.full(len(base), np.nan)
    time, values = time[good], values[good]
    if len(time) > 1.6 * len(base):
        bins = np.rint((time - base[0]) / step).astype(np.int64)
        inside = bins < len(base)
        count = np.bincount(bins[inside], minlength=len(base))
        total = np.bincount(bins[inside], weights=values[inside], minlength=len(base))
        filled = np.flatnonzero(count)
        time, values = base[filled], total[filled] / count[filled]
    out = np.interp(base, time, values, left=np.nan, right=np.nan)
    after = np.clip(np.searchsorted(time, base), 0, len(time) - 1)
    before = np.maximum(after - 1, 0)
    hole = (time[after] - time[before] > LONGEST_HOLE) & (np.abs(time[after] - base) > 1e-9)
    return np.where(hole, np.nan, out)


def _whole(piece: dict[str, FloatArray], cleaned: Cleaned) -> list[dict[str, FloatArray]]:
    """Cut where engine speed or road speed, or the output shaft's where that alone is logged, is missing."""
    road = "speed" if "speed" in piece else "output-speed"
    needed = [piece[name] for name in (road, "engine-speed") if name in piece]
    good = np.all(np.isfinite(needed), axis=0)
    edges = np.flatnonzero(np.diff(good.astype(np.int8), prepend=0, append=0))
    parts = []
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        if piece["time"][end - 1] - piece["time"][begin] >= 2.0:
            parts.append({name: array[begin:end] for name, array in piece.items()})
    cleaned.holes += max(0, len(parts) - 1)
    return parts
