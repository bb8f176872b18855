"""Changes down with the foot off and the engine at idle: told by how the converter drags the engine.

A turbine slower than the idling engine loads it: with the turbine at x of the idle the converter takes
1 - x^4 of what it takes against a standing one, and the idle falls by as much of its whole drop. A change
down quickens the turbine, the load goes and the idle rises, by some ten turns to thirty. Idle and drop are
learnt from all coasts of the log; of each coast the moments of its changes are then weighed sample by sample.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import combinations_with_replacement

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.gear_set import GearSet
from bellhousing.road.logs.gears import GearPath
from bellhousing.road.logs.shifts import Shift
from bellhousing.road.logs.tracks import Track
from bellhousing.road.logs.units import RPM
from bellhousing.road.logs.usual_pull import CLOSED

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

SLOWING = -0.2
"""Acceleration below which the car coasts or brakes [m/s2]."""

SLOWEST = 0.6
"""Road speed down to which a coast is looked at [m/s]."""

SLOW = 3.0
"""Road speed below which a car that comes down to it counts as having coasted down [m/s]."""

MORE = 0.05
"""How much more than at rest the throttle may be open on a coast [-]: an engine at idle has little vacuum."""

SHORTEST, LONGEST = 1.5, 40.0
"""Time a coast at idle must last, and after which no more of it is looked at [s]."""

MOST = 700
"""Coasts kept of one log: memory and time stay bounded."""

LEARNT_FROM = 60
ENOUGH = 2
"""Coasts from which the idle and its drop are learnt."""

LEAST_DROP = 8 * RPM
"""Drop of the idle by the converter's drag from which a change down can leave a mark [rad/s]."""

CLEAR = 5.0
"""Natural logarithm of the odds, against a coast all in one gear, from which a change is told [-]."""

SURE = 0.45
"""Standard uncertainty of the road speed up to which a change is told [m/s]."""

LEAST_NOISE = 1.0 * RPM
"""Least the idle is taken to scatter [rad/s]; judgement."""

SURE_IN_TIME = 0.35
"""Standard uncertainty of the moment up to which a change of one coast is told [s]."""

SAME = 3.0
"""Time within which a change of the same gears is the same one [s]."""

STRANGE = 2.0
"""A coast whose idle scatters more than so many times the usual about its best reading is not told [-]."""

BEFORE_MIDDLE, DOUBT = 0.17, 0.1
"""The ratio begins to change so long before the middle of a soft change down, and the doubt of it [s]; common
practice, no source."""


@dataclass(frozen=True)
class Coast:
    """A coast at idle: time, clock [s], road speed [m/s], engine [rad/s] and gain [m/s2] of each sample.

    first : gear before it, from 0; last : the lowest gear it can end in; load : opening [-], None unknown
    """

    time: FloatArray
    clock: FloatArray
    speed: FloatArray
    engine: FloatArray
    gain: FloatArray
    signal: FloatArray
    first: int
    load: float | None


@dataclass
class CoastReader:
    """Gathers the coasts of a drive, stretch by stretch, in bounded memory."""

    gears: GearSet
    coasts: list[Coast] = field(default_factory=list)
    stops: int = 0
    _closed: float = CLOSED

    def take(self, track: Track, path: GearPath, wanted: slice) -> None:
        """Add the coasts that begin in a part of one stretch."""
        step = track.step
        slow = path.speed[wanted] < SLOW
        self.stops += int(np.count_nonzero(slow[1:] & ~slow[:-1]))
        if step > 0.5 or len(self.coasts) >= MOST:
            return
        still = track.speed < 0.3
        if len(track.load) and np.count_nonzero(still) * step > 1.0:
            self._closed = max(CLOSED, float(np.median(track.load[still])) + MORE)
        foot = track.load < self._closed if len(track.load) else path.gain < SLOWING
        turbine = self.gears.ratios[-1] * path.output
        there = foot & (path.gain < SLOWING) & (path.speed > SLOWEST) & (turbine < 1.02 * path.idle)
        there &= track.engine < 1.25 * path.idle
        edges = np.flatnonzero(np.diff(there.astype(np.int8), prepend=0, append=0))
        for begin, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
            long = SHORTEST <= (end - begin) * step <= LONGEST
            if not long or not wanted.start <= begin < wanted.stop or len(self.coasts) >= MOST:
                continue
            rows = slice(begin, end)
            lever = track.lever[rows] if len(track.lever) else np.empty(0)
            if len(lever) and np.any(np.rint(lever) != 3.0):
                continue
            self.coasts.append(
                Coast(
                    track.time[rows], track.clock[rows], path.speed[rows], track.engine[rows],
                    path.gain[rows], track.signal[rows] if len(track.signal) else np.empty(0),
                    int(path.gear[max(0, begin - 1)]),
                    float(track.load[rows].mean()) if len(track.load) else None,
                )
            )  # fmt: skip

    def read(self) -> Coasting:
        """What the coasts tell, together and each by itself."""
        samples = _Samples(self.coasts, self.gears)
        usual = learnt(samples, len(self.gears.ratios))
        if usual is None:
            return Coasting((), (), max(len(self.coasts), self.stops))
        return Coasting(_each(samples, usual), usual.changes, max(len(self.coasts), self.stops))


@dataclass(frozen=True)
class UsualChange:
    """A change down coasting: gear before, from 1; road speed and its standard uncertainty [m/s]; how many
    coasts say it together."""

    before: int
    speed: float
    spread: float
    coasts: int


@dataclass(frozen=True)
class Coasting:
    """What a drive tells of coasting at idle: changes of single coasts, of all together, and how many."""

    shifts: tuple[Shift, ...] = ()
    usual: tuple[UsualChange, ...] = ()
    coasts: int = 0


NO_COASTING = Coasting()


class _Samples:
    """The coasts out of the highest gear, one after the other."""

    def __init__(self, coasts: list[Coast], gears: GearSet) -> None:
        self.coasts = [coast for coast in coasts if coast.first == len(gears.ratios) - 1]
        count = np.array([len(coast.time) for coast in self.coasts], dtype=np.intp)
        self.starts = (np.cumsum(count) - count).astype(np.intp)
        self.which = np.repeat(np.arange(len(count)), count)
        self.speed = _all(coast.speed for coast in self.coasts)
        self.engine = _all(coast.engine for coast in self.coasts)
        self.time = _all(coast.time for coast in self.coasts)
        turbine = gears.output_speed(self.speed)[:, None] * gears.array
        idle = float(np.median(self.engine)) if len(self.engine) else 1.0
        self.drag = np.maximum(1.0 - (turbine / idle) ** 4, 0.0)


@dataclass(frozen=True)
class _Usual:
    """What all coasts tell: idle and its drop [rad/s], its noise with what clings to it, and the changes.

    speeds : road speed of each change, lowest first [m/s], the best guess where it is not told
    """

    idle: float
    drop: float
    noise: float
    plain: float
    speeds: FloatArray
    changes: tuple[UsualChange, ...]


def learnt(samples: _Samples, gears: int) -> _Usual | None:
    """Idle, drop and the road speed of each change down, by least squares over all coasts together.

    The road speeds are tried on a grid, each with its own best idle and drop; their weights are those of the
    sums of squares against the noise of the idle, which counts what clings from sample to sample.
    """
    if len(samples.coasts) < ENOUGH:
        return None
    width = 0.2
    place = np.minimum((samples.speed / width).astype(np.intp), 60)
    bins = int(place.max()) + 1
    sums = np.zeros((5, gears, bins + 1))
    for gear in range(gears):
        drag = samples.drag[:, gear]
        engine = samples.engine
        for row, weight in enumerate((np.ones(len(drag)), drag, drag**2, engine, engine * drag)):
            sums[row, gear, 1:] = np.cumsum(np.bincount(place, weight, minlength=bins))
    tried = np.array(list(combinations_with_replacement(range(bins + 1), gears - 1)), dtype=np.intp)
    edges = np.concatenate([np.zeros((len(tried), 1), int), tried, np.full((len(tried), 1), bins)], axis=1)
    n, d, dd, w, wd = (
        sum(row[gear, edges[:, gear + 1]] - row[gear, edges[:, gear]] for gear in range(gears))
        for row in sums
    )
    spread = np.maximum(n * dd - d * d, 1e-9 * n * n)
    drop = np.maximum(-(n * wd - d * w) / spread, 0.0)
    idle = (w + drop * d) / n
    squares = float((samples.engine**2).sum()) - 2 * idle * w + 2 * drop * wd
    squares += n * idle**2 - 2 * idle * drop * d + drop**2 * dd
    best = int(np.argmin(squares))
    speeds = width * tried[best]
    gear = (samples.speed[:, None] > speeds).sum(axis=1)
    rest = samples.engine - idle[best] + drop[best] * samples.drag[np.arange(len(gear)), gear]
    # An idle written in whole steps may not scatter at all.
    plain = max(float(np.std(rest)), LEAST_NOISE)
    noise = plain * np.sqrt(_clinging(rest))
    weight = -(squares - squares[best]) / (2.0 * noise**2)
    changes = []
    for which in range(gears - 1):
        change = _weighed(tried[:, which], weight, width, int(edges[:, -1].max()))
        if change is not None and drop[best] > LEAST_DROP:
            changes.append(_began(samples, which + 2, *change))
    return _Usual(float(idle[best]), float(drop[best]), noise, plain, speeds, tuple(changes))


def _began(samples: _Samples, before: int, middle: float, spread: float) -> UsualChange:
    """A usual change by the road speed at which it begins, not at its middle."""
    gain = _all(coast.gain for coast in samples.coasts)
    near = np.abs(samples.speed - middle) < 0.5
    slowing = -float(np.median(gain[near])) if near.any() else 0.0
    doubt = float(np.hypot(spread, DOUBT * slowing))
    return UsualChange(before, middle + BEFORE_MIDDLE * slowing, doubt, len(samples.coasts))


def _weighed(tried: IntArray, weight: FloatArray, width: float, bins: int) -> tuple[float, float] | None:
    """Mean and standard uncertainty of a road speed by its weights; None where it is not told."""
    seen = (tried > int(SLOWEST / width) + 1) & (tried < bins - 1)
    if not seen.any() or weight[seen].max() - weight[~seen].max() < CLEAR:
        return None
    share = np.exp(weight - weight.max())
    share /= share.sum()
    speed = float(share @ tried) * width
    spread = float(np.sqrt(share @ (tried * width - speed) ** 2 + width**2 / 12.0))
    return (speed, spread) if spread < SURE else None


def _clinging(rest: FloatArray) -> float:
    """How many times more the mean of neighbouring samples scatters than that of independent ones [-]."""
    many = 5
    if len(rest) < 4 * many:
        return 1.0
    means = rest[: len(rest) // many * many].reshape(-1, many).mean(axis=1)
    return max(1.0, float(many * means.var() / max(rest.var(), 1e-12)))


def _each(samples: _Samples, usual: _Usual) -> tuple[Shift, ...]:
    """The changes that each coast tells by itself, with the usual idle and drop."""
    rest = samples.engine[:, None] - usual.idle + usual.drop * samples.drag
    cost = rest**2 / (2.0 * usual.noise**2)
    gear = (samples.speed[:, None] > usual.speeds).sum(axis=1)
    own = rest[np.arange(len(gear)), gear] ** 2
    counts = np.diff(np.append(samples.starts, len(gear)))
    strange = np.add.reduceat(own, samples.starts) / counts > (STRANGE * usual.plain) ** 2
    found = []
    for change in usual.changes:
        upper = change.before - 1
        open_ = (gear == upper) | (gear == upper - 1)
        gained = np.where(open_, cost[:, upper - 1] - cost[:, upper], 0.0)
        total = np.cumsum(gained)
        # Before sample s the upper gear, from it on the lower: the natural logarithm of its likelihood.
        score = total - gained
        score -= score[samples.starts][samples.which]
        score = np.where(open_, score, -np.inf)
        top = np.maximum.reduceat(score, samples.starts)
        share = np.exp(score - np.where(np.isfinite(top), top, 0.0)[samples.which])
        share /= np.maximum(np.add.reduceat(share, samples.starts), 1e-12)[samples.which]
        speed = np.add.reduceat(share * samples.speed, samples.starts)
        spread = np.sqrt(np.add.reduceat(share * (samples.speed - speed[samples.which]) ** 2, samples.starts))
        time = np.add.reduceat(share * samples.time, samples.starts)
        when = np.sqrt(np.add.reduceat(share * (samples.time - time[samples.which]) ** 2, samples.starts))
        never = np.add.reduceat(gained, samples.starts)
        clear = (top - np.maximum(never, 0.0) > CLEAR) & (when < SURE_IN_TIME) & ~strange
        rows = np.flatnonzero(clear).tolist()
        coasts = samples.coasts
        told = [_shift(coasts[row], change.before, float(time[row]), float(spread[row])) for row in rows]
        found += [shift for shift in told if shift.spread < SURE]
    return tuple(sorted(found, key=lambda shift: shift.time))


def beside(told: Sequence[Shift], shifts: Sequence[Shift]) -> list[Shift]:
    """Those told by the idle that are not already read out of the ratio."""
    known: dict[tuple[int, int], list[float]] = {}
    for other in sorted(shifts, key=lambda shift: shift.time):
        known.setdefault((other.before, other.after), []).append(other.time)
    left = []
    for one in told:
        times = known.get((one.before, one.after), [])
        place = bisect_right(times, one.time - SAME)
        if place == len(times) or times[place] >= one.time + SAME:
            left.append(one)
    return left


def _shift(coast: Coast, before: int, middle: float, spread: float) -> Shift:
    """A change down of one coast as every shift is told; how long it takes is not known."""
    begin, step = float(coast.time[0]), float(coast.time[1] - coast.time[0])
    moment = max(middle - BEFORE_MIDDLE, begin)
    row = min(int((moment - begin) / step + 1e-6), len(coast.time) - 2)
    part = (moment - float(coast.time[row])) / step
    speed, engine, gain = (
        (1.0 - part) * float(series[row]) + part * float(series[row + 1])
        for series in (coast.speed, coast.engine, coast.gain)
    )
    return Shift(
        time=moment,
        clock=float(coast.clock[row] + moment - coast.time[row]),
        before=before,
        after=before - 1,
        speed=speed,
        engine=engine,
        signal=float(coast.signal[row]) if len(coast.signal) else None,
        load=coast.load,
        duration=2.0 * BEFORE_MIDDLE,
        flare=0.0,
        gain=gain,
        spread=float(np.hypot(spread, DOUBT * gain)),
    )


def _all(parts: Iterable[FloatArray]) -> FloatArray:
    found = list(parts)
    return np.concatenate(found) if found else np.zeros(0)
