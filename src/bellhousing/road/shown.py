"""Everything a car shows a mechanic, by finding: readings, and chances of states that physics decides."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.road import driving, engaging, gauge
from bellhousing.road.cars import Cars, middle_car
from bellhousing.road.four_speed import shown as four_speed
from bellhousing.road.holding import capacities, input_torque_held
from bellhousing.road.vehicle import Reference, Vehicle, bare_vehicle, with_reference


@dataclass(frozen=True)
class Shown:
    """Readings [SI] by finding, inf = never; chances of states by finding, states along the last axis."""

    readings: Mapping[str, NDArray[np.float32]]
    chances: Mapping[str, NDArray[np.float32]]


def vehicle(box: Box, axle_ratio: float, tyre_radius: float, altitude: float) -> Vehicle:
    """The box in its car, with what its middle sound car shows as the reference for feel.

    Raises
    ------
    BoxFileError : a number or gear train that is not known.
    """
    bare = bare_vehicle(box, axle_ratio, tyre_radius, altitude)
    middle = middle_car(box)
    if box.kind == FOUR_SPEED:
        return four_speed.referenced(bare, middle)
    line_idle = gauge.line_at_idle(middle, bare, "D1")
    return with_reference(
        bare,
        Reference(
            line_idle=float(line_idle[0]),
            idle_speed=float(middle["engine.idle_speed"][0]),
            spare_first_second=float(driving.spare_torque(middle, bare, "second")[0]),
            spare_second_third=float(driving.spare_torque(middle, bare, "third")[0]),
            reverse_share=float(gauge.reverse_share(middle, bare)[0]),
            held_drive=_held_at_idle(middle, bare, "first", "D1"),
            held_reverse=_held_at_idle(middle, bare, "reverse", "R"),
        ),
    )


def _held_at_idle(middle: Cars, bare: Vehicle, gear: str, circuit: str) -> float:
    held = capacities(middle, gauge.line_at_idle(middle, bare, circuit))
    return float(input_torque_held(bare.gears[gear].drive, held)[0])


def show_cars(cars: Cars, car: Vehicle) -> Shown:
    """What every one of these cars shows, (n,) per reading and (n, states) per finding with states."""
    if car.kind == FOUR_SPEED:
        readings = four_speed.readings(cars, car)
        chances = four_speed.chances(cars, car, readings)
    else:
        readings = {
            **gauge.readings(cars, car),
            **engaging.readings(cars, car),
            **driving.readings(cars, car),
        }
        chances = {
            **gauge.chances(cars, car),
            **engaging.chances(cars, car),
            **driving.chances(cars, car, readings),
        }
    return Shown(
        {name: np.asarray(value, dtype=np.float32) for name, value in readings.items()},
        {name: np.asarray(value, dtype=np.float32) for name, value in chances.items()},
    )
