"""Box A's cars, sound and with faults, for the tests of the road."""

from __future__ import annotations

from functools import cache

import numpy as np

from bellhousing.boxes.load import load_box
from bellhousing.road.cars import Cars, draw_cars
from bellhousing.road.shown import Shown, show_cars, vehicle
from bellhousing.road.vehicle import Vehicle

COUNT = 100
PSI = 6894.757
MPH = 0.44704
INHG = 3386.389


@cache
def sound() -> tuple[Cars, Vehicle]:
    """A hundred sound cars."""
    box = load_box("box-a")
    return draw_cars(box, COUNT, np.random.default_rng(4)), vehicle(box, 3.08, 0.345, 0.0)


def changed(**values: float) -> Cars:
    """The same cars with parameters set; a double underscore stands for the dot in a name."""
    cars, _ = sound()
    return cars.with_values(
        {name.replace("__", "."): np.full(COUNT, value) for name, value in values.items()}
    )


def scaled(**factors: float) -> Cars:
    """The same cars with parameters multiplied."""
    cars, _ = sound()
    named = {name.replace("__", "."): factor for name, factor in factors.items()}
    return cars.with_values({name: cars[name] * factor for name, factor in named.items()})


def shows(cars: Cars) -> Shown:
    """What these cars show."""
    return show_cars(cars, sound()[1])
