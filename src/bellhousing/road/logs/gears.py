"""Which gear at every moment: the path of gears that best explains engine speed by road speed and pull.

Between two changes of the ratio of engine to road speed the gear stays. In the right gear the engine is not
slower than the turbine while it pulls, does not pull harder than it can, and its pull (which the gear does
not change) goes on across a shift unless the foot moved. Costs are natural logarithms of odds, by judgement.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.backwards import Seen, backed
from bellhousing.road.logs.crossings import FROM_REST, STANDING, Edge, crossings_of
from bellhousing.road.logs.gear_costs import sample_costs
from bellhousing.road.logs.gear_set import GearSet, pull
from bellhousing.road.logs.smoothing import odd, parabola, robust_spread, slope
from bellhousing.road.logs.tracks import Track
from bellhousing.road.logs.units import RPM
from bellhousing.road.logs.usual_gain import unusual_gain
from bellhousing.road.logs.usual_pull import unusual_pull

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

IDLE_ABOVE = 1.06
"""Engine speed over idle up to which engine speed tells nothing of the gear [-]."""

USUAL_IDLE, HIGHEST_IDLE = 600 * RPM, 700 * RPM
"""Idle of a car that never stands, and the highest it is then taken to be [rad/s]; judgement."""

STEEP = 0.10
"""Rate of change of ln(engine speed) that road speed does not explain, from which it counts [1/s]."""

LEAST_CHANGE = 0.035

STEADY, SETTLED, LIFTS, HELD, HOLD = 0.15, 0.15, 0.6, 0.04, 3
"""Time for which the foot must rest while the ratio changes, and once it has [s], to which share of itself
the opening then falls [-], how much it was at least [-], over how many samples: for the change and the foot
to be two things."""

SOFT = (0.15, 0.45, 0.75, 1.05)
"""How long after the engine has risen with the foot a change down may hide in its rise [s]."""

RISEN = 0.10

EQUAL = 1e-9
"""Costs so near to each other are the same: the order of summing tells them apart."""


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
    backwards: where the car backs; `gear` is then the first
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
    backwards: BoolArray


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
    crossings = crossings_of(track, edges, gears, pulls, gain, speed, told, noise)
    path = _best_path(edges, costs, crossings, speed)
    gear = _spread(path, edges, len(track))
    usual = unusual_pull(track, gears, gear, pulls, gain, speed, told)
    earned = unusual_gain(track, gears, gear, pulls, gain, speed, output, told)
    if usual is not None or earned is not None:
        again = (0.0 if usual is None else usual) + (0.0 if earned is None else earned)
        path = _best_path(edges, costs + again * step, crossings, speed)
        gear = _spread(path, edges, len(track))
    seen = Seen(track, output, gain, speed, told, idle, noise, edges, costs, crossings)
    backwards = backed(seen, gears, path)
    if backwards.any():
        gear = _spread(path, edges, len(track))
    changes = tuple(
        Change(edge, path[node], path[node + 1])
        for node, edge in enumerate(edges)
        if path[node] != path[node + 1]
    )
    return GearPath(
        gear, changes, speed, output, gain, told, idle, noise, gears.array, gears.factors, backwards
    )


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
    begin, end = begin[clear], end[clear]
    lifts = _foot_off(track.load, begin, end, step)
    for edge, off in zip(zip(begin.tolist(), end.tolist(), strict=True), lifts, strict=True):
        place = _lifted(track.load, rate, *edge, step) if off else None
        between = 0 if place is None else place - max(1, round(SETTLED / step))
        found += [Edge(*edge)] if place is None else [Edge(edge[0], between), Edge(place, edge[1])]
    found += _after_rises(found, engine, told, step)
    found += _quiet(~told & (output > gears.output_speed(np.asarray(STANDING))), "blind", step, 0.4)
    found += _quiet(output <= gears.output_speed(np.asarray(STANDING)), "stand", step, 0.4)
    return _apart(sorted(found, key=lambda edge: (edge.begin, edge.end)), len(track))


def _foot_off(load: FloatArray, begin: IntArray, end: IntArray, step: float) -> list[bool]:
    """Whether the foot, steady on the pedal as a change of the ratio begins, comes off before its end."""
    if not len(load) or not len(begin):
        return [False] * len(begin)
    held = sum(load[np.minimum(begin + place, len(load) - 1)] for place in range(HOLD)) / HOLD
    bounds = np.stack([begin, end], axis=1).ravel()
    lowest = np.minimum.reduceat(np.append(load, np.inf), bounds)[::2]
    lifts = (end - begin > _steady(step)) & (held > HELD) & (lowest < LIFTS * held)
    return [bool(lift) for lift in lifts]


def _steady(step: float) -> int:
    return max(HOLD, round((STEADY + SETTLED) / step))


def _lifted(load: FloatArray, rate: FloatArray, begin: int, end: int, step: float) -> int | None:
    """Where within a fall of the ratio the foot comes off, the ratio having changed clearly under a steady
    foot before; None where it does not."""
    held = float(load[begin : begin + HOLD].mean())
    place = begin + int(np.argmax(load[begin:end] < LIFTS * held)) - 1
    fallen = -float(rate[begin:place].sum()) * step
    return place if place - begin >= _steady(step) and fallen > 2.5 * LEAST_CHANGE else None


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
    """Cheapest path of gears over the stretches between edges (dynamic programming).

    What it costs from the first stretch into each comes by doubling: of two runs of edges after one another
    the dearness of both together is the least sum over the gear between them.
    """
    inner = np.array([(edge.begin, edge.end) for edge in edges], dtype=np.intp).ravel()
    bounds = np.concatenate([[0], inner, [len(costs)]])
    stays = np.add.reduceat(costs.T, bounds[:-1], axis=1)[:, ::2] * (bounds[1::2] > bounds[::2])
    first = stays[:, 0] + (FROM_REST * (np.arange(len(stays)) > 0) if speed[0] < STANDING else 0.0)
    # The edges run along the last axis, as neighbouring cells: into which gear, from which, over which edge.
    into = np.ascontiguousarray(crossings.transpose(2, 1, 0))
    runs = into + stays[:, None, 1:]
    apart = 1
    while apart < len(edges):
        runs[..., apart:] = (runs[:, :, None, apart:] + runs[None, :, :, :-apart]).min(axis=1)
        apart *= 2
    best = np.concatenate([first[:, None], (runs + first[:, None]).min(axis=1)], axis=1)
    came = _least((best[:, :-1] + into).transpose(1, 0, 2)).T.tolist()
    path = [int(_least(best[:, -1]))]
    for choice in reversed(came):
        path.append(choice[path[-1]])
    return path[::-1]


def _least(costs: FloatArray) -> NDArray[np.intp]:
    """Where the least along the first axis lies, the first of equal ones."""
    return np.asarray(np.argmax(costs <= costs.min(axis=0) + EQUAL, axis=0))
