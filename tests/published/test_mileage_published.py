"""The forecast of an odometer against printed tables of the F distribution."""

from __future__ import annotations

import math

import pytest

from bellhousing.work.mileage import MILE, STEADINESS, Habit


@pytest.mark.from_memory("NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.3")
@pytest.mark.parametrize(
    ("first", "second", "printed"),
    [(1, 10, 4.965), (2, 10, 4.103), (5, 10, 3.326), (10, 10, 2.978), (4, 20, 2.866), (8, 30, 2.266)],
)
def test_quantile_is_that_of_the_f_distribution(first: int, second: int, printed: float) -> None:
    """Upper 5 % points as in NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.3 (from memory).

    With D / (D + b) beta distributed by α t and a, D a / (b α t) is F distributed with 2 α t and 2 a degrees
    of freedom.
    """
    years, shape = first / 2.0 / STEADINESS, second / 2.0
    habit = Habit(shape, 1000.0 * MILE)
    f = habit.distance(years, 0.95) * shape / (habit.scale * STEADINESS * years)
    assert f == pytest.approx(printed, abs=6e-4)


@pytest.mark.beside("worked out another way")
def test_chance_and_quantile_undo_each_other() -> None:
    """A distance not exceeded with 30 in 100 is reached with 70 in 100, and so is its day."""
    habit = Habit(7.5, 4000.0 * MILE, 1.5, 3000.0 * MILE)
    distance = habit.distance(0.8, 0.3)
    assert habit.chance(distance, 0.8) == pytest.approx(0.7, abs=1e-9)
    assert habit.years_until(distance, 0.7) == pytest.approx(0.8, abs=1e-9)


@pytest.mark.beside("worked out another way")
def test_one_sided_case_in_closed_form() -> None:
    """With α t of one the chance is (b / (b + d))^a, the tail of a Pareto distribution of the second kind."""
    habit = Habit(3.0, 2000.0)
    assert habit.chance(500.0, 1.0 / STEADINESS) == pytest.approx(math.pow(0.8, 3.0), rel=1e-12)
