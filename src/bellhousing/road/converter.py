"""Three-element converter: torque ratio and capacity over speed ratio, and the stall speed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.cars import Cars
from bellhousing.road.engine import FALL_OFF

FloatArray = NDArray[np.float64]

FREE_STATOR_CAPACITY = 0.70
"""Capacity factor with a stator that turns freely, relative to a sound one; common practice, no source."""

SPEED_RATIOS = np.linspace(0.0, 0.96, 17)


def torque_ratio(stall_ratio: FloatArray, coupling_point: FloatArray, speed_ratio: FloatArray) -> FloatArray:
    """Turbine over pump torque, falling linearly from stall to 1 at the coupling point [-].

    The straight line is how the trade draws it (common practice, no source).
    """
    return np.maximum(1.0, stall_ratio - (stall_ratio - 1.0) * speed_ratio / coupling_point)


def capacity_factor(stall_factor: FloatArray, speed_ratio: FloatArray) -> FloatArray:
    """K = N / sqrt(T) [rad/s per sqrt(N m)], growing without bound as the turbine catches up."""
    return np.asarray(stall_factor / np.sqrt(np.maximum(1e-3, 1.0 - speed_ratio**4)))


def engine_speed_on_converter(
    peak_torque: FloatArray, peak_speed: FloatArray, capacity: FloatArray
) -> FloatArray:
    """Engine speed [rad/s] where the full-throttle curve meets T = (w / K)^2: root of a quadratic."""
    square = 1.0 / capacity**2 + FALL_OFF * peak_torque / peak_speed**2
    linear = FALL_OFF * peak_torque / peak_speed
    constant = peak_torque * (1.0 - FALL_OFF)
    return np.asarray((linear + np.sqrt(linear**2 + square * constant)) / square)


def stall_speed(cars: Cars, holds: FloatArray) -> FloatArray:
    """Engine speed at full throttle against the brakes [rad/s]; `holds`: turbine torque the box holds [N m].

    Where the holding elements carry less than the turbine gives, the turbine turns until its torque has
    fallen to what they hold, and the engine runs up.
    """
    free = cars["stator.holds"] < 0.5
    factor = cars["converter.capacity_factor"] * np.where(free, FREE_STATOR_CAPACITY, 1.0)
    ratio = np.where(free, 1.0, cars["converter.stall_torque_ratio"])
    return _stalled(cars, holds, factor, ratio, cars["converter.coupling_point"])


def coupling_stall_speed(cars: Cars, holds: FloatArray, driven: float) -> FloatArray:
    """Engine speed at full throttle against the brakes [rad/s] with a coupling behind a gear unit.

    The coupling's input turns at `driven` times the engine's speed and bears 1/`driven` times its torque:
    T_e / d = (d w_e / K)², so seen from the engine it is one of size K / d^1.5. `holds` is the engine torque
    that bands and clutches hold [N m].
    """
    factor = cars["coupling.capacity_factor"] / driven**1.5 / np.sqrt(np.maximum(cars["coupling.fill"], 1e-3))
    return _stalled(cars, holds, factor, np.ones(len(cars)), np.full(len(cars), 0.9))


def _stalled(
    cars: Cars, holds: FloatArray, factor: FloatArray, ratio: FloatArray, coupling_point: FloatArray
) -> FloatArray:
    torque = (cars["engine.peak_torque"] * cars["engine.torque_share"])[:, None]
    capacity = capacity_factor(factor[:, None], SPEED_RATIOS)
    speeds = engine_speed_on_converter(torque, cars["engine.peak_speed"][:, None], capacity)
    turbine = torque_ratio(ratio[:, None], coupling_point[:, None], SPEED_RATIOS) * (speeds / capacity) ** 2
    too_much = (turbine > holds[:, None]).sum(axis=1)
    at = np.clip(too_much, 1, len(SPEED_RATIOS) - 1)
    row = np.arange(len(at))
    above, below = turbine[row, at - 1], turbine[row, at]
    share = np.clip((above - holds) / np.maximum(above - below, 1e-9), 0.0, 1.0)
    share = np.where(too_much == 0, 0.0, share)
    return np.asarray(speeds[row, at - 1] + share * (speeds[row, at] - speeds[row, at - 1]))
