"""How fast many cars are driven."""

from __future__ import annotations

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from bellhousing.road.cars import draw_cars
from bellhousing.road.drive.manoeuvres import INTO_DRIVE, REST, Manoeuvre, Phase
from bellhousing.road.drive.simulate import simulate
from tests.road.drive.drives import box_a

MINUTE = Manoeuvre(
    "minute", "Sixty seconds at medium throttle.", (REST, INTO_DRIVE, Phase("D", "medium", 55.0))
)


@pytest.mark.bench
def test_a_thousand_cars_for_a_minute(benchmark: BenchmarkFixture) -> None:
    """Six thousand steps of 10 ms on a thousand cars."""
    box, car = box_a()
    cars = draw_cars(box, 1000, np.random.default_rng(1))
    made = benchmark(lambda: simulate(box, cars, car, MINUTE))
    assert made.cars == 1000
    assert made.time[-1] == pytest.approx(60.0)
    assert made.step == 0.01


@pytest.mark.bench
def test_the_same_minute_for_one_car(benchmark: BenchmarkFixture) -> None:
    """Its pair: a thousand cars take little longer than one, as nothing loops over cars."""
    box, car = box_a()
    one = draw_cars(box, 1, np.random.default_rng(1))
    made = benchmark(lambda: simulate(box, one, car, MINUTE))
    assert made.cars == 1


def test_what_one_car_does_does_not_depend_on_the_others() -> None:
    """The same car alone and among forty."""
    box, car = box_a()
    cars = draw_cars(box, 40, np.random.default_rng(11))
    short = Manoeuvre("short", "Eight seconds.", (REST, INTO_DRIVE, Phase("D", "medium", 8.0)))
    alone = simulate(box, cars.take(np.array([7])), car, short)
    among = simulate(box, cars, car, short)
    assert among.speed[:, 7] == pytest.approx(alone.speed[:, 0], rel=1e-12)
    assert among.engine[:, 7] == pytest.approx(alone.engine[:, 0], rel=1e-12)
