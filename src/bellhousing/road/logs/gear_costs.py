"""What each gear costs at each moment: what engine, wheels and foot can and cannot do together in it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.gear_set import GearSet
from bellhousing.road.logs.tracks import Track
from bellhousing.road.logs.usual_pull import CLOSED

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

MOST_PER_SECOND = 10.0
SLIPS = 9.0
"""Highest cost of a pull beyond what the engine has [1/s]: a gear that slips shows one, whereas no turbine
runs ahead of an engine that pulls it; judgement."""

FREE = -0.15
"""Acceleration below which the foot counts as off where nothing tells the throttle [m/s2]."""

AT_TOP = (-0.12, 0.04)
"""Logarithm of turbine over engine speed of an engine that keeps to the highest gear, foot off [-]."""

KEEPS_TO_TOP = 1.5
"""Cost of a lower gear while the engine, foot off, turns as the highest gear asks [1/s]."""

DROPS, ABOVE_IDLE = 1.2, 1.2
"""Time in which an engine set free falls to its idle [s], and engine speed over idle that is above it [-]."""

NOTHING_GIVEN, PUSHES = 0.04, 0.93
"""Throttle opening up to which an engine gives nothing, and turbine over its speed at which it would [-]."""

TURNS_IDLE, LEFT_ALONE = 1.25, 2.0
"""Turbine over engine speed from which the highest gear would turn an idling engine faster [-], and what it
costs that it does not [1/s]."""


def sample_costs(
    track: Track,
    gears: GearSet,
    output: FloatArray,
    gain: FloatArray,
    pulls: FloatArray,
    told: BoolArray,
    idle: float,
) -> FloatArray:
    """Cost of each gear at each sample [1/s]."""
    ratio = (gears.array[:, None] * (output / np.maximum(track.engine, 1.0))).T
    pulling = track.load > CLOSED if len(track.load) else gain > 0.3
    limit = np.where(pulling, 1.04, 1.20)[:, None]
    cost = 8.0 * np.maximum(ratio - limit, 0.0) / 0.05
    # With the foot off a lower gear may run free on its one-way clutch while the engine falls to its idle;
    # an engine that keeps to what the highest gear asks of it is driven by the wheels through that.
    free = (track.load < CLOSED) & (gain < 0.3) if len(track.load) else gain < FREE
    # Soon it idles; one that does not by then is driven by the wheels, in whatever gear it is.
    driven = _held(free, DROPS / track.step) & (track.engine > ABOVE_IDLE * idle)
    apart = np.log(ratio[:, -1:])
    top = (apart > AT_TOP[0]) & (apart < AT_TOP[1])
    freed = (free & ~driven)[:, None]
    cost[:, :-1] = np.where(freed, np.where(top, KEEPS_TO_TOP, 0.0), cost[:, :-1])
    if len(track.load):
        pushes = driven & (track.load < NOTHING_GIVEN)
        cost += np.where(pushes[:, None], 4.0 * np.maximum(PUSHES - ratio, 0.0) / 0.1, 0.0)
    most = 1.15 * gears.stall * (np.sqrt(np.minimum(1.0, 0.35 + track.load)) if len(track.load) else 1.0)
    beyond = 3.0 * np.maximum(pulls / np.reshape(most, (-1, 1)) - 1.0, 0.0) / (0.1 * gears.factors)
    cost += np.minimum(beyond, SLIPS)
    cost += (0.4 if len(track.load) else 0.8) * np.abs(np.log(ratio))
    cost = np.minimum(cost, MOST_PER_SECOND) * told[:, None]
    # In the highest gear the wheels do not let the engine idle while they turn it faster than that.
    cost[:, -1] += np.where(
        told, 0.0, np.clip(LEFT_ALONE * (ratio[:, -1] - TURNS_IDLE) / 0.1, 0.0, LEFT_ALONE)
    )
    return cost


def _held(there: BoolArray, samples: float) -> BoolArray:
    """Where it has been so for a count of samples before."""
    place = np.arange(len(there))
    last = np.maximum.accumulate(np.where(there, -1, place))
    return np.asarray(place - last > samples)
