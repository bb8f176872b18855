"""The vectorised bracketing against an independent one and against itself."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from bellhousing.hydraulics.root import bracket_root

RNG = np.random.default_rng(7)


def test_agrees_with_another_solver_sample_by_sample() -> None:
    """Cubic, exponential and kinked functions, 200 samples each."""
    a, b = RNG.uniform(0.1, 5.0, 200), RNG.uniform(-3.0, 3.0, 200)
    shapes: list[Callable[[Any, Any, Any], Any]] = [
        lambda a, b, x: a * x**3 + x - b,
        lambda a, b, x: np.expm1(a * (x - b)),
        lambda a, b, x: np.minimum(a * (x - b), 0.1 * (x - b)),
    ]
    for shape in shapes:
        found = bracket_root(partial(shape, a, b), np.full(200, -10.0), 10.0)
        for i in range(200):
            other = brentq(partial(shape, a[i], b[i]), -10.0, 10.0, xtol=1e-14, rtol=1e-14)
            assert found[i] == pytest.approx(other, rel=1e-9, abs=1e-12)


def test_root_does_not_depend_on_the_bracket() -> None:
    """Six brackets about the same roots give the same roots."""
    b = RNG.uniform(0.5, 30.0, 50)
    roots = [
        bracket_root(lambda x: x * np.abs(x) - b, np.full(50, low), high)
        for low, high in ((0.0, 40.0), (0.1, 6.0), (-5.0, 60.0), (0.0, 1e3), (0.5, 5.6), (-1e4, 1e4))
    ]
    for root in roots:
        np.testing.assert_allclose(root, np.sqrt(b), rtol=1e-9)


def test_no_change_of_sign_is_nan_and_leaves_the_others_alone() -> None:
    """One sample without a root between two with one."""
    root = bracket_root(lambda x: x - np.array([1.0, 9.0, 2.0]), np.zeros(3), 5.0)
    np.testing.assert_allclose(root, [1.0, np.nan, 2.0], rtol=1e-12)


def test_root_at_an_end_of_the_bracket() -> None:
    """Both ends are looked at before anything else."""
    root = bracket_root(lambda x: x - np.array([0.0, 5.0]), np.zeros(2), 5.0)
    assert root.tolist() == [0.0, 5.0]


def test_not_a_number_is_not_a_root() -> None:
    """A sample whose function is nan has no root."""
    root = bracket_root(lambda x: x - np.array([1.0, np.nan]), np.zeros(2), 5.0)
    assert np.isnan(root[1])
    assert root[0] == pytest.approx(1.0)


def test_tolerance_is_kept_and_running_out_of_steps_is_an_error() -> None:
    """A loose tolerance stops early, within itself; too few steps raise."""

    def f(x: np.ndarray) -> np.ndarray:
        return np.asarray(np.exp(x) - 7.0)

    assert bracket_root(f, np.array([0.0]), 50.0, tol=1e-3)[0] == pytest.approx(np.log(7.0), rel=1e-3)
    with pytest.raises(ArithmeticError, match="still open"):
        bracket_root(f, np.array([0.0]), 50.0, max_steps=2)
