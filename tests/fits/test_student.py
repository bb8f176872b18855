"""Student's distribution against an independent library."""

from __future__ import annotations

import math

import pytest
from scipy import special, stats

from bellhousing.fits.student import coverage_factor, incomplete_beta, student_cdf


@pytest.mark.parametrize("freedom", [1.0, 2.0, 3.7, 16.75, 120.0, 5000.0])
@pytest.mark.parametrize("t", [-8.0, -1.3, 0.0, 0.4, 2.92, 30.0])
def test_distribution(freedom: float, t: float) -> None:
    """The probability agrees to twelve digits."""
    assert student_cdf(t, freedom) == pytest.approx(float(stats.t.cdf(t, freedom)), rel=1e-11, abs=1e-14)


@pytest.mark.parametrize("freedom", [1.0, 2.5, 9.0, 44.0])
@pytest.mark.parametrize("probability", [0.5, 0.68, 0.95, 0.99, 0.999])
def test_coverage(freedom: float, probability: float) -> None:
    """The factor is the distribution's two-sided quantile."""
    wanted = float(stats.t.ppf(0.5 + probability / 2, freedom))
    assert coverage_factor(probability, freedom) == pytest.approx(wanted, rel=1e-10)


def test_without_end_it_is_the_normal_one() -> None:
    """Infinite degrees of freedom give 1.96 for 95 in 100."""
    assert coverage_factor(0.95) == pytest.approx(1.959964, abs=1e-6)
    assert student_cdf(1.0, math.inf) == pytest.approx(0.8413447, abs=1e-7)


@pytest.mark.parametrize(("a", "b"), [(0.5, 0.5), (2.0, 3.5), (60.0, 0.5)])
def test_incomplete_beta(a: float, b: float) -> None:
    """It agrees everywhere between its ends, where it is 0 and 1."""
    for x in (0.0, 1e-6, 0.2, 0.5, 0.9, 1.0 - 1e-6, 1.0):
        assert incomplete_beta(x, a, b) == pytest.approx(
            float(special.betainc(a, b, x)), rel=1e-10, abs=1e-15
        )
