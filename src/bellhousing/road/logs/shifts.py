"""Each shift measured: when engine speed leaves the old ratio, how long it takes to the new one, and flare.

Engine speed around a shift is fitted by straight lines joined at the moments where it leaves the old ratio,
(in a flare) turns, and settles on the new one; the moments are those with the least squares.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.bursts import Changes, narrowed, side_by_side
from bellhousing.road.logs.change_points import departure
from bellhousing.road.logs.crossings import STANDING
from bellhousing.road.logs.gear_set import engine_at, pull
from bellhousing.road.logs.gears import GearPath
from bellhousing.road.logs.tracks import Track
from bellhousing.road.logs.units import RPM
from bellhousing.road.logs.usual_pull import CLOSED
from bellhousing.road.logs.windows import (
    Sums,
    at_moments,
    deviation_where,
    last_rise,
    mean_where,
    median_where,
    windows,
)

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

TOGETHER = 256
"""Changes measured side by side: memory stays bounded."""

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

JUST_BEFORE = 0.7
"""Time before a change over which the engine speed it leaves is told [s]."""

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
    pulled : whether the foot is on right after it
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
    pulled: bool = False


def measure_shifts(track: Track, path: GearPath) -> tuple[Shift, ...]:
    """Measure every change of gear that the engine speed shows."""
    changes = side_by_side(path.changes, len(track))
    found: list[Shift] = []
    for begin in range(0, len(changes), TOGETHER):
        found += _measured(track, path, changes.some(np.arange(begin, min(begin + TOGETHER, len(changes)))))
    return tuple(found)


def _measured(track: Track, path: GearPath, whole: Changes) -> list[Shift]:
    """Measure changes side by side."""
    step = track.step
    changes, second = narrowed(track, path, whole)
    reach = max(3, round(1.6 / step))
    begin = np.maximum(np.maximum(changes.begin - reach, 0), changes.low)
    end = np.minimum(np.minimum(changes.end + reach, len(track)), changes.high)
    unseen = np.where(second, _unseen(track, path, changes), _unseen(track, path, whole))
    shown = np.flatnonzero((end - begin >= 5) & ~unseen)
    if not len(shown):
        return []
    changes, begin, end = changes.some(shown), begin[shown], end[shown]
    around = _around(track, path, changes, begin, end)
    left = track.time[changes.begin]
    settled = track.time[np.minimum(changes.end, len(track) - 1)]
    left, settled, flare = _moments(around, changes, left, settled, path.noise)
    moved = np.abs(around.at(settled) - around.at(left))
    large = (moved >= max(LEAST_SEEN, 4.0 * path.noise)) | (flare > 0.0)
    # No box changes up before the car rolls.
    rolls = np.interp(left, track.time, path.speed) >= STANDING
    large &= rolls | (changes.after < changes.before)
    return _shifts(track, path, changes.some(large), left[large], settled[large], flare[large])


@dataclass(frozen=True)
class _Around:
    """Rows around changes: time [s], engine speed over the old ratio [rad/s], which are `inside`."""

    time: FloatArray
    over: FloatArray
    inside: BoolArray
    step: float

    def at(self, moments: FloatArray) -> FloatArray:
        """Engine speed over the old ratio at a moment of each [rad/s]."""
        return at_moments(self.time[:, 0], self.step, self.over, moments)

    def row(self, place: int) -> tuple[FloatArray, FloatArray]:
        """Time and engine speed over the old ratio around one change."""
        rows = self.inside[place]
        return self.time[place, rows], self.over[place, rows]


def _around(track: Track, path: GearPath, changes: Changes, begin: IntArray, end: IntArray) -> _Around:
    """Engine speed over what the old gear and the pull before the change ask for."""
    rows = windows(begin, end)
    turbine = path.ratios[changes.before][:, None] * rows.of(path.output)
    engine = rows.of(track.engine)
    until = np.maximum(3, changes.begin - begin - round(0.4 / track.step))
    early = rows.inside & (np.arange(engine.shape[1]) < until[:, None])
    pulled = median_where(pull(engine, turbine), early)[:, None]
    return _Around(rows.of(track.time), engine - engine_at(pulled, turbine), rows.inside, track.step)


def _moments(
    around: _Around, changes: Changes, left: FloatArray, settled: FloatArray, noise: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """When each change begins and ends [s], and how high it flares [rad/s]."""
    crossed, last = _crossed(around, left - 0.1, settled, noise)
    for place in np.flatnonzero(np.isnan(crossed)).tolist():
        moments = float(left[place]), float(settled[place])
        crossed[place], last[place] = _joined(*around.row(place), *moments, around.step)
    left, settled, flare = crossed, last, np.zeros(len(crossed))
    if around.step <= FINE:
        flares = (changes.after > changes.before) & _rises(around, left, settled, noise)
        for place in np.flatnonzero(flares).tolist():
            found = _flare(*around.row(place), float(left[place]), float(settled[place]), noise)
            if found is not None:
                left[place], flare[place] = found
    elif around.step > COARSE:
        for place in range(len(left)):
            left[place] = _middle(*around.row(place), float(left[place]), float(settled[place])) - 0.4
        settled = np.maximum(settled, left + around.step)
    return left, settled, flare


def _unseen(track: Track, path: GearPath, changes: Changes) -> BoolArray:
    """Whether the change itself does not show: one down at idle, one up at rest."""
    step, begin, end = track.step, changes.begin, changes.end
    before = np.maximum(begin - max(2, round(0.4 / step)), 0)
    engine = Sums(track.engine)
    risen = engine.means(end, end + 5) - engine.means(before, begin)
    told = Sums(path.told.astype(np.float64)).means(before, begin)
    foot = Sums(track.load if len(track.load) else path.gain)
    opened = foot.means(end, end + 5) - foot.means(before, begin) > (0.08 if len(track.load) else 0.5)
    on = foot.means(end, end + max(2, round(0.3 / step))) > (CLOSED if len(track.load) else 0.0)
    slowest = windows(begin, end + 1).of(path.output).min(axis=1)
    length = (end - begin) * step
    # Out of idle the box may have come down through several gears by itself before the foot came on.
    hidden = opened | (changes.before - changes.after > 1)
    hidden &= path.ratios[changes.before] * slowest < NEAR_IDLE * path.idle
    hidden |= (path.speed[begin] < 2.0 * STANDING) | (risen < max(LEAST_SEEN, 3.0 * path.noise))
    out_of_idle = on | (length > 1.5) | (changes.before - changes.after > 1)
    hidden |= np.where(told > 0.5, length > 2.5, out_of_idle)
    return np.where(changes.after > changes.before, path.speed[begin] < STANDING, hidden)


def _shifts(
    track: Track, path: GearPath, changes: Changes, left: FloatArray, settled: FloatArray, flare: FloatArray
) -> list[Shift]:
    if not len(left):
        return []
    step, count = track.step, len(track)
    place = np.clip(np.searchsorted(track.time, left), 1, count - 1)
    gain = np.interp(left, track.time, path.gain)
    near = windows(np.maximum(0, place - 10), np.minimum(place + 10, count))
    noise = deviation_where(near.of(track.speed - path.speed), near.inside)
    before = np.maximum(0, place - max(2, round(0.3 / step)))
    signal = Sums(track.signal).means(before, place) if len(track.signal) else None
    load = Sums(track.load).means(before, place) if len(track.load) else None
    after = np.clip(np.searchsorted(track.time, settled), 1, count - 1)
    foot = Sums(track.load if len(track.load) else path.gain).means(after, after + max(2, round(1.0 / step)))
    pulled = foot > (CLOSED if len(track.load) else 0.0)
    table = {
        "time": left,
        # A row before the clock was set belongs to the old reading: no line is drawn across the step.
        "clock": track.clock[place - 1] + (left - track.time[place - 1]),
        "speed": np.interp(left, track.time, path.speed),
        "engine": np.interp(left, track.time, track.engine),
        "duration": np.maximum(settled - left, step / 2),
        "flare": flare,
        "gain": gain,
        "spread": np.hypot(0.5 * noise, np.abs(gain) * 0.5 * step) + 0.02,
    }
    return [
        Shift(
            before=int(changes.before[row]) + 1,
            after=int(changes.after[row]) + 1,
            signal=None if signal is None else float(signal[row]),
            load=None if load is None else float(load[row]),
            pulled=bool(pulled[row]),
            **dict(zip(table, figures, strict=True)),
        )
        for row, figures in enumerate(zip(*(values.tolist() for values in table.values()), strict=True))
    ]


def _crossed(
    around: _Around, left: FloatArray, settled: FloatArray, noise: float
) -> tuple[FloatArray, FloatArray]:
    """When a change begins and ends, from the moments at which 10, 50 and 90 % of it are over.

    The ends lie 1.4 times the distance of the tenths from the middle beyond it, between what a straight
    change has (1.25) and a rounded one (1.65). NaN where the change is small against the noise.
    """
    time, over, inside = around.time, around.over, around.inside
    early, late = inside & (time <= left[:, None]), inside & (time >= settled[:, None])
    # What the foot did a second before is no part of the change.
    early &= time > (left - max(JUST_BEFORE, 3.0 * around.step))[:, None]
    late &= np.cumsum(late, axis=1) <= 6
    before, change = mean_where(over, early), mean_where(over, late) - mean_where(over, early)
    clear = early.any(axis=1) & late.any(axis=1) & (np.abs(change) >= max(CLEAR * noise, 1e-9))
    share = (over - before[:, None]) / np.where(clear, change, 1.0)[:, None]
    share = np.where(inside, share, np.nan)
    half = last_rise(time, share, 0.5, settled)
    tenth, last = last_rise(time, share, 0.1, half), last_rise(time, share, 0.9, settled + 0.3)
    clear &= last > half
    return (
        np.where(clear, half - ROUNDED * (half - tenth), np.nan),
        np.where(clear & np.isfinite(tenth), half + ROUNDED * (last - half), np.nan),
    )


def _middle(time: FloatArray, over: FloatArray, left: float, settled: float) -> float:
    """The middle of a change that is over within one or two rows."""
    early, late = over[time <= left], over[time >= settled]
    if not len(early) or not len(late):
        return 0.5 * (left + settled)
    before, after = np.median(early), np.median(late)
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


def _rises(around: _Around, left: FloatArray, settled: FloatArray, noise: float) -> BoolArray:
    """Whether the engine rises over the old ratio near each change by what a flare needs."""
    time, over = around.time, around.over
    earlier = around.inside & (time < left[:, None] - LONGEST_FLARE)
    base = median_where(over, earlier)[:, None]
    near = around.inside & ~earlier & (time < settled[:, None] + around.step)
    return np.asarray(np.where(near, over - base, -np.inf).max(axis=1) >= max(FLARE, 4.0 * noise))


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
