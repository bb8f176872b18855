"""Cars driven in blocks, as the benchmark of drives has them, are the cars driven together."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from benchmarks.drives_apart import simulate_apart

from bellhousing.road.cars import draw_cars
from bellhousing.road.drive.manoeuvres import INTO_DRIVE, Manoeuvre, Phase
from bellhousing.road.drive.simulate import simulate
from tests.road.drive.drives import box_a


@pytest.mark.parametrize("block", [1, 2])
def test_blocks_of_cars_are_the_same_to_the_last_digit(block: int) -> None:
    """However they are parted, though one is there later than the others and one is less stiff."""
    box, car = box_a()
    cars = draw_cars(box, 3, np.random.default_rng(11))
    until = Manoeuvre("until", "Up to 6 mph.", (INTO_DRIVE, Phase("D", "medium", 4.0, above=6.0)))
    whole = simulate(box, cars, car, until)
    with ThreadPoolExecutor(1) as executor:
        apart = simulate_apart(executor, box, cars, car, until, block=block)
    assert apart.step == whole.step
    assert len(apart.time) == len(whole.time)
    for name in ("time", "speed", "engine", "line", "slip_heat", "phase"):
        assert np.array_equal(getattr(apart, name), getattr(whole, name))
    for number in range(len(cars)):
        assert apart.shifts(number) == whole.shifts(number)
