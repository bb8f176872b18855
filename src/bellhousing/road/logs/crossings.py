"""What it costs to go from one gear to another, or to stay, where the ratio of engine to road speed changes.

Costs are natural logarithms of odds, by judgement.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.gear_set import GearSet
from bellhousing.road.logs.tracks import Track
from bellhousing.road.logs.units import RPM
from bellhousing.road.logs.usual_pull import CLOSED
from bellhousing.road.logs.windows import Windows, mean_where, windows

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

STANDING = 0.7
"""Road speed below which the car counts as standing [m/s]."""

USUAL_STALL = 2100 * RPM
"""Stall speed of the car for which the pull by the throttle is judged below [rad/s]."""

LEAST_RISE = 40 * RPM
SPREAD_OF_PULL = 150 * RPM
PULL_PER_LOAD = 1500 * RPM
SPREAD_PER_LOAD = 1200 * RPM
UP, DOWN, SKIP, FROM_REST, HIDDEN = 0.7, 1.5, 3.0, 4.0, 0.4
LIFTED, LIFT = -0.03, 0.3
"""Change of the throttle opening from which the foot has come off, and what any gear costs across it [-]."""

HIDES = 0.3
"""Time within an edge that the engine idles from which a change may hide there [s]."""

HARDLY = 1.0
SLOW = 2.5
"""Road speed below which a change up is not expected [m/s]."""


@dataclass(frozen=True)
class Edge:
    """Samples between which the ratio changes.

    kind : "ratio", "soft" (little to be seen), "blind" (nothing to be seen) or "stand"
    """

    begin: int
    end: int
    kind: str = "ratio"


def crossings_of(
    track: Track,
    edges: list[Edge],
    gears: GearSet,
    pulls: FloatArray,
    gain: FloatArray,
    speed: FloatArray,
    told: NDArray[np.bool_],
    noise: float,
) -> FloatArray:
    """Cost of going from each gear (second axis) to each (third) at every edge (first)."""
    if not edges:
        return np.zeros((0, pulls.shape[1], pulls.shape[1]))
    apart = np.arange(pulls.shape[1])[None, :] - np.arange(pulls.shape[1])[:, None]
    beside = _Beside(edges, track.step, len(track))
    # A change right after the start is one with it.
    slow = (speed[beside.middle] < SLOW)[:, None, None]
    change = np.where(apart > 0, UP, np.where(apart < 0, DOWN, 0.0)) + SKIP * np.maximum(np.abs(apart) - 1, 0)
    change = change[None, :, :] + np.where(slow & (apart > 0), 5.0, 0.0)
    settled = beside.after(pulls)
    if len(track.load):
        foot = beside.after(track.load) - beside.before(track.load)
        closed = beside.after(track.load) < CLOSED
    else:
        foot = np.clip((beside.after(gain) - beside.before(gain)) / 4.0, -1.0, 1.0)
        closed = beside.after(gain) < -0.3
    # Foot off, a lower gear may run free: its pull is nought however fast the wheels turn.
    free = closed[:, None] & (np.arange(pulls.shape[1]) < pulls.shape[1] - 1)[None, :]
    settled = np.where(free, np.maximum(settled, 0.0), settled)
    jump = settled[:, None, :] - beside.before(pulls)[:, :, None]
    # Where little slips the pull is hardly told by the two speeds.
    vague = np.maximum(gears.factors[:, None], gears.factors[None, :])[None, :, :]
    most = gears.stall / USUAL_STALL
    spread = SPREAD_OF_PULL * vague + (most * SPREAD_PER_LOAD * np.abs(foot))[:, None, None]
    strange = np.minimum((jump - most * PULL_PER_LOAD * foot[:, None, None]) ** 2 / (2.0 * spread**2), 8.0)
    # A foot that comes off takes the pull to nothing in every gear.
    strange = np.where((closed & (foot < LIFTED))[:, None, None], LIFT, strange)
    unseen = (beside.before(told) == 0.0) | (beside.inside(~told) > HIDES)
    strange = np.where(unseen[:, None, None], 0.05 * strange, strange)
    # Coasting at idle the box has come down through its gears unseen.
    change = np.where(unseen[:, None, None] & (apart < 0), HIDDEN * np.abs(apart), change)
    # With the foot off the engine does not rise by itself: the wheels drive it, in a lower gear.
    risen = beside.after(track.engine) - beside.before(track.engine)
    driven = closed & (foot < 0.05) & (risen > max(LEAST_RISE, 3.0 * noise))
    cost = change + np.where(driven[:, None, None], np.where(apart < 0, 0.0, 4.0), strange)
    kind = np.array([edge.kind for edge in edges])[:, None, None]
    at_rest = FROM_REST * np.where(apart == 0, 0.5, 1.0) * (np.arange(pulls.shape[1])[None, :] > 0)
    cost = cost + np.where(kind == "soft", np.where(apart == 0, 0.0, HARDLY), 0.0)
    cost = np.where(kind == "stand", at_rest[None], cost)
    # A box that coasts at idle comes down through all its gears: one of them or two is the same to it.
    blind = np.where(apart > 0, 3.0 * apart, np.where(apart < 0, 0.3, 0.0))
    return np.where(kind == "blind", blind[None], cost)


class _Beside:
    """Means over half a second before and after each edge."""

    def __init__(self, edges: list[Edge], step: float, count: int) -> None:
        width = max(2, round(0.5 / step))
        self._step = step
        self.begin = np.array([edge.begin for edge in edges])
        self._until = np.maximum(self.begin, 1)
        self._end = np.minimum(np.array([edge.end for edge in edges]), count - 1)
        self.middle = (self.begin + self._end) // 2
        # What the next edge changes, or the last one changed, is no part of it.
        past, coming = np.append(0, self._end[:-1]), np.append(self.begin[1:], count)
        self._from = np.minimum(np.maximum(self._until - width, past), self._until - 1)
        self._last = np.maximum(np.minimum(self._end + width, coming), self._end + 1)

        self._early, self._late = windows(self._from, self._until), windows(self._end, self._last)

    def before(self, values: FloatArray | BoolArray) -> FloatArray:
        """Mean before each edge, along the first axis."""
        return _means(values, self._early)

    def inside(self, values: BoolArray) -> FloatArray:
        """Time within each edge in which it is so [s]."""
        total = np.concatenate([[0], np.cumsum(values)])
        return np.asarray((total[self._end] - total[self.begin]) * self._step)

    def after(self, values: FloatArray) -> FloatArray:
        """Mean after each edge, along the first axis."""
        return _means(values, self._late)


def _means(values: FloatArray | BoolArray, around: Windows) -> FloatArray:
    """Mean of each stretch, along the first axis."""
    if values.ndim == 1:
        return mean_where(values[around.rows], around.inside)
    return np.stack([mean_where(column[around.rows], around.inside) for column in values.T], axis=1)
