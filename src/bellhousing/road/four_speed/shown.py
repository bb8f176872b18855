"""Everything a four-speed car shows a mechanic, by finding."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.cars import Cars
from bellhousing.road.four_speed import driving, engaging, gauge
from bellhousing.road.four_speed.holding import capacities
from bellhousing.road.four_speed.timing import element_times
from bellhousing.road.holding import input_torque_held
from bellhousing.road.vehicle import Reference, Vehicle, with_reference

FloatArray = NDArray[np.float64]


def referenced(bare: Vehicle, middle: Cars) -> Vehicle:
    """The vehicle with what its middle sound car shows as the reference for feel."""
    spare = {gear: float(driving.spare_torque(middle, bare, gear)[0]) for gear in driving.INTO.values()}
    return with_reference(
        bare,
        Reference(
            line_idle=float(gauge.line_at_idle(middle, bare, "first")[0]),
            idle_speed=float(middle["engine.idle_speed"][0]),
            spare_first_second=spare["second"],
            spare_second_third=spare["third"],
            reverse_share=float(gauge.reverse_share(middle, bare)[0]),
            held_drive=_held_at_idle(middle, bare, "first"),
            held_reverse=_held_at_idle(middle, bare, "reverse"),
            spare_third_fourth=spare["fourth"],
            times={name: float(time[0]) for name, time in element_times(middle, bare).items()},
        ),
    )


def _held_at_idle(middle: Cars, bare: Vehicle, gear: str) -> float:
    held = capacities(middle, gauge.line_at_idle(middle, bare, gear))
    return float(input_torque_held(bare.gears[gear].drive, held)[0])


def readings(cars: Cars, car: Vehicle) -> dict[str, FloatArray]:
    """Every reading by finding [SI], inf = never."""
    return {**gauge.readings(cars, car), **engaging.readings(cars, car), **driving.readings(cars, car)}


def chances(cars: Cars, car: Vehicle, shown: dict[str, FloatArray]) -> dict[str, FloatArray]:
    """Chances of states by finding, states along the last axis."""
    return {
        **gauge.chances(cars, car),
        **engaging.chances(cars, car),
        **driving.chances(cars, car, shown),
    }
