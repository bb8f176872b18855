"""Backing out, where no lever tells: a slow stretch between two stops that the reverse gear explains.

A box does not change gear backwards. Where the ratio of reverse explains engine and road speed from one stop
to the next no worse than the forward gears with their changes, no change is read there. Costs are natural
logarithms of odds, by judgement.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.crossings import FROM_REST, LIFT, STANDING, Edge, crossings_of
from bellhousing.road.logs.gear_costs import sample_costs
from bellhousing.road.logs.gear_set import GearSet, pull
from bellhousing.road.logs.tracks import Track
from bellhousing.road.logs.usual_pull import CLOSED

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

FASTEST, SLOW, LONGEST = 8.5, 6.0, 40.0
"""Road speed above which no car backs, up to which it may well [m/s], and for how long it may [s]."""

WORSE, BETTER = 6.0, 3.0
"""How much worse than forward gears with a change reverse may be at low speed, and how much better than a
first gear that never changes it must be, to be read as reverse."""

OFF = -0.3
"""Acceleration below which the foot counts as off where nothing tells the throttle [m/s2]."""

REVERSE = 1.0
"""The lever's place of reverse, as read."""


@dataclass(frozen=True)
class Seen:
    """A stretch as read so far: what `GearPath` calls by the same names, and the costs of its gears."""

    track: Track
    output: FloatArray
    gain: FloatArray
    speed: FloatArray
    told: BoolArray
    idle: float
    noise: float
    edges: list[Edge]
    costs: FloatArray
    crossings: FloatArray

    def rows(self, first: int, last: int) -> slice:
        """Rows from one node to another."""
        begin = self.edges[first - 1].end if first else 0
        return slice(begin, self.edges[last].begin if last < len(self.edges) else len(self.track))


def backed(seen: Seen, gears: GearSet, path: list[int]) -> BoolArray:
    """Where the car backs; the path of gears is made to stay in the first one there."""
    if len(seen.track.lever):
        return np.asarray(np.rint(seen.track.lever) == REVERSE)
    there = np.zeros(len(seen.track), dtype=bool)
    if not gears.reverse:
        return there
    back = replace(
        gears,
        ratios=(gears.reverse, gears.ratios[-1]),
        fluid=(gears.fluid[0], gears.fluid[-1]) if gears.fluid else (),
    )
    for first, last in _between_stops(seen):
        nodes, rows = path[first : last + 1], seen.rows(first, last)
        changes = any(one != two for one, two in pairwise(nodes))
        most = float(seen.speed[rows].max())
        allowed = WORSE * min(1.0, (FASTEST - most) / (FASTEST - SLOW)) if changes else -BETTER
        if _reverse(seen, back, first, last) < _forward(seen, nodes, first) + allowed:
            there[rows] = True
            path[first : last + 1] = [0] * len(nodes)
    return there


def _between_stops(seen: Seen) -> list[tuple[int, int]]:
    """First and last node of each slow stretch from one stop to the next."""
    places = [place for place, edge in enumerate(seen.edges) if edge.kind == "stand"]
    firsts = [*([0] if seen.speed[0] < STANDING else []), *(place + 1 for place in places)]
    lasts = [*places, *([len(seen.edges)] if seen.speed[-1] < STANDING else [])]
    # A stretch that begins or ends in motion is left out.
    if seen.speed[0] >= STANDING:
        lasts = lasts[1:]
    found = []
    for first, last in zip(firsts, lasts, strict=False):
        fast = seen.speed[seen.rows(first, last)]
        rolling = np.count_nonzero(fast > STANDING) * seen.track.step
        if len(fast) >= 8 and rolling < LONGEST and STANDING < fast.max() < FASTEST:
            found.append((first, last))
    return found


def _forward(seen: Seen, nodes: list[int], first: int) -> float:
    """What the gears read cost."""
    stays = sum(
        float(seen.costs[seen.rows(node, node), gear].sum()) for node, gear in enumerate(nodes, first)
    )
    crossed = seen.crossings[range(first, first + len(nodes) - 1), nodes[:-1], nodes[1:]]
    return stays + float(crossed.sum()) + (FROM_REST if nodes[0] else 0.0)


def _reverse(seen: Seen, back: GearSet, first: int, last: int) -> float:
    """What reverse would cost."""
    rows, track = seen.rows(first, last), seen.track
    begin = rows.start
    edges = [Edge(one.begin - begin, one.end - begin, one.kind) for one in seen.edges[first:last]]
    output, gain, told = seen.output[rows], seen.gain[rows], seen.told[rows]
    load = track.load[rows] if len(track.load) else track.load
    part = Track(track.time[rows], track.clock[rows], track.speed[rows], track.engine[rows], output, load)
    pulls = np.stack([pull(part.engine, ratio * output) for ratio in back.ratios]).T
    stays = sample_costs(part, back, output, gain, pulls, told, seen.idle)[:, 0]
    if not edges:
        return float(stays.sum()) * track.step
    crossed = crossings_of(part, edges, back, pulls, gain, seen.speed[rows], told, seen.noise)[:, 0, 0]
    after = np.array([min(edge.end, len(part) - 1) for edge in edges])
    off = load[after] < CLOSED if len(load) else gain[after] < OFF
    # Foot off, the engine falls to its idle by itself.
    crossed = np.where(off, np.minimum(crossed, LIFT), crossed)
    return float(stays.sum()) * track.step + float(crossed.sum())
