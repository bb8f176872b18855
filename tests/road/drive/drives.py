"""Box A's cars and drives, for the tests of simulated driving."""

from __future__ import annotations

from functools import cache

import numpy as np

from bellhousing.boxes.box import Box
from bellhousing.boxes.load import load_box
from bellhousing.road.cars import Cars, draw_cars, middle_car
from bellhousing.road.drive.drive import Drive
from bellhousing.road.drive.manoeuvres import Manoeuvre, manoeuvre
from bellhousing.road.drive.simulate import simulate
from bellhousing.road.shown import vehicle
from bellhousing.road.vehicle import Vehicle

MPH = 0.44704
RPM = np.pi / 30.0
INHG = 3386.389
PSI = 6894.757


@cache
def box_a() -> tuple[Box, Vehicle]:
    """Box A in a car with an axle of 3.08."""
    box = load_box("box-a")
    return box, vehicle(box, 3.08, 0.345, 0.0)


def middle(**values: float) -> Cars:
    """The middle car with parameters set; a double underscore stands for the dot in a name."""
    cars = middle_car(box_a()[0])
    return cars.with_values({name.replace("__", "."): np.array([value]) for name, value in values.items()})


@cache
def some(count: int = 40) -> Cars:
    """Sound cars."""
    return draw_cars(box_a()[0], count, np.random.default_rng(11))


def drive(cars: Cars, what: str | Manoeuvre, *, step: float = 0.01, record: float = 0.1) -> Drive:
    """Cars driven through a manoeuvre."""
    box, car = box_a()
    plan = manoeuvre(what) if isinstance(what, str) else what
    return simulate(box, cars, car, plan, step=step, record=record)
