"""The burst of engine speed that is the change of gear, where the foot moves shortly before or after it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.gear_set import engine_at, pull
from bellhousing.road.logs.gears import Change, GearPath
from bellhousing.road.logs.smoothing import odd
from bellhousing.road.logs.tracks import Track
from bellhousing.road.logs.units import RPM
from bellhousing.road.logs.windows import Sums, windows

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

STEEPNESS = 0.35
"""Share of the steepest change of engine speed from which a burst counts [-]."""

BESIDE = 0.4
"""Time before and after an edge in which bursts are looked for [s]."""

APART = 0.25
"""Time by which a burst must begin or end inside the edge for the edge to be narrowed to it [s]."""

STANDS = 1.0
"""Engine speed below which it stands [rad/s]."""

WIDEST, UNSURE_RATE = 0.5, 100 * RPM
"""Longest time over which the rate of engine speed is told [s], and the standard uncertainty that asks for
more than 0.3 s [rad/s2]; judgement."""

MARGIN = 0.12
COARSE = 0.25
"""Time between rows from which bursts are not told apart [s]."""


@dataclass(frozen=True)
class Changes:
    """Changes of gear side by side: samples of the edges, indices of the gears, and the rows around each.

    begin, end : of the edge; before, after : gears; low, high : rows free of the neighbours' edges
    ratio : whether the edge shows in the ratio
    """

    begin: IntArray
    end: IntArray
    before: IntArray
    after: IntArray
    low: IntArray
    high: IntArray
    ratio: BoolArray

    def __len__(self) -> int:
        return len(self.begin)

    def some(self, rows: IntArray | BoolArray) -> Changes:
        """Some of the changes."""
        return Changes(
            self.begin[rows], self.end[rows], self.before[rows], self.after[rows],
            self.low[rows], self.high[rows], self.ratio[rows],
        )  # fmt: skip


def side_by_side(changes: Sequence[Change], count: int) -> Changes:
    """The changes of a path over `count` samples that may show in the engine speed."""
    begin = np.array([change.edge.begin for change in changes], dtype=np.intp)
    end = np.array([change.edge.end for change in changes], dtype=np.intp)
    every = Changes(
        begin,
        end,
        np.array([change.before for change in changes], dtype=np.intp),
        np.array([change.after for change in changes], dtype=np.intp),
        np.concatenate([[0], end[:-1]]).astype(np.intp),
        np.concatenate([begin[1:], [count]]).astype(np.intp),
        np.array([change.edge.kind == "ratio" for change in changes], dtype=np.bool_),
    )
    return every.some(np.array([change.edge.kind in ("ratio", "soft") for change in changes], dtype=np.bool_))


def narrowed(track: Track, path: GearPath, changes: Changes) -> tuple[Changes, BoolArray]:
    """The changes, the edge of each narrowed to the burst that is as high as the gears ask.

    With the foot going down an engine rises through the converter, stays, and rises again when the lower gear
    comes; with the foot lifted it falls twice. The burst taken is the one nearest in height to the step of
    engine speed between the two gears at the pull just before it; last of what is returned is whether another
    one came before.
    """
    step, count = track.step, len(track)
    second = np.zeros(len(changes), dtype=np.bool_)
    beside = np.where(changes.ratio, round(BESIDE / step), round(MARGIN / step))
    first = np.maximum(np.maximum(changes.low, changes.begin - beside), 0)
    last = np.minimum(np.minimum(changes.high, changes.end + round(BESIDE / step)), count)
    which = np.flatnonzero(last - first >= 6)
    if step > COARSE or not len(which):
        return changes, second
    there = changes.some(which)
    row, begin, end = _steep_runs(track, path, there, first[which], last[which])
    if not len(row):
        return changes, second
    misfit = _misfits(track, path, there.some(row), begin, end)
    starts = np.flatnonzero(np.diff(row, prepend=-1))
    counts = np.diff(np.append(starts, len(row)))
    nearest = misfit == np.repeat(np.minimum.reduceat(misfit, starts), counts)
    places = np.flatnonzero(nearest)
    chosen = places[np.flatnonzero(np.diff(row[places], prepend=-1))]
    rows = row[chosen]
    before, after = chosen > starts, chosen + 1 < starts + counts
    low = np.where(before, end[np.maximum(chosen - 1, 0)], there.low[rows])
    high = np.where(after, begin[np.minimum(chosen + 1, len(begin) - 1)], there.high[rows])
    narrow = (counts > 1) | ((begin[chosen] - there.begin[rows]) * step >= APART)
    narrow |= (there.end[rows] - end[chosen]) * step >= APART
    margin = max(1, round(MARGIN / step))
    put = which[rows[narrow]]
    inside = [array.copy() for array in (changes.begin, changes.end, changes.low, changes.high)]
    inside[0][put] = np.maximum(begin[chosen] - margin, low)[narrow]
    inside[1][put] = np.minimum(np.minimum(end[chosen] + margin - 1, high), count - 1)[narrow]
    inside[2][put] = np.maximum(low, there.low[rows])[narrow]
    inside[3][put] = np.minimum(high, there.high[rows])[narrow]
    second[put] = before[narrow]
    return replace(changes, begin=inside[0], end=inside[1], low=inside[2], high=inside[3]), second


def _steep_runs(
    track: Track, path: GearPath, changes: Changes, first: IntArray, last: IntArray
) -> tuple[IntArray, IntArray, IntArray]:
    """Runs in which engine speed changes steeply the way the change does: which change, begin and end."""
    around = windows(first, last)
    half = _half_width(path.noise, track.step)
    place = first[:, None] + np.arange(-half, around.rows.shape[1] + half)
    # Beyond the ends a stretch is mirrored through its end point.
    engine, end = track.engine, last[:, None] - 1
    mirrored = np.where(place < first[:, None], 2 * first[:, None] - place, 2 * end - place)
    outside = (place < first[:, None]) | (place > end)
    near = engine[np.clip(np.where(outside, mirrored, place), first[:, None], end)]
    edge = np.where(place < first[:, None], engine[first][:, None], engine[end])
    near = np.where(outside, 2 * edge - near, near)
    weights = np.arange(-half, half + 1.0) / (np.arange(-half, half + 1.0) ** 2).sum() / track.step
    width = around.rows.shape[1]
    rate = sum(weight * near[:, k : k + width] for k, weight in enumerate(weights))
    rate = np.where(
        around.inside, np.where(changes.after < changes.before, 1.0, -1.0)[:, None] * rate, -np.inf
    )
    steep = rate > np.maximum(STEEPNESS * rate.max(axis=1), 4.0 * path.noise)[:, None]
    turn = np.diff(np.pad(steep, ((0, 0), (1, 1))).astype(np.int8), axis=1)
    row, begin = np.nonzero(turn == 1)
    _, end_ = np.nonzero(turn == -1)
    return row, first[row] + begin, first[row] + end_


def _half_width(noise: float, step: float) -> int:
    """Samples to each side by which the rate of engine speed is told well enough.

    The standard uncertainty of the slope of a straight line through 2h+1 samples is
    noise/(step sqrt(2 sum k^2)), k = 1 to h.
    """
    half, widest = max(3, odd(0.3, step)) // 2, max(3, odd(WIDEST, step)) // 2
    doubts = noise / (step * np.sqrt(2.0 * np.cumsum(np.arange(1.0, widest + 1.0) ** 2)))
    while half < widest and doubts[half - 1] > UNSURE_RATE:
        half += 1
    return half


def _misfits(track: Track, path: GearPath, changes: Changes, begin: IntArray, end: IntArray) -> FloatArray:
    """How far the height of each burst is from that of its change, in logarithms [-]."""
    engine = Sums(track.engine)
    end = np.minimum(end, len(track) - 1)
    before = engine.means(np.maximum(begin - 2, 0), begin + 1)
    after = engine.means(end, end + 2)
    pulled = pull(before, path.ratios[changes.before] * path.output[begin])
    pulled = pulled * path.factors[changes.before] / path.factors[changes.after]
    wanted = engine_at(pulled, path.ratios[changes.after] * path.output[end])
    # An engine that stands, as where its sensor fell out, fits no change.
    after, wanted = np.maximum(after, STANDS), np.maximum(wanted, STANDS)
    return np.asarray(np.abs(np.log(after) - np.log(wanted)))
