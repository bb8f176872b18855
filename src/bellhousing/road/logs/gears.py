"""Which gear at every moment: the path of gears that best explains engine speed by road speed and pull.

Between two changes of the ratio of engine to road speed the gear stays. In the right gear the engine is not
slower than the turbine while it pulls, does not pull harder than it can, and its pull (which the gear does
not change) goes on across a shift unless the foot moved. Costs are natural logarithms of odds, by judgement.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain
from operator import add

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.gear_costs import sample_costs
from bellhousing.road.logs.gear_set import GearSet, pull
from bellhousing.road.logs.smoothing import odd, parabola, robust_spread, slope
from bellhousing.road.logs.tracks import Track
from bellhousing.road.logs.units import RPM
from bellhousing.road.logs.usual_gain import unusual_gain
from bellhousing.road.logs.usual_pull import CLOSED, unusual_pull
from bellhousing.road.logs.windows import Windows, mean_where, windows

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

STANDING = 0.7
"""Road speed below which the car counts as standing [m/s]."""

IDLE_ABOVE = 1.06
"""Engine speed over idle up to which engine speed tells nothing of the gear [-]."""

USUAL_IDLE, HIGHEST_IDLE = 600 * RPM, 700 * RPM
"""Idle of a car that never stands, and the highest it is then taken to be [rad/s]; judgement."""

STEEP = 0.10
"""Rate of change of ln(engine speed) that road speed does not explain, from which it counts [1/s]."""

USUAL_STALL = 2100 * RPM
"""Stall speed of the car for which the pull by the throttle is judged below [rad/s]."""

LEAST_CHANGE = 0.035
LEAST_RISE = 40 * RPM
SPREAD_OF_PULL = 150 * RPM
PULL_PER_LOAD = 1500 * RPM
SPREAD_PER_LOAD = 1200 * RPM
UP, DOWN, SKIP, FROM_REST, HIDDEN = 0.7, 1.5, 3.0, 4.0, 0.4
LIFTED, LIFT = -0.03, 0.3
"""Change of the throttle opening from which the foot has come off, and what any gear costs across it [-]."""

STEADY, SETTLED, LIFTS, HELD = 0.4, 0.25, 0.6, 0.04
"""Time for which the foot must rest while the ratio changes, and once it has [s], to which share of itself
the opening then falls [-], and how much it was at least [-], for the change and the foot to be two things."""

HIDES = 0.3
"""Time within an edge that the engine idles from which a change may hide there [s]."""

SOFT = (0.15, 0.45, 0.75, 1.05)
"""How long after the engine has risen with the foot a change down may hide in its rise [s]."""

RISEN, HARDLY = 0.10, 1.0
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


@dataclass(frozen=True)
class Change:
    """A change of gear (indices into the ratios) at an edge."""

    edge: Edge
    before: int
    after: int


@dataclass(frozen=True)
class GearPath:
    """Gear of every sample (index into the ratios), changes seen, and the smoothed series they rest on.

    speed [m/s]; output [rad/s]; gain: acceleration [m/s2]; idle [rad/s]; noise: of engine speed [rad/s];
    told: where engine speed tells the gear; ratios of the gears [-]; factors: of their pulls [-]
    """

    gear: IntArray
    changes: tuple[Change, ...]
    speed: FloatArray
    output: FloatArray
    gain: FloatArray
    told: NDArray[np.bool_]
    idle: float
    noise: float
    ratios: FloatArray
    factors: FloatArray


def read_gears(track: Track, gears: GearSet, idle: float | None = None) -> GearPath:
    """Read the gears of one stretch; `idle` is the engine's idle where the stretch itself may not show it."""
    step = track.step
    output = np.maximum(parabola(track.output, odd(1.1, step)), 1e-3)
    speed = gears.road_speed(output)
    gain = slope(speed, odd(1.1, step), step)
    idle = idle if idle is not None else idle_of(track)
    told = (speed > STANDING) & (track.engine > IDLE_ABOVE * idle)
    edges = _edges(track, gears, output, told)
    # One gear after the other in memory: sums along the drive run through neighbouring cells.
    pulls = np.stack(
        [
            pull(track.engine, ratio * output) * factor
            if factor != 1.0
            else pull(track.engine, ratio * output)
            for ratio, factor in zip(gears.ratios, gears.factors.tolist(), strict=True)
        ]
    ).T
    costs = sample_costs(track, gears, output, gain, pulls, told, idle) * step
    noise = float(robust_spread(np.diff(track.engine, 2)) / np.sqrt(6.0)) if len(track) > 3 else 0.0
    crossings = _crossings(track, edges, gears, pulls, gain, speed, told, noise)
    path = _best_path(edges, costs, crossings, speed)
    gear = _spread(path, edges, len(track))
    usual = unusual_pull(track, gears, gear, pulls, gain, speed, told)
    earned = unusual_gain(track, gears, gear, pulls, gain, speed, output, told)
    if usual is not None or earned is not None:
        again = (0.0 if usual is None else usual) + (0.0 if earned is None else earned)
        path = _best_path(edges, costs + again * step, crossings, speed)
        gear = _spread(path, edges, len(track))
    changes = tuple(
        Change(edge, path[node], path[node + 1])
        for node, edge in enumerate(edges)
        if path[node] != path[node + 1]
    )
    return GearPath(gear, changes, speed, output, gain, told, idle, noise, gears.array, gears.factors)


def _spread(path: list[int], edges: list[Edge], count: int) -> IntArray:
    """The gear of each stretch at each of its samples; an edge is parted in its middle."""
    middles = [(edge.begin + edge.end) // 2 for edge in edges]
    return np.repeat(np.array(path, dtype=np.intp), np.diff([0, *middles, count]))


def idle_of(track: Track) -> float:
    """Engine speed of the standing car, else the lowest it keeps [rad/s]."""
    running = track.engine > 200 * RPM
    standing = running & (track.speed < 0.3)
    if np.count_nonzero(standing) * track.step > 2.0:
        return float(np.median(track.engine[standing]))
    lowest = float(np.quantile(track.engine[running], 0.02)) if running.any() else USUAL_IDLE
    return min(lowest, HIGHEST_IDLE)


def _edges(track: Track, gears: GearSet, output: FloatArray, told: NDArray[np.bool_]) -> list[Edge]:
    step = track.step
    turning = np.maximum(track.engine, 100 * RPM)
    engine, ratio = np.log(turning), turning / output
    lower = np.full(len(track), gears.ratios[0])
    for gear in reversed(gears.ratios):
        lower = np.where(gear <= 1.03 * ratio, gear, lower)
    share = (np.minimum(lower / ratio, 1.0) ** 2) ** 2
    follows = 2.0 * share / (1.0 + share)
    road = slope(np.log(output), odd(1.1, step), step)
    rate = slope(engine, odd(0.5, step), step) - follows * road
    rate = np.where(output > gears.output_speed(np.asarray(STANDING)), rate, 0.0)
    limit = float(np.clip(4.0 * robust_spread(rate[told]) if told.any() else STEEP, STEEP, 0.25))
    begin, end = _runs(rate, limit, step)
    clear = np.abs(_sums(rate, begin, end)) * step > LEAST_CHANGE
    clear |= _sums(np.abs(rate), begin, end) * step > 2.5 * LEAST_CHANGE
    found = []
    for edge in zip(begin[clear].tolist(), end[clear].tolist(), strict=True):
        place = _lifted(track.load, rate, *edge, step) if len(track.load) else None
        between = 0 if place is None else place - max(1, round(SETTLED / step))
        found += [Edge(*edge)] if place is None else [Edge(edge[0], between), Edge(place, edge[1])]
    found += _after_rises(found, engine, told, step)
    found += _quiet(~told & (output > gears.output_speed(np.asarray(STANDING))), "blind", step, 0.4)
    found += _quiet(output <= gears.output_speed(np.asarray(STANDING)), "stand", step, 0.4)
    return _apart(sorted(found, key=lambda edge: (edge.begin, edge.end)), len(track))


def _lifted(load: FloatArray, rate: FloatArray, begin: int, end: int, step: float) -> int | None:
    """Where within a fall of the ratio the foot comes off, the ratio having changed clearly under a steady
    foot before; None where it does not."""
    steady = max(3, round((STEADY + SETTLED) / step))
    if end - begin <= steady:
        return None
    held = float(load[begin : begin + 3].mean())
    off = np.flatnonzero(load[begin:end] < LIFTS * held) if held > HELD else np.empty(0, dtype=np.intp)
    place = begin + int(off[0]) - 1 if len(off) else begin
    fallen = -float(rate[begin:place].sum()) * step
    return place if place - begin >= steady and fallen > 2.5 * LEAST_CHANGE else None


def _after_rises(edges: list[Edge], engine: FloatArray, told: NDArray[np.bool_], step: float) -> list[Edge]:
    """Edges after each rise of the engine: a change down under power may hardly show in engine speed."""
    found = []
    begin = np.array([edge.begin for edge in edges], dtype=np.intp)
    last = np.minimum(np.array([edge.end for edge in edges], dtype=np.intp), len(engine) - 1)
    rises = (engine[last] - engine[begin] >= RISEN) & told[begin]
    begins = np.append(begin[1:], len(engine)).tolist()
    for row in np.flatnonzero(rises).tolist():
        edge, following = edges[row], begins[row]
        places = [edge.end + max(1, round(after / step)) for after in SOFT]
        found += [
            Edge(place, place, "soft")
            for place in dict.fromkeys(places)
            if place + round(0.15 / step) < following
        ]
    return found


def _runs(rate: FloatArray, limit: float, step: float) -> tuple[IntArray, IntArray]:
    """Stretches of one sign beyond the limit; a rise with a fall right after it is one (a flare)."""
    sign = (rate > limit).astype(np.int8) - (rate < -limit)
    starts = np.flatnonzero(np.diff(sign, prepend=np.int8(0)))
    ends = np.append(starts[1:], len(sign))
    beyond = sign[starts] != 0
    begin, end, way = starts[beyond], ends[beyond], sign[starts][beyond]
    # Where one goes on what the one before it began, both are one stretch.
    on = (begin[1:] - end[:-1]) * step < 0.35
    on &= (way[1:] == way[:-1]) | (way[:-1] > 0)
    first = np.concatenate([[True], ~on]) if len(begin) else np.zeros(0, dtype=bool)
    return begin[first], end[np.append(np.flatnonzero(first)[1:], len(begin)) - 1] if len(begin) else end


def _sums(values: FloatArray, begin: IntArray, end: IntArray) -> FloatArray:
    """Sum of each stretch; none of them empty, and all of them apart."""
    if not len(begin):
        return np.zeros(0)
    bounds = np.stack([begin, end], axis=1).ravel()
    return np.asarray(np.add.reduceat(np.append(values, 0.0), bounds)[::2])


def _quiet(there: NDArray[np.bool_], kind: str, step: float, shortest: float) -> list[Edge]:
    """An edge in the middle of every stretch where nothing is to be seen."""
    bounds = np.flatnonzero(np.diff(there.astype(np.int8), prepend=0, append=0))
    pairs = zip(bounds[::2], bounds[1::2], strict=True)
    return [Edge(int((b + e) // 2), int((b + e) // 2), kind) for b, e in pairs if (e - b) * step >= shortest]


def _apart(edges: list[Edge], count: int) -> list[Edge]:
    kept: list[Edge] = []
    for edge in edges:
        if kept and edge.begin < kept[-1].end:
            if edge.kind == "stand" and kept[-1].kind == "blind":
                kept[-1] = edge
            continue
        if edge.begin > 0 and edge.end < count:
            kept.append(edge)
    return kept


def _best_path(edges: list[Edge], costs: FloatArray, crossings: FloatArray, speed: FloatArray) -> list[int]:
    """Cheapest path of gears over the stretches between edges (dynamic programming)."""
    inner = chain.from_iterable((edge.begin, edge.end) for edge in edges)
    bounds = np.array([0, *inner, len(costs)])
    stays = np.add.reduceat(costs.T, bounds[:-1], axis=1)[:, ::2] * (bounds[1::2] > bounds[::2])
    best: list[float] = stays[:, 0].tolist()
    if speed[0] < STANDING:
        best = [best[0], *(one + FROM_REST for one in best[1:])]
    came: list[list[int]] = []
    # Plain figures: the gears are too few for arrays to be of use.
    for into, stay in zip(crossings.transpose(0, 2, 1).tolist(), stays[:, 1:].T.tolist(), strict=True):
        steps = [list(map(add, best, each)) for each in into]
        least = list(map(min, steps))
        came.append(list(map(list.index, steps, least)))
        best = list(map(add, least, stay))
    path = [best.index(min(best))]
    for choice in reversed(came):
        path.append(choice[path[-1]])
    return path[::-1]


def _crossings(
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
    slow = (speed[beside.begin] < SLOW)[:, None, None]
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
