"""Nonlinear least squares: the Levenberg-Marquardt method, all trial points of a step at once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

STEP = 6e-6
"""Central-difference step relative to a parameter, about the cube root of the rounding unit [-]."""

MOST_STEPS = 400


@dataclass(frozen=True)
class LeastSquares:
    """The parameters of least squared residuals, with the residuals and their derivatives there."""

    parameters: FloatArray  # (p,)
    residuals: FloatArray  # (m,)
    jacobian: FloatArray  # (m, p)
    steps: int

    @property
    def sum_of_squares(self) -> float:
        """Sum of squared residuals."""
        return float(self.residuals @ self.residuals)

    def covariance(self) -> FloatArray:
        """Covariance of the parameters where each residual has a standard deviation of one, (JᵀJ)⁻¹.

        Source: G. A. F. Seber and C. J. Wild, Nonlinear Regression, 1989, section 2.1.2 (from memory).
        """
        scale = np.linalg.norm(self.jacobian, axis=0)
        scaled = self.jacobian / scale
        return np.asarray(np.linalg.pinv(scaled.T @ scaled, hermitian=True) / np.outer(scale, scale))


def least_squares(
    residuals: Callable[[FloatArray], FloatArray],
    start: FloatArray,
    *,
    size: FloatArray | None = None,
    tolerance: float = 1e-10,
) -> LeastSquares:
    """Minimise the sum of squares of residuals(x) from a starting point.

    Each step solves (JᵀJ + λ D²) δ = -Jᵀ r, D being the greatest column norms of J so far, and λ follows how
    well the last step was foretold.

    Parameters
    ----------
    residuals : takes parameter vectors (k, p), returns their residuals (k, m)
    start : parameters to start from (p,)
    size : what counts as a small parameter, for the differences; default the start's own size (p,)
    tolerance : relative change of parameters or sum of squares at which it stops [-]

    Raises
    ------
    ArithmeticError : the residuals at the start are not numbers, or the steps do not settle

    Source: J. J. Moré, The Levenberg-Marquardt algorithm, Lecture Notes in Mathematics 630, 1978,
    pp. 105-116, with the update of λ by H. B. Nielsen, IMM-REP-1999-05 (both from memory).
    """
    x = np.asarray(start, dtype=np.float64)
    small = np.maximum(np.abs(x), 1e-12) if size is None else np.asarray(size, dtype=np.float64)
    r = residuals(x[None])[0]
    if not np.isfinite(r).all():
        raise ArithmeticError("the residuals at the start are not numbers")
    jacobian = _derivatives(residuals, x, small)
    norms = np.linalg.norm(jacobian, axis=0)
    damping, growth = 1e-3, 2.0
    for step in range(MOST_STEPS):
        norms = np.maximum(norms, np.linalg.norm(jacobian, axis=0))
        weights = np.where(norms > 0.0, norms, 1.0)
        change = _step(jacobian, r, weights, damping)
        trial = x + change
        tried = residuals(trial[None])[0]
        cost = float(r @ r)
        won = cost - float(tried @ tried) if np.isfinite(tried).all() else -np.inf
        foretold = float(change @ (damping * weights**2 * change - jacobian.T @ r))
        settled = bool(np.all(np.abs(change) <= tolerance * np.maximum(np.abs(x), small)))
        if won > 0.0:
            x, r = trial, tried
            jacobian = _derivatives(residuals, x, small)
            damping *= max(1.0 / 3.0, 1.0 - (2.0 * won / foretold - 1.0) ** 3)
            growth = 2.0
            settled |= won <= tolerance**2 * cost
        else:
            damping, growth = damping * growth, growth * 2.0
        if settled or foretold <= 1e-16 * cost:
            return LeastSquares(x, r, jacobian, step + 1)
    raise ArithmeticError(f"the fit has not settled after {MOST_STEPS} steps")


def _step(jacobian: FloatArray, r: FloatArray, weights: FloatArray, damping: float) -> FloatArray:
    stacked = np.concatenate([jacobian, np.diag(np.sqrt(damping) * weights)])
    right = np.concatenate([-r, np.zeros(len(weights))])
    return np.asarray(np.linalg.lstsq(stacked, right, rcond=None)[0])


def _derivatives(
    residuals: Callable[[FloatArray], FloatArray], x: FloatArray, small: FloatArray
) -> FloatArray:
    h = STEP * np.maximum(np.abs(x), small)
    moved = np.concatenate([x + np.diag(h), x - np.diag(h)])
    shown = residuals(moved)
    return np.asarray((shown[: len(x)] - shown[len(x) :]).T / (2.0 * h))
