"""Propagation against an independent calculator, and laws it must keep."""

from __future__ import annotations

import math

import GTC as gtc
import numpy as np
import pytest

from bellhousing.errors import QuantityError
from bellhousing.fits.uncertainty import Array, bounded, known, monte_carlo, propagate, repeated


def product(values: Array) -> Array:
    """A formula with a product, a quotient and a root."""
    return np.asarray(values[0] * values[1] / values[2] + np.sqrt(values[3]))


@pytest.mark.other_program("GUM Tree Calculator", code="fits.uncertainty.Budget.share")
def test_budget_agrees_with_an_independent_calculator() -> None:
    """Value, uncertainty and degrees of freedom."""
    figures = [(3.0, 0.02, 7.0), (5.0, 0.05, 4.0), (2.0, 0.03, 12.0), (9.0, 0.2, math.inf)]
    budget = propagate(product, [known(str(n), x, u, freedom=v) for n, (x, u, v) in enumerate(figures)])
    a, b, c, d = (gtc.ureal(x, u, v) for x, u, v in figures)
    wanted = a * b / c + gtc.sqrt(d)
    assert budget.value == pytest.approx(gtc.value(wanted), rel=1e-12)
    assert budget.standard_uncertainty == pytest.approx(gtc.uncertainty(wanted), rel=1e-4)
    assert budget.freedom == pytest.approx(gtc.dof(wanted), rel=1e-3)
    shares = [(gtc.component(wanted, one) / gtc.uncertainty(wanted)) ** 2 for one in (a, b, c, d)]
    assert [budget.share(line) for line in budget.components] == pytest.approx(shares, rel=1e-3)


def test_repeats_are_type_a() -> None:
    """s/√n with n - 1 degrees of freedom, as the calculator has it."""
    readings = [0.021, 0.022, 0.0205, 0.0215]
    found = repeated("play", readings)
    wanted = gtc.type_a.estimate(readings)
    assert (found.value, found.standard_uncertainty) == pytest.approx((wanted.x, wanted.u), rel=1e-12)
    assert (found.freedom, found.kind) == (3.0, "A")


@pytest.mark.parametrize(("shape", "divisor"), [("rectangular", 3.0), ("triangular", 6.0), ("arcsine", 2.0)])
def test_bounded_inputs_draw_as_they_say(shape: str, divisor: float) -> None:
    """Standard deviation a/√d, and nothing beyond the ends."""
    entry = bounded("x", 2.0, 0.3, shape)  # type: ignore[arg-type]
    drawn = monte_carlo(lambda values: values[0], [entry], draws=100_000)
    assert entry.standard_uncertainty == pytest.approx(0.3 / math.sqrt(divisor))
    assert drawn.standard_uncertainty == pytest.approx(entry.standard_uncertainty, rel=0.01)
    assert drawn.draws[0] >= 1.7
    assert drawn.draws[-1] <= 2.3


@pytest.mark.beside("the shortest interval of 95 in 100", code="fits.uncertainty.Drawn.share_between")
def test_monte_carlo_agrees_with_the_linear_law_where_it_holds() -> None:
    """Small spreads: the same value, spread and interval."""
    inputs = [known("a", 3.0, 0.003), known("b", 5.0, 0.005), known("c", 2.0, 0.002), known("d", 9.0, 0.01)]
    linear, drawn = propagate(product, inputs), monte_carlo(product, inputs, draws=200_000)
    assert drawn.value == pytest.approx(
        linear.value, abs=3 * linear.standard_uncertainty / math.sqrt(200_000)
    )
    assert drawn.standard_uncertainty == pytest.approx(linear.standard_uncertainty, rel=0.01)
    low, high = drawn.shortest(0.95)
    assert (high - low) / 2 == pytest.approx(linear.expanded(), rel=0.02)
    assert drawn.share_between(low, high) == pytest.approx(0.95, abs=1e-3)


def test_the_same_seed_draws_the_same() -> None:
    """Two runs agree to the last digit."""
    one, two = (monte_carlo(lambda v: v[0], [known("a", 0.0, 1.0)], draws=1000, seed=7) for _ in range(2))
    assert (one.draws == two.draws).all()


@pytest.mark.parametrize(("value", "width"), [(math.nan, 1.0), (1.0, -0.1), (1.0, math.inf)])
def test_what_is_no_figure_is_refused(value: float, width: float) -> None:
    """Neither NaN nor a negative or endless uncertainty."""
    with pytest.raises(QuantityError):
        known("x", value, width)


def test_one_reading_shows_no_spread() -> None:
    """It is refused as type A."""
    with pytest.raises(QuantityError, match="repeat it"):
        repeated("x", [1.0])
