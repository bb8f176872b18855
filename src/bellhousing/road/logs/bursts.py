"""The burst of engine speed that is the change of gear, where the foot moves shortly before or after it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.gear_set import engine_at, pull
from bellhousing.road.logs.gears import Change, GearPath
from bellhousing.road.logs.smoothing import odd, slope
from bellhousing.road.logs.tracks import Track

FloatArray = NDArray[np.float64]

STEEPNESS = 0.35
"""Share of the steepest change of engine speed from which a burst counts [-]."""

BESIDE = 0.4
"""Time before and after an edge in which bursts are looked for [s]."""

APART = 0.25
"""Time by which a burst must begin or end inside the edge for the edge to be narrowed to it [s]."""

MARGIN = 0.12
COARSE = 0.25
"""Time between rows from which bursts are not told apart [s]."""


def narrowed(
    track: Track, path: GearPath, change: Change, around: tuple[int, int]
) -> tuple[Change, tuple[int, int], bool]:
    """The change, its edge narrowed to the burst that is as high as the gears ask, and the rows around it.

    With the foot going down an engine rises through the converter, stays, and rises again when the lower gear
    comes; with the foot lifted it falls twice. The burst taken is the one nearest in height to the step of
    engine speed between the two gears at the pull just before it; last of what is returned is whether another
    one came before.
    """
    step, edge = track.step, change.edge
    if step > COARSE:
        return change, around, False
    first = max(around[0], edge.begin - round((BESIDE if edge.kind == "ratio" else MARGIN) / step), 0)
    last = min(around[1], edge.end + round(BESIDE / step), len(track))
    if last - first < 6:
        return change, around, False
    rate = slope(track.engine[first:last], odd(0.3, step), step)
    rate = rate if change.after < change.before else -rate
    steep = rate > max(STEEPNESS * float(rate.max()), 4.0 * path.noise)
    bounds = np.flatnonzero(np.diff(steep.astype(np.int8), prepend=0, append=0))
    runs = [(first + int(b), first + int(e)) for b, e in zip(bounds[::2], bounds[1::2], strict=True)]
    if not runs:
        return change, around, False
    chosen = 0
    if len(runs) > 1:
        chosen = int(np.argmin([_misfit(track, path, change, run) for run in runs]))
    begin, end = runs[chosen]
    if len(runs) == 1 and (begin - edge.begin) * step < APART and (edge.end - end) * step < APART:
        return change, around, False
    margin = max(1, round(MARGIN / step))
    low = runs[chosen - 1][1] if chosen else around[0]
    high = runs[chosen + 1][0] if chosen + 1 < len(runs) else around[1]
    inside = replace(edge, begin=max(begin - margin, low), end=min(end + margin - 1, high, len(track) - 1))
    return replace(change, edge=inside), (max(low, around[0]), min(high, around[1])), chosen > 0


def _misfit(track: Track, path: GearPath, change: Change, run: tuple[int, int]) -> float:
    """How far a burst's height is from that of the change, in logarithms [-]."""
    begin, end = run[0], min(run[1], len(track) - 1)
    before = float(track.engine[max(0, begin - 2) : begin + 1].mean())
    after = float(track.engine[end : end + 2].mean())
    turbine = path.ratios[change.before] * path.output[begin]
    pulled = pull(np.array([before]), np.array([turbine]))
    wanted = engine_at(pulled, np.array([path.ratios[change.after] * path.output[end]]))
    return float(abs(np.log(after / before) - np.log(float(wanted[0]) / before)))
