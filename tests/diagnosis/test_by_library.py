"""Parts of the diagnosis against libraries, and a small sum of prices."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import entropy, norm

from bellhousing.diagnosis.further_tests import FurtherTests
from bellhousing.diagnosis.information import mutual_information_of_tests
from bellhousing.diagnosis.leak_levels import Level
from bellhousing.diagnosis.look_ahead import Worth


@pytest.mark.other_program(
    "scipy, relative entropy", code="diagnosis.information.mutual_information_of_tests"
)
def test_information_of_tests_side_by_side_by_a_library() -> None:
    """Three tests of two, three and four outcomes about five rows: each against rows times columns."""
    rng = np.random.default_rng(3)
    rows = rng.dirichlet(np.ones(5))
    tables = [rows[:, None] * rng.dirichlet(np.full(states, 0.5), 5) for states in (2, 3, 4)]
    found = mutual_information_of_tests(np.concatenate(tables, axis=1), [0, 2, 5])
    alone = [np.outer(table.sum(axis=1), table.sum(axis=0)) for table in tables]
    bits = [entropy(t.ravel(), a.ravel(), base=2) for t, a in zip(tables, alone, strict=True)]
    assert found == pytest.approx(bits, rel=1e-6)


@pytest.mark.other_program("scipy, the normal distribution", code="diagnosis.leak_levels.Level.covers")
@pytest.mark.parametrize("height", [0.0, 0.018, 0.02, 0.03])
def test_chance_under_the_fluid_by_a_library(height: float) -> None:
    """A level known to 6 mm and a place known to 3 mm."""
    covered = Level(0.02, 0.006).covers(height, 0.003)
    assert covered == pytest.approx(norm.cdf(0.02, height, math.hypot(0.006, 0.003)), rel=1e-9)


@pytest.mark.beside("added up by hand", code="diagnosis.further_tests.FurtherTests.hours")
def test_hours_of_testing_added_up() -> None:
    """A quarter, half and one hour pay, and knowing all would save 1.2: a quarter to 1.2 hours."""
    paying = tuple(
        Worth(name, 2.0 * costs, costs, 0.3) for name, costs in zip("abc", (0.25, 0.5, 1.0), strict=True)
    )
    assert FurtherTests(paying, 1.2).hours == pytest.approx((0.25, 1.2))
    assert FurtherTests(paying, 9.0).hours == pytest.approx((0.25, 1.75))
