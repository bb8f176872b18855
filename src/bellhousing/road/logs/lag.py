"""How late the road speed is against the engine speed.

Told where the foot is off in the highest gear: there the wheels drive the engine, its speed over that of the
output shaft hardly changes, and a road speed that comes late shows as a ratio that moves with the braking.
The converter lets the engine fall behind the slower it turns, by its drag over the square of its speed; this
is fitted beside the delay where it explains much of what a delay alone leaves. No delay is longer than hard
starts allow, whose engine leaves its idle before the car moves.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.gear_set import GearSet
from bellhousing.road.logs.smoothing import odd, parabola, slope
from bellhousing.road.logs.tracks import Track
from bellhousing.road.logs.units import RPM
from bellhousing.road.logs.usual_pull import CLOSED

FloatArray = NDArray[np.float64]

LONGEST = 3.0
"""Latest a road speed can be [s]."""

LEAST = 0.2
"""A delay smaller than this is not told from none [s]."""

CLEARLY = 0.75
"""Share of the scatter that may be left for a delay to be taken out."""

FALLS_BEHIND = 0.75
"""Share of the scatter left by a delay alone up to which the converter's slip is fitted beside it [-]."""

ENGINE_LATE = 0.12
"""How late the engine itself follows the wheels through the converter [s]; common practice, no source."""

ROLLING, HARD = 1.0, 1.5
"""Road speed at which a car has pulled away [m/s], and what a hard start adds to it within a second [m/s]."""

LEAVES, TAKES, STARTS = 1.15, 0.2, 3
"""Engine over idle speed that has left the idle [-], time a car then takes at least to pull away [s], and
hard starts that tell it."""

SHORTEST = 3.0
SETTLING = 0.6
NEAR_TOP = (-0.40, 0.10)
"""Logarithm of engine over turbine speed in the highest gear on the overrun, a late road speed included."""


def road_lag(tracks: list[Track], gears: GearSet, idle: float) -> float:
    """Delay of the road speed [s], 0 where it cannot be told from none.

    The delay is that at which ln(engine speed / output speed) scatters least about its mean within each
    stretch on the overrun, or about that mean less a share of 1/(engine speed)^2.
    """
    delays = np.arange(-0.6, LONGEST + 1e-9, 0.1)
    parts, slower = [], []
    for track in tracks:
        road = np.log(np.maximum(parabola(track.output, odd(0.9, track.step)), 1.0))
        for rows in _overrun(track, gears, road, idle):
            engine = track.engine[rows]
            later = np.interp(track.time[rows][None, :] + delays[:, None], track.time, road)
            apart = np.log(engine)[None, :] - later
            parts.append(apart - np.median(apart, axis=1, keepdims=True))
            slower.append((idle / engine) ** 2 - np.median((idle / engine) ** 2))
    if sum(map(len, slower)) < 60:
        return 0.0
    scatter = _scatter(parts, slower)
    best = int(np.argmin(scatter))
    none = float(scatter[int(np.argmin(np.abs(delays)))])
    if not 0 < best < len(delays) - 1 or scatter[best] > CLEARLY * none:
        return 0.0
    left, middle, right = scatter[best - 1 : best + 2]
    bend = left - 2 * middle + right
    delay = float(delays[best] + 0.1 * 0.5 * (left - right) / bend) if bend > 0 else float(delays[best])
    if delay < LEAST:
        return 0.0
    most = _most(tracks, idle)
    if delay > most:
        return most if most >= 2.0 * LEAST else 0.0
    return delay + ENGINE_LATE


def _most(tracks: list[Track], idle: float) -> float:
    """What the road speed can be late at most [s]: no car pulls away hard before its engine does."""
    found = []
    for track in tracks:
        rolls = np.flatnonzero((track.speed[1:] >= ROLLING) & (track.speed[:-1] < ROLLING)) + 1
        for row in rolls.tolist():
            reach = round(LONGEST / track.step)
            low, soon = max(0, row - reach), row + max(1, round(1.0 / track.step))
            still = track.engine[low : row + reach] < LEAVES * idle
            if soon >= len(track) or track.speed[soon] < ROLLING + HARD or low == 0 or not still.any():
                continue
            if track.speed[max(0, row - round(0.8 / track.step))] > 0.5 * ROLLING:
                continue
            left = low + int(np.flatnonzero(still)[-1])
            found.append((row - left) * track.step)
    return float(np.median(found)) - TAKES if len(found) >= STARTS else np.inf


def _scatter(parts: list[FloatArray], slower: list[FloatArray]) -> FloatArray:
    """Scatter at each delay, with the converter's slip taken out where that explains much."""
    apart, square = np.concatenate(parts, axis=1), np.concatenate(slower)
    alone = _robust_sum(apart)
    # Not by the library of matrices: its threads wait busily where the next block is parsed.
    along = np.einsum("ij,j->i", apart, square)
    behind = np.minimum(along / max(float(np.einsum("i,i", square, square)), 1e-9), 0.0)
    fitted = _robust_sum(apart - behind[:, None] * square)
    return fitted if fitted.min() < FALLS_BEHIND * alone.min() else alone


def _robust_sum(apart: FloatArray) -> FloatArray:
    """Sum of squares over each row, none of them counted beyond one tenth [-]."""
    return np.asarray(np.minimum(apart**2, 0.01).sum(axis=1))


def _overrun(track: Track, gears: GearSet, road: FloatArray, idle: float) -> list[NDArray[np.intp]]:
    """Stretches on the overrun in the highest gear, without their beginnings."""
    apart = np.log(np.maximum(track.engine, 100 * RPM)) - road - np.log(gears.ratios[-1])
    there = (track.engine > 1.15 * idle) & (track.speed > 5.0)
    there &= (apart > NEAR_TOP[0]) & (apart < NEAR_TOP[1])
    if len(track.load):
        there &= track.load < 0.8 * CLOSED
    else:
        there &= slope(track.speed, odd(1.5, track.step), track.step) < -0.3
    edges = np.flatnonzero(np.diff(there.astype(np.int8), prepend=0, append=0))
    begins, ends = edges[::2] + round(SETTLING / track.step), edges[1::2] - round(0.3 / track.step)
    return [
        np.arange(begin, end)
        for begin, end in zip(begins, ends, strict=True)
        if (end - begin) * track.step >= SHORTEST
    ]


def without_lag(track: Track, delay: float) -> Track:
    """The same stretch with the road speed moved to when it was."""
    if delay == 0.0:
        return track
    end = track.time[-1]
    speed = np.interp(track.time + delay, track.time, track.speed)
    output = np.interp(track.time + delay, track.time, track.output)
    keep = track.time <= end - delay
    fields = {
        name: getattr(track, name)[keep] if len(getattr(track, name)) else getattr(track, name)
        for name in ("time", "clock", "engine", "load", "signal", "line", "lever", "charge")
    }
    return Track(speed=speed[keep], output=output[keep], **fields)
