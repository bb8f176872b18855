"""Engagement: how long N to D and N to R take, hot and cold, and how hard they bang."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from bellhousing.hydraulics.engagement import feed_flow, fill_time, filling_flow
from bellhousing.hydraulics.fluid import density
from bellhousing.hydraulics.regulator import line_target
from bellhousing.hydraulics.root import bracket_root
from bellhousing.road.cars import Cars
from bellhousing.road.filling import filling_of
from bellhousing.road.gauge import idle_signal, line_at_idle
from bellhousing.road.holding import capacities, input_torque_held, soft
from bellhousing.road.pressures import (
    COLD,
    HOT,
    charge_conductance,
    delivery,
    dynamic_viscosity,
    regulator_of,
    thinning,
)
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]

HAND = 0.1
"""Time of lever, manual valve and stopwatch before fluid moves [s]; common practice, no source."""

TAKE_UP = 0.25
"""Time in which a full clutch of the middle car stops the turbine at idle [s]; common practice, no source."""

LONGEST = 20.0
"""An engagement longer than this is 'never' [s]."""

STILL_DRAINED = 0.05
"""Share of an empty converter's delay still there a minute after the start; common practice, no source."""


def engagement_time(
    cars: Cars, car: Vehicle, selected: str, celsius: float, *, seal_leak: FloatArray | None = None
) -> FloatArray:
    """Time from N to drive or reverse at idle [s]; inf where it never comes.

    Filling, then taking up. What comes on by the box's chart fills together: in reverse mostly a clutch and a
    servo. `seal_leak` is what passes the lip of the clutch's piston at this temperature beside the box's own
    leakage [m³/s/Pa].
    """
    filled = filling_of(cars, cars.layout.coming("D1" if selected == "D" else "R"))
    target = line_target(regulator_of(cars), idle_signal(cars, car), selected)
    thin = thinning(cars, celsius)
    back = filled.back
    flow = filling_flow(
        target,
        delivery(cars, cars["engine.idle_speed"], starved=0.8),
        np.zeros(len(cars)),
        charge_conductance(cars),
        filled.diameter,
        density=density(cars["fluid.density_15"], celsius),
        viscosity=dynamic_viscosity(cars, celsius),
        pump_leakage=cars["pump.leakage"] * thin,
        return_pressure=back,
    )
    lip = np.zeros(len(cars)) if seal_leak is None else seal_leak
    leak = (filled.leakage * thin + lip) * back
    held = capacities(cars, line_at_idle(cars, car, "D1" if selected == "D" else "R"))
    takes = input_torque_held(car.gears["first" if selected == "D" else "reverse"].drive, held)
    usual = car.reference.held_drive if selected == "D" else car.reference.held_reverse
    if seal_leak is not None:
        takes = takes * _pressed(cars, filled.diameter, target, back, lip, celsius)
    # The turbine's momentum is fixed, so the time to stop it goes as one over the torque that stops it.
    time = (
        HAND + fill_time(filled.volume, flow, leak=leak) + TAKE_UP * usual / np.maximum(takes, 1e-3 * usual)
    )
    return np.where(time > LONGEST, np.inf, time)


def _pressed(
    cars: Cars, feed: FloatArray, line: FloatArray, back: FloatArray, leak: FloatArray, celsius: float
) -> FloatArray:
    """Share of its force left to a full clutch past whose lip fluid goes: feed and leak balance [-]."""
    rho = density(cars["fluid.density_15"], celsius)
    mu = dynamic_viscosity(cars, celsius)

    def spare(pressure: FloatArray) -> FloatArray:
        fed = feed_flow(feed, line - pressure, rho, mu)
        return np.asarray(fed - leak * pressure)

    left = bracket_root(spare, np.zeros(len(cars)), line)
    left = np.where(leak > 0.0, left, line)
    return np.asarray(np.clip((left - back) / np.maximum(line - back, 1.0), 0.0, 1.0))


def readings(
    cars: Cars, car: Vehicle, *, cold_seals: Mapping[str, FloatArray] | None = None
) -> dict[str, FloatArray]:
    """Engagement times by finding [s]; `cold_seals`: what passes the lips of clutches cold [m³/s/Pa]."""
    seals = cold_seals or {}
    ahead, back = (filling_of(cars, cars.layout.coming(circuit)).lead for circuit in ("D1", "R"))
    stiff, stiff_back = cars.get(f"{ahead}.cold_delay"), cars.get(f"{back}.cold_delay")
    cold_drive = engagement_time(cars, car, "D", COLD, seal_leak=seals.get(ahead)) + stiff
    cold_reverse = engagement_time(cars, car, "R", COLD, seal_leak=seals.get(back)) + stiff_back
    drained = cars["converter.drained"]
    return {
        "engagement-drive-hot": engagement_time(cars, car, "D", HOT) + 0.12 * stiff,
        "engagement-reverse-hot": engagement_time(cars, car, "R", HOT),
        "first-engagement-drive-cold": cold_drive + drained,
        "second-engagement-drive-cold": 0.8 * cold_drive + STILL_DRAINED * drained,
        "first-engagement-reverse-cold": cold_reverse + 0.3 * drained,
    }


def chances(cars: Cars, car: Vehicle) -> dict[str, FloatArray]:
    """Soft, firm or bang at a hot idle."""
    return {"engagement-harshness": harshness(cars, car, line_at_idle(cars, car, "D1"))}


def harshness(cars: Cars, car: Vehicle, idle_line: FloatArray) -> FloatArray:
    """Soft, firm or bang: from line pressure [Pa] and idle speed against the middle sound car.

    The weights and thresholds of feel are common practice, no source.
    """
    line_share = np.log(np.maximum(idle_line, 1.0) / car.reference.line_idle)
    idle_share = np.log(cars["engine.idle_speed"] / car.reference.idle_speed)
    hardness = line_share + 1.6 * idle_share
    firm, bang = soft((hardness - 0.3) / 0.07), soft((hardness - 0.62) / 0.09)
    bang = np.minimum(bang, firm)
    return np.stack([1.0 - firm, firm - bang, bang], axis=1)
