"""Each shift measured: when engine speed leaves the old ratio, how long it takes to the new one, and flare.

Engine speed around a shift is fitted by straight lines joined at the moments where it leaves the old ratio,
(in a flare) turns, and settles on the new one; the moments are those with the least squares.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.change_points import departure
from bellhousing.road.logs.gear_set import engine_at, pull
from bellhousing.road.logs.gears import CLOSED, STANDING, Change, GearPath
from bellhousing.road.logs.tracks import Track
from bellhousing.road.logs.units import RPM

FloatArray = NDArray[np.float64]

LEAST_SEEN = 40 * RPM
"""A change of engine speed smaller than this is not taken for a shift [rad/s]."""

FLARE = 70 * RPM
"""Engine speed above the old ratio from which a shift is measured as a flare [rad/s]."""

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
    for change in path.changes:
        if change.edge.kind != "ratio":
            continue
        shift = _measure(track, path, change)
        if shift is not None:
            found.append(shift)
    return tuple(found)


def _measure(track: Track, path: GearPath, change: Change) -> Shift | None:
    step = track.step
    edge = change.edge
    reach = max(3, round(1.6 / step))
    begin, end = max(0, edge.begin - reach), min(len(track), edge.end + reach)
    others = [other.edge for other in path.changes if other is not change]
    begin = max([begin, *(other.end for other in others if other.end <= edge.begin)])
    end = min([end, *(other.begin for other in others if other.begin >= edge.end)])
    time, engine = track.time[begin:end], _over_old_ratio(track, path, change, begin, end)
    if len(time) < 5 or _unseen(track, path, change):
        return None
    up = change.after > change.before
    left, settled = float(track.time[edge.begin]), float(track.time[min(edge.end, len(track) - 1)])
    left, settled = _joined(time, engine, left, settled, step)
    flare = _flare(time, engine, left, settled, path.noise) if up and step <= FINE else None
    risen = 0.0
    if flare is not None:
        left, risen = flare
    elif step > COARSE:
        left = settled = _middle(time, engine, left, settled)
        left -= 0.4
    else:
        left = _left(time, engine, left, settled)
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
    risen = float(np.median(track.engine[edge.end : edge.end + 5]) - np.median(track.engine[before]))
    if risen < max(LEAST_SEEN, 3.0 * path.noise):
        return True
    if path.told[before].mean() > 0.5:
        return bool((edge.end - edge.begin) * track.step > 2.5)
    after = slice(edge.end, edge.end + max(2, round(0.3 / track.step)))
    foot = (
        bool(np.median(track.load[after]) > CLOSED) if len(track.load[after]) else path.gain[after].mean() > 0
    )
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
        signal=float(np.median(track.signal[before])) if len(track.signal) else None,
        load=float(np.median(track.load[before])) if len(track.load) else None,
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


def _left(time: FloatArray, over: FloatArray, left: float, settled: float) -> float:
    """When the engine leaves the old ratio, of a change without flare.

    Straight lines put it late where the change begins softly, so it is also told from the moments at which
    a tenth and a half of the change are over: 1.4 times their distance before the later one, which lies
    between a straight change (1.25) and a rounded one (1.65). The earlier of the two counts.
    """
    whole = float(np.interp(settled, time, over) - np.median(over[time < left]))
    share = (over - np.median(over[time < left])) / (whole or 1.0)
    tenth, half = _crossing(time, share, 0.1, settled), _crossing(time, share, 0.5, settled)
    if tenth is None or half is None:
        return left
    return float(np.clip(half - 1.4 * (half - tenth), left - 0.15, left))


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
    if misfit[best] > 0.25 * float((high**2).sum()):
        return None
    return float(knees[best]), float(over[top] - base)


def _joined(
    time: FloatArray, engine: FloatArray, left: float, settled: float, step: float
) -> tuple[float, float]:
    """Moments at which three joined lines fit best."""
    width = max(0.3, 2 * step)
    first, last = left, settled
    for spacing in (width / 4, width / 16, width / 64):
        starts = first + spacing * np.arange(-4, 5)
        ends = last + spacing * np.arange(-4, 5)
        pairs = np.stack([axis.ravel() for axis in np.meshgrid(starts, ends)], axis=1)
        pairs = pairs[(pairs[:, 1] - pairs[:, 0] > 0.8 * step) & (pairs[:, 0] > time[0] + step)]
        pairs = pairs[pairs[:, 1] < time[-1] - 0.5 * step]
        if not len(pairs):
            break
        first, last = pairs[int(np.argmin(_misfits(time, engine, pairs)))]
    return float(first), float(last)


def _misfits(time: FloatArray, engine: FloatArray, knots: FloatArray) -> FloatArray:
    """Sum of squares about joined straight lines with the given knots, one row of knots for each."""
    base = np.stack([np.ones_like(time), time - time[0]], axis=1)
    hinges = np.maximum(time[None, :, None] - knots[:, None, :], 0.0)
    design = np.concatenate([np.broadcast_to(base, (len(knots), *base.shape)), hinges], axis=2)
    normal = np.einsum("kti,ktj->kij", design, design) + 1e-9 * np.eye(design.shape[2])
    right = np.einsum("kti,t->ki", design, engine)
    found = np.linalg.solve(normal, right[..., None])[..., 0]
    left_over = engine[None, :] - np.einsum("kti,ki->kt", design, found)
    return np.asarray((left_over**2).sum(axis=1))


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
