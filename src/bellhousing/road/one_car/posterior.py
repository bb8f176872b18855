"""The posterior of a fit by draws, where rows are kinked in the parameters."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.least_squares import LeastSquares

FloatArray = NDArray[np.float64]

STRAIGHTENED, REGRESSED = 5, 400
"""How often the rows are made straight over the posterior, and by how many draws."""

DRAWS, PASSES, WIDER, ENOUGH = 2000, 3, 1.1, 5
"""Draws that weigh the posterior, how often, how much wider than its normal they are drawn, and how many must
bear the weight for each parameter."""


@dataclass(frozen=True)
class Posterior:
    """Middle and covariance of the parameters, and how good the last draws were."""

    middle: FloatArray
    covariance: FloatArray
    share: float


def weighted(found: LeastSquares, residuals: Callable[[FloatArray], FloatArray]) -> Posterior:
    """Middle and covariance of the posterior by draws.

    Valves have stops, so rows are kinked in the parameters and the derivatives at the minimum say too little.
    The rows are made straight over the whole spread of the posterior instead, by regression on draws of it,
    again and again; then draws weighted by exact posterior over density correct it, as far as enough of them
    bear the weight. Sources: A. F. Garcia-Fernandez, L. Svensson, M. R. Morelande and S. Sarkka, Posterior
    linearization filter, IEEE Trans. Signal Process. 63, 2015; M.-S. Oh and J. O. Berger, Adaptive importance
    sampling, J. Statist. Comput. Simul. 41, 1992 (both from memory).
    """
    rng = np.random.default_rng(9)
    best = Posterior(found.parameters, found.covariance(), 0.0)
    for _ in range(STRAIGHTENED):
        best = _straightened(best, residuals, rng)
    for _ in range(PASSES):
        e = rng.standard_normal((DRAWS, len(best.middle)))
        z = best.middle + WIDER * e @ root_of(best.covariance).T
        apart = residuals(z)
        ln_weight = -0.5 * (apart * apart).sum(axis=1) + 0.5 * (e * e).sum(axis=1)
        weight = np.exp(ln_weight - ln_weight.max())
        weight /= weight.sum()
        share = float(1.0 / (weight @ weight) / DRAWS)
        if share * DRAWS < ENOUGH * len(best.middle):
            break
        middle = weight @ z
        moved = z - middle
        best = Posterior(middle, (weight[:, None] * moved).T @ moved, share)
    return best


def _straightened(
    now: Posterior, residuals: Callable[[FloatArray], FloatArray], rng: np.random.Generator
) -> Posterior:
    """One step: regress the rows on draws, what the line leaves counting as their error, and fit again."""
    count = len(now.middle)
    z = now.middle + rng.standard_normal((REGRESSED, count)) @ root_of(now.covariance).T
    apart = residuals(z)[:, :-count]
    moved, shown = z - z.mean(axis=0), apart - apart.mean(axis=0)
    slope = np.linalg.lstsq(moved, shown, rcond=None)[0].T
    left = shown - moved @ slope.T
    error = 1.0 + (left**2).sum(axis=0) / max(REGRESSED - count, 1)
    constant = apart.mean(axis=0) - slope @ z.mean(axis=0)
    gain = np.linalg.solve(slope @ slope.T + np.diag(error), slope).T
    return Posterior(-gain @ constant, np.eye(count) - gain @ slope, 0.0)


def root_of(covariance: FloatArray) -> FloatArray:
    """A matrix R with R Rᵀ the covariance, by its eigenvectors; what noise made negative counts as nought."""
    values, vectors = np.linalg.eigh(covariance)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)))
