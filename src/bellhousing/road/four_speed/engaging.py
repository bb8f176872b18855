"""Engagement of a four-speed: how long N to D and N to R take, hot and cold, and how hard they bang."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bellhousing.hydraulics.engagement import fill_time, filling_flow
from bellhousing.hydraulics.fluid import density
from bellhousing.hydraulics.regulator import line_target
from bellhousing.road.cars import Cars
from bellhousing.road.engaging import HAND, LONGEST, STILL_DRAINED, TAKE_UP, harshness
from bellhousing.road.four_speed.gauge import line_at_idle
from bellhousing.road.four_speed.holding import BANDS, capacities
from bellhousing.road.four_speed.pressures import throttle_pressure
from bellhousing.road.holding import SERVO_FEED, input_torque_held
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

ANCHOR_VOLUME = 25e-6
"""Fluid that puts the reverse anchor on [m³]; common practice, no source."""


def engagement_time(cars: Cars, car: Vehicle, selected: str, celsius: float) -> FloatArray:
    """Time from N to drive or reverse at idle [s]; inf where it never comes: filling, then taking up."""
    gear = "first" if selected == "D" else "reverse"
    held = input_torque_held(car.gears[gear].drive, capacities(cars, line_at_idle(cars, car, gear)))
    usual = car.reference.held_drive if selected == "D" else car.reference.held_reverse
    taking_up = TAKE_UP * usual / np.maximum(held, 1e-3 * usual)
    time = HAND + filling_time(cars, car, selected, celsius) + taking_up
    return np.where(time > LONGEST, np.inf, time)


def filling_time(cars: Cars, car: Vehicle, selected: str, celsius: float) -> FloatArray:
    """Time in which the servos that drive or reverse puts on fill at idle [s]; inf where they never do.

    All that the chart applies fill together, each through its own feed.
    """
    gear = "first" if selected == "D" else "reverse"
    servos = [name for name in car.gears[gear].applied if name in BANDS]
    anchored = "reverse_anchor" in car.gears[gear].applied
    volume = sum((cars[f"{n}.apply_volume"] * cars[f"{n}.clearance"] for n in servos), np.zeros(len(cars)))
    volume = volume + (ANCHOR_VOLUME if anchored else 0.0)
    thin = thinning(cars, celsius)
    back = np.max([cars[f"{n}.return_force"] / cars[f"{n}.piston_area"] for n in servos], axis=0)
    flow = filling_flow(
        line_target(regulator_of(cars), throttle_pressure(cars, 0.0), selected),
        delivery(cars, cars["engine.idle_speed"], starved=0.8),
        np.zeros(len(cars)),
        charge_conductance(cars, "coupling"),
        SERVO_FEED * np.sqrt(len(servos) + anchored),
        density=density(cars["fluid.density_15"], celsius),
        viscosity=dynamic_viscosity(cars, celsius),
        pump_leakage=cars["pump.leakage"] * thin,
        return_pressure=back,
    )
    leak = sum((cars[f"{n}.leakage"] for n in servos), np.zeros(len(cars))) * thin * back
    return fill_time(volume, flow, leak=leak)


def readings(cars: Cars, car: Vehicle) -> dict[str, FloatArray]:
    """Engagement times by finding [s]."""
    stiff = {
        gear: sum((cars[f"{n}.cold_delay"] for n in car.gears[gear].applied if n in BANDS), 0.0)
        for gear in ("first", "reverse")
    }
    cold_drive = engagement_time(cars, car, "D", COLD) + stiff["first"]
    cold_reverse = engagement_time(cars, car, "R", COLD) + stiff["reverse"]
    drained = cars["coupling.drained"]
    return {
        "engagement-drive-hot": engagement_time(cars, car, "D", HOT) + 0.12 * stiff["first"],
        "engagement-reverse-hot": engagement_time(cars, car, "R", HOT) + 0.12 * stiff["reverse"],
        "first-engagement-drive-cold": cold_drive + drained,
        "second-engagement-drive-cold": 0.8 * cold_drive + STILL_DRAINED * drained,
        "first-engagement-reverse-cold": cold_reverse + 0.3 * drained,
    }


def chances(cars: Cars, car: Vehicle) -> dict[str, FloatArray]:
    """Soft, firm or bang at a hot idle, as on the three-speed."""
    return {"engagement-harshness": harshness(cars, car, line_at_idle(cars, car, "first"))}
