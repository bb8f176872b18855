"""Where a series leaves its level: the tabular cumulative sum."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


def tabular_cusum(values: FloatArray, target: float, allowance: float) -> tuple[FloatArray, FloatArray]:
    """Upper and lower cumulative sums of a series.

    S_H(i) = max(0, x_i - (target + K) + S_H(i-1)), S_L(i) = max(0, (target - K) - x_i + S_L(i-1)), both from
    0 before the first; units of the series. A sum above the decision interval H signals a shift of the mean.
    Source: D. C. Montgomery and G. C. Runger, Applied Statistics and Probability for Engineers.
    """
    return _sums(values - target - allowance), _sums(target - allowance - values)


def _sums(steps: FloatArray) -> FloatArray:
    """Reflected random walk: the running sum less the lowest it has been, never below 0."""
    total = np.cumsum(steps)
    return np.asarray(total - np.minimum(np.minimum.accumulate(total), 0.0))


def departure(values: FloatArray, spread: float, *, allowance: float, decision: float) -> int | None:
    """Index of the sample at which a series that should stay at 0 begins to leave it, None if it stays.

    The sums signal at `decision` times the spread; the change began after the sum was last 0.
    """
    high, low = tabular_cusum(values, 0.0, allowance * spread)
    signals = np.flatnonzero((high > decision * spread) | (low > decision * spread))
    if not len(signals):
        return None
    side = high if high[signals[0]] > decision * spread else low
    quiet = np.flatnonzero(side[: signals[0] + 1] <= 0.0)
    return int(quiet[-1]) + 1 if len(quiet) else 0
