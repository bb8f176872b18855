"""Cars of both boxes and their drives, for the tests of simulated driving."""

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
    """Cars of box A driven through a manoeuvre."""
    return driven(box_a(), cars, what, step=step, record=record)


@cache
def box_b() -> tuple[Box, Vehicle]:
    """Box B in the same car."""
    box = load_box("box-b")
    return box, vehicle(box, 3.08, 0.345, 0.0)


def middle_b(**values: float | list[float]) -> Cars:
    """Middle cars of box B with parameters set, as `middle`; as many as the longest list."""
    changed = {name.replace("__", "."): np.atleast_1d(np.array(value)) for name, value in values.items()}
    count = max((len(one) for one in changed.values()), default=1)
    cars = middle_car(box_b()[0]).take(np.zeros(count, dtype=np.intp))
    return cars.with_values({name: one * np.ones(count) for name, one in changed.items()})


@cache
def some_b(count: int = 20) -> Cars:
    """Sound cars of box B."""
    return draw_cars(box_b()[0], count, np.random.default_rng(12))


def drive_b(cars: Cars, what: str | Manoeuvre, *, step: float = 0.01, record: float = 0.1) -> Drive:
    """Cars of box B driven through a manoeuvre."""
    return driven(box_b(), cars, what, step=step, record=record)


def driven(
    what_box: tuple[Box, Vehicle], cars: Cars, what: str | Manoeuvre, *, step: float, record: float
) -> Drive:
    """Cars driven through a manoeuvre."""
    box, car = what_box
    plan = manoeuvre(what) if isinstance(what, str) else what
    return simulate(box, cars, car, plan, step=step, record=record)


def first_shift(made: Drive, name: str, car: int) -> tuple[float, float, float] | None:
    """Road speed [mph], acceleration [mph/s] and vacuum [Pa] at the first shift of this name."""
    for shift in made.shifts(car):
        if shift.name == name:
            speed = made.at(car, shift.time) / MPH
            gained = (made.at(car, shift.time) - made.at(car, shift.time - 0.3)) / 0.3 / MPH
            return speed, gained, made.at(car, shift.time, "vacuum")
    return None
