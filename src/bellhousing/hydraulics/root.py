"""One bracketed root per sample, all samples at once."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from bellhousing.hydraulics.arrays import Array, Values

_SMALLEST = 1e-300


def bracket_root(
    f: Callable[[Array], Array], low: Values, high: Values, tol: float = 1e-9, max_steps: int = 200
) -> Array:
    """Find x in [low, high] with f(x) = 0 for every sample, by Chandrupatla's bracketing.

    Each step is inverse quadratic interpolation where that is safe and bisection where it is not,
    so the bracket always shrinks; it stops when the bracket is no wider than `tol` times |x|.

    Parameters
    ----------
    f : takes and returns one array of the broadcast shape of `low` and `high`
    low, high : ends of the bracket, in the unit of x
    tol : relative tolerance on x [-]
    max_steps : evaluations of f after the two ends

    Returns
    -------
    root per sample; nan where f has no change of sign over the bracket or is not a number

    Raises
    ------
    ArithmeticError : the bracket has not closed within `max_steps`

    Source: T. R. Chandrupatla, Advances in Engineering Software 28(3), 1997, pp. 145-149.
    """
    ends = np.broadcast_arrays(np.asarray(low, dtype=np.float64), np.asarray(high, dtype=np.float64))
    x1, x2 = np.array(ends[0]), np.array(ends[1])
    f1, f2 = np.asarray(f(x1), dtype=np.float64), np.asarray(f(x2), dtype=np.float64)
    root = np.where(f1 == 0.0, x1, np.where(f2 == 0.0, x2, np.nan))
    waiting = np.sign(f1) * np.sign(f2) < 0.0
    t = np.full(x1.shape, 0.5)
    for _ in range(max_steps):
        if not waiting.any():
            return root
        x = x1 + t * (x2 - x1)
        fx = np.asarray(f(x), dtype=np.float64)
        same = np.sign(fx) == np.sign(f1)
        x3, f3 = np.where(same, x1, x2), np.where(same, f1, f2)
        x2, f2 = np.where(same, x2, x1), np.where(same, f2, f1)
        x1, f1 = x, fx
        best = np.where(np.abs(f1) < np.abs(f2), x1, x2)
        width = np.abs(x2 - x1)
        with np.errstate(divide="ignore", invalid="ignore"):
            share = (0.5 * tol * np.abs(best) + _SMALLEST) / width
        closed = waiting & ((f1 == 0.0) | (f2 == 0.0) | ~(share < 0.5))
        root = np.where(closed, best, root)
        waiting = waiting & ~closed
        t = _next_fraction(x1, f1, x2, f2, x3, f3, share)
    if waiting.any():
        raise ArithmeticError(f"{int(waiting.sum())} brackets are still open after {max_steps} steps")
    return root


def _next_fraction(x1: Array, f1: Array, x2: Array, f2: Array, x3: Array, f3: Array, share: Array) -> Array:
    """Fraction of the bracket for the next trial: interpolated inside the safe region, else one half."""
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        xi = (x1 - x2) / (x3 - x2)
        phi = (f1 - f2) / (f3 - f2)
        safe = (phi * phi < xi) & ((1.0 - phi) ** 2 < 1.0 - xi)
        guess = f1 / (f2 - f1) * f3 / (f2 - f3) + (x3 - x1) / (x2 - x1) * f1 / (f3 - f1) * f2 / (f3 - f2)
        return np.clip(np.where(safe, guess, 0.5), np.minimum(share, 0.5), np.maximum(1.0 - share, 0.5))
