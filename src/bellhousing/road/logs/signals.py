"""Sensors that fail in part: figures no manifold or pedal can have, single wild ones, frozen stretches."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.columns import Column
from bellhousing.road.logs.tracks import Cleaned

FloatArray = NDArray[np.float64]

SIGNALS = {
    "vacuum": (-110e3, 110e3),
    "manifold-pressure": (-110e3, 500e3),
    "line-pressure": (-110e3, 5e6),
}
"""Pressures there can be in a manifold and in a gearbox [Pa]. Common practice, no source."""

PEDAL = {"%": (-0.25, 1.3), "V": (-0.5, 6.0), "deg": (-0.35, 2.1)}
"""What a pedal's sensor can say, by its unit [share, V, rad]. Common practice, no source."""

BREATH, BREATHS = 5000.0, 34e3
"""Change of the pressure in a manifold there and back within two rows: noise [Pa], and per second [Pa/s];
judgement."""

FROZEN = 8.0
"""Time a speed stands at the very same figure, not at rest, from which it may be stuck [s]; judgement."""

GOES_ON = 0.4
"""Change of the other speed meanwhile, of its mean, by which it is [-]; judgement."""

NEAR_IDLE, GAINS, TURNS = 1.25, 5.0, 20.0
"""Engine over idle speed up to which it idles [-], what a car does not gain while it does [m/s], and engine
speed from which it turns [rad/s]; judgement."""

LEAPS = {"speed": 2.5, "engine-speed": 60.0}
"""Leap at the end of such a time by which it was stuck [m/s, rad/s]; judgement."""


def clean_signals(
    time: FloatArray, values: dict[str, FloatArray], columns: Sequence[Column], cleaned: Cleaned
) -> None:
    """NaN in pressures and throttle where no sensor can be, or where one row lies far from both beside it."""
    for meaning, bounds in SIGNALS.items():
        if meaning in values:
            values[meaning] = _within(values[meaning], bounds, cleaned)
    for meaning in ("vacuum", "manifold-pressure"):
        if meaning in values and len(time) > 3:
            limit = BREATH + BREATHS * float(np.median(np.diff(time[:2000])))
            values[meaning] = _without_lone(values[meaning], limit, cleaned)
    if "throttle" in values:
        unit = next(column.unit for column in columns if column.meaning == "throttle")
        some = values["throttle"][:: max(1, len(time) // 4000)]
        usual = np.nanquantile(some, 0.9) if np.isfinite(some).any() else 0.0
        bounds = PEDAL.get(unit.name, (-np.inf, np.inf))
        if bounds[0] <= usual <= bounds[1]:
            values["throttle"] = _within(values["throttle"], bounds, cleaned)


def _within(values: FloatArray, bounds: tuple[float, float], cleaned: Cleaned) -> FloatArray:
    low, high = bounds
    if values.min(initial=0.0) >= low and values.max(initial=0.0) <= high:
        return values
    wild = (values < low) | (values > high)
    cleaned.wild += int(np.count_nonzero(wild))
    return np.where(wild, np.nan, values)


def _without_lone(values: FloatArray, limit: float, cleaned: Cleaned) -> FloatArray:
    steps = np.diff(values)
    if not (np.nanmax(steps, initial=0.0) > limit and np.nanmin(steps, initial=0.0) < -limit):
        return values
    up, down = steps > limit, steps < -limit
    lone = (up[:-1] & down[1:]) | (down[:-1] & up[1:])
    if not lone.any():
        return values
    cleaned.spikes += int(np.count_nonzero(lone))
    out = values.copy()
    out[1:-1][lone] = np.nan
    return out


def without_frozen(time: FloatArray, values: dict[str, FloatArray], cleaned: Cleaned) -> None:
    """NaN where the engine's or the road speed stands at one figure for long while the other goes on."""
    for meaning, other in (("speed", "engine-speed"), ("engine-speed", "speed")):
        if meaning not in values or other not in values:
            continue
        array = values[meaning].copy() if _stands(time, values[meaning]) else None
        if array is None:
            continue
        idle = _idle(values[meaning]) if meaning == "engine-speed" else 0.0
        begins = np.flatnonzero(np.concatenate([[True], array[1:] != array[:-1]]))
        ends = np.append(begins[1:], len(array)) - 1
        long = (time[ends] - time[begins] >= FROZEN) & (ends - begins >= 8) & (array[begins] > 1.0)
        for begin, end in zip(begins[long], ends[long], strict=True):
            beside = values[other][begin : end + 1]
            if not np.isfinite(beside).any():
                continue
            gained = float(np.nanmax(beside - np.fmin.accumulate(beside)))
            # An idle written in coarse steps stands too, as the car slows down and rests.
            if array[begin] < NEAR_IDLE * idle and gained < GAINS:
                continue
            span = float(np.nanmax(beside) - np.nanmin(beside))
            after = float(np.nanmax(np.abs(array[end + 1 : end + 2] - array[end]), initial=0.0))
            if span > GOES_ON * max(float(np.nanmean(beside)), 5.0) or after > LEAPS[meaning]:
                array[begin : end + 1] = np.nan
                cleaned.frozen[meaning] = cleaned.frozen.get(meaning, 0.0) + float(time[end] - time[begin])
        values[meaning] = array


def _idle(engine: FloatArray) -> float:
    """The low end of the speeds at which the engine turns [rad/s]."""
    turning = engine[engine > TURNS]
    return float(np.quantile(turning, 0.05)) if len(turning) else 0.0


def _stands(time: FloatArray, values: FloatArray) -> bool:
    """Whether values a third of the shortest frozen stretch apart, and all between, are anywhere the same."""
    if len(time) < 8:
        return False
    apart = max(1, int(FROZEN / 3 / max((time[-1] - time[0]) / len(time), 1e-3)))
    some = values[::apart]
    same = np.flatnonzero((some[1:] == some[:-1]) & (some[1:] > 1.0))
    return any(
        bool((values[place * apart : (place + 1) * apart] == some[place]).all()) for place in same.tolist()
    )
