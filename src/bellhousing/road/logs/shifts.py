"""Each shift measured: when engine speed leaves the old ratio, how long it takes to the new one, and flare.

Engine speed around a shift is fitted by straight lines joined at the moments where it leaves the old ratio,
(in a flare) turns, and settles on the new one; the moments are those with the least squares.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.bursts import narrowed
from bellhousing.road.logs.change_points import departure
from bellhousing.road.logs.gear_set import engine_at, pull
from bellhousing.road.logs.gears import STANDING, Change, GearPath
from bellhousing.road.logs.tracks import Track
from bellhousing.road.logs.units import RPM
from bellhousing.road.logs.usual_pull import CLOSED

FloatArray = NDArray[np.float64]

LEAST_SEEN = 40 * RPM
"""A change of engine speed smaller than this is not taken for a shift [rad/s]."""

FLARE = 70 * RPM
"""Engine speed above the old ratio from which a shift is measured as a flare [rad/s]."""

NEAR_IDLE = 1.03
"""Turbine speed over the engine's idle up to which a change down hides in the foot coming on [-]."""

CLEAR = 20.0
"""A change of engine speed larger than this many times its noise is told without fitting lines [-]."""

ROUNDED = 1.4

KNEE = 0.5
"""A flare has a knee: it fits better than a straight rise by this share of the squares [-]."""

JOINED_WITHIN = 1.0
"""Time before and after a change over which lines are fitted [s]."""

LONGEST_FLARE = 0.6
"""Longest time from leaving the old ratio to the top of a flare that is looked for [s]."""

COARSE = 0.6
"""Time between rows from which only the middle of a shift can be told [s]."""

FINE = 0.15
"""Time between rows up to which a flare can be told [s]."""


@dataclass(frozen=True)
class Shift:
    """One change of gear.

    time, clock : when engine speed leaves the old ratio, running on and on the log's own clock [s]
    before, after : gears, from 1; speed : road speed then [m/s]; engine : engine speed then [rad/s]
    signal : throttle signal as logged (vacuum [Pa] or opening [-]), None without one; load : opening 0-1
    duration [s]; flare : engine speed above the old ratio before it falls [rad/s]
    gain : acceleration then [m/s2]; spread : standard uncertainty of the road speed [m/s]
    """

    time: float
    clock: float
    before: int
    after: int
    speed: float
    engine: float
    signal: float | None
    load: float | None
    duration: float
    flare: float
    gain: float
    spread: float


def measure_shifts(track: Track, path: GearPath) -> tuple[Shift, ...]:
    """Measure every change of gear that the engine speed shows."""
    found = []
    edges = [change.edge for change in path.changes]
    ends = [0, *(edge.end for edge in edges)]
    begins = [*(edge.begin for edge in edges[1:]), len(track)]
    for change, *around in zip(path.changes, ends, begins, strict=False):
        if change.edge.kind not in ("ratio", "soft"):
            continue
        shift = _measure(track, path, change, (around[0], around[1]))
        if shift is not None:
            found.append(shift)
    return tuple(found)


def _measure(track: Track, path: GearPath, change: Change, around: tuple[int, int]) -> Shift | None:
    step = track.step
    whole = change
    change, around, second = narrowed(track, path, change, around)
    edge = change.edge
    reach = max(3, round(1.6 / step))
    begin, end = max(0, edge.begin - reach), min(len(track), edge.end + reach)
    begin, end = max(begin, around[0]), min(end, around[1])
    time, engine = track.time[begin:end], _over_old_ratio(track, path, change, begin, end)
    if len(time) < 5 or _unseen(track, path, change if second else whole):
        return None
    up = change.after > change.before
    left, settled = float(track.time[edge.begin]), float(track.time[min(edge.end, len(track) - 1)])
    crossed = _crossed(time, engine, left - 0.1, settled, path.noise)
    left, settled = crossed or _joined(time, engine, left, settled, step)
    flare = _flare(time, engine, left, settled, path.noise) if up and step <= FINE else None
    risen = 0.0
    if flare is not None:
        left, risen = flare
    elif step > COARSE:
        left = _middle(time, engine, left, settled) - 0.4
        settled = max(settled, left + step)
    moved = abs(float(np.interp(settled, time, engine) - np.interp(left, time, engine)))
    if moved < max(LEAST_SEEN, 4.0 * path.noise) and flare is None:
        return None
    return _shift(track, path, change, left, settled, risen)


def _unseen(track: Track, path: GearPath, change: Change) -> bool:
    """Whether the change itself does not show: one down at idle, one up at rest."""
    edge = change.edge
    before = slice(max(0, edge.begin - max(2, round(0.4 / track.step))), edge.begin)
    if change.after > change.before:
        return bool(path.speed[edge.begin] < STANDING)
    if path.speed[edge.begin] < 2.0 * STANDING:
        return True
    risen = float(track.engine[edge.end : edge.end + 5].mean() - track.engine[before].mean())
    if risen < max(LEAST_SEEN, 3.0 * path.noise):
        return True
    opened = (
        float(track.load[edge.end : edge.end + 5].mean() - track.load[before].mean()) > 0.08
        if len(track.load)
        else float(path.gain[edge.end : edge.end + 5].mean() - path.gain[before].mean()) > 0.5
    )
    turbine = path.ratios[change.before] * path.output[edge.begin : edge.end + 1].min()
    if opened and turbine < NEAR_IDLE * path.idle:
        return True
    if path.told[before].mean() > 0.5:
        return bool((edge.end - edge.begin) * track.step > 2.5)
    after = slice(edge.end, edge.end + max(2, round(0.3 / track.step)))
    foot = bool(track.load[after].mean() > CLOSED) if len(track.load[after]) else path.gain[after].mean() > 0
    long = (edge.end - edge.begin) * track.step > 1.5
    return bool(foot) or long or change.before - change.after > 1


def _shift(track: Track, path: GearPath, change: Change, left: float, settled: float, risen: float) -> Shift:
    def at(values: FloatArray) -> float:
        return float(np.interp(left, track.time, values))

    place = int(np.clip(np.searchsorted(track.time, left), 1, len(track) - 1))
    gain = at(path.gain)
    noise = float(
        np.std(track.speed[max(0, place - 10) : place + 10] - path.speed[max(0, place - 10) : place + 10])
    )
    spread = float(np.hypot(0.5 * noise, abs(gain) * 0.5 * track.step) + 0.02)
    # A row before the clock was set belongs to the old reading: no line is drawn across the step.
    clock = float(track.clock[place - 1] + (left - track.time[place - 1]))
    before = slice(max(0, place - max(2, round(0.3 / track.step))), place)
    return Shift(
        time=left,
        clock=clock,
        before=change.before + 1,
        after=change.after + 1,
        speed=at(path.speed),
        engine=at(track.engine),
        signal=float(track.signal[before].mean()) if len(track.signal) else None,
        load=float(track.load[before].mean()) if len(track.load) else None,
        duration=max(settled - left, track.step / 2),
        flare=risen,
        gain=gain,
        spread=spread,
    )


def _over_old_ratio(track: Track, path: GearPath, change: Change, begin: int, end: int) -> FloatArray:
    """Engine speed over what the old gear and the pull before the change ask for [rad/s]."""
    turbine = path.ratios[change.before] * path.output[begin:end]
    engine = track.engine[begin:end]
    until = max(3, change.edge.begin - begin - round(0.4 / track.step))
    pulled = float(np.median(pull(engine[:until], turbine[:until])))
    return engine - engine_at(np.full(len(turbine), pulled), turbine)


def _crossed(
    time: FloatArray, over: FloatArray, left: float, settled: float, noise: float
) -> tuple[float, float] | None:
    """When a change begins and ends, from the moments at which 10, 50 and 90 % of it are over.

    The ends lie 1.4 times the distance of the tenths from the middle beyond it, between what a straight
    change has (1.25) and a rounded one (1.65). None where the change is small against the noise.
    """
    early, late = over[time <= left], over[time >= settled][:6]
    if not len(early) or not len(late):
        return None
    before, after = float(early.mean()), float(late.mean())
    if abs(after - before) < CLEAR * noise:
        return None
    share = (over - before) / (after - before)
    half = _crossing(time, share, 0.5, settled)
    if half is None:
        return None
    tenth, last = _crossing(time, share, 0.1, half), _crossing(time, share, 0.9, settled + 0.3)
    if tenth is None or last is None or last <= half:
        return None
    return half - ROUNDED * (half - tenth), half + ROUNDED * (last - half)


def _middle(time: FloatArray, over: FloatArray, left: float, settled: float) -> float:
    """The middle of a change that is over within one or two rows."""
    before, after = np.median(over[time <= left]), np.median(over[time >= settled])
    share = (over - before) / ((after - before) or 1.0)
    middle = _crossing(time, share, 0.5, settled + 1.0)
    return 0.5 * (left + settled) if middle is None else middle


def _crossing(time: FloatArray, share: FloatArray, level: float, before: float) -> float | None:
    """When a series last rises through a level before a moment."""
    risen = np.flatnonzero((share[1:] >= level) & (share[:-1] < level) & (time[:-1] < before))
    if not len(risen):
        return None
    place = int(risen[-1])
    part = (level - share[place]) / (share[place + 1] - share[place])
    return float(time[place] + part * (time[place + 1] - time[place]))


def _flare(
    time: FloatArray, over: FloatArray, left: float, settled: float, noise: float
) -> tuple[float, float] | None:
    """When a flare begins and how high it rises over the old ratio [s, rad/s]; None where there is none.

    The cumulative sum of the engine speed over the old ratio signals it; its beginning is the knee of a level
    and a rising line fitted up to the top.
    """
    base = float(np.median(over[time < left - LONGEST_FLARE])) if (time < left - LONGEST_FLARE).any() else 0.0
    fallen = np.flatnonzero((over < base - FLARE) & (time > left - 0.3))
    last = int(fallen[0]) if len(fallen) else int(np.searchsorted(time, settled))
    first = int(np.searchsorted(time, left - LONGEST_FLARE))
    if last - first < 4:
        return None
    top = first + int(np.argmax(over[first:last]))
    spread = max(noise, float(np.std(over[:first])) if first > 3 else noise, 3.0 * RPM)
    begun = departure(over[: top + 1] - base, spread, allowance=1.0, decision=5.0)
    if over[top] - base < max(FLARE, 4.0 * spread) or begun is None:
        return None
    knees = np.arange(max(time[1], time[top] - 1.2 * LONGEST_FLARE), time[top] - 0.05, 0.01)
    if not len(knees):
        return float(time[begun]), float(over[top] - base)
    begin = int(np.searchsorted(time, time[top] - 2.0 * LONGEST_FLARE))
    rise = np.maximum(time[None, begin : top + 1] - knees[:, None], 0.0)
    high = over[begin : top + 1] - base
    steep = (rise @ high) / np.maximum((rise**2).sum(axis=1), 1e-9)
    misfit = ((high[None, :] - steep[:, None] * rise) ** 2).sum(axis=1)
    best = int(np.argmin(misfit))
    line = np.polyfit(time[begin : top + 1], high, 1)
    drifted = float(((high - np.polyval(line, time[begin : top + 1])) ** 2).sum())
    if misfit[best] > min(0.25 * float((high**2).sum()), KNEE * drifted):
        return None
    return float(knees[best]), float(over[top] - base)


def _joined(
    time: FloatArray, engine: FloatArray, left: float, settled: float, step: float
) -> tuple[float, float]:
    """Moments at which three joined lines fit best."""
    width = max(0.3, 2 * step)
    first, last = left, settled
    near = (time > left - JOINED_WITHIN) & (time < settled + JOINED_WITHIN)
    time, engine = time[near], engine[near]
    for spacing in (width / 4, width / 16, width / 64):
        starts: FloatArray = np.asarray(first + spacing * np.arange(-4.0, 5.0))
        ends: FloatArray = np.asarray(last + spacing * np.arange(-4.0, 5.0))
        misfit = _misfits(time, engine, starts, ends)
        allowed = (ends[None, :] - starts[:, None] > 0.8 * step) & (starts[:, None] > time[0] + step)
        allowed &= ends[None, :] < time[-1] - 0.5 * step
        if not allowed.any():
            break
        place = int(np.argmin(np.where(allowed, misfit, np.inf)))
        first, last = starts[place // len(ends)], ends[place % len(ends)]
    return float(first), float(last)


def _misfits(time: FloatArray, engine: FloatArray, starts: FloatArray, ends: FloatArray) -> FloatArray:
    """Sum of squares about three joined straight lines, by their two knots (starts, ends)."""
    apart = time - time[0]
    rows = np.concatenate(
        [
            [np.ones(len(time)), apart],
            np.maximum(time[None, :] - starts[:, None], 0.0),
            np.maximum(time[None, :] - ends[:, None], 0.0),
        ]
    )
    products, right = rows @ rows.T, rows @ engine
    one, two = np.meshgrid(
        np.arange(2, 2 + len(starts)), np.arange(2 + len(starts), len(rows)), indexing="ij"
    )
    columns = np.stack([np.zeros_like(one), np.ones_like(one), one, two], axis=-1)
    normal = products[columns[..., :, None], columns[..., None, :]] + 1e-9 * np.eye(4)
    found = np.linalg.solve(normal, right[columns][..., None])[..., 0]
    return np.asarray(engine @ engine - (found * right[columns]).sum(axis=-1))


def without_doubles(shifts: tuple[Shift, ...]) -> tuple[Shift, ...]:
    """Leave out a shift and its undoing within half a second: no box does that."""
    undone = {
        place
        for place, (one, two) in enumerate(pairwise(shifts))
        if two.time - one.time < 0.5 and (one.before, one.after) == (two.after, two.before)
    }
    return tuple(
        shift for place, shift in enumerate(shifts) if place not in undone and place - 1 not in undone
    )
