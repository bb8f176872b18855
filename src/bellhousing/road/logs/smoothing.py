"""Running means, slopes and local parabolas of an even series."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


def odd(width: float, step: float) -> int:
    """The odd number of samples nearest to a width in time, at least 1."""
    return max(1, 2 * round((width / step - 1) / 2) + 1)


def parabola(values: FloatArray, count: int) -> FloatArray:
    """Value at the middle of the least-squares parabola through `count` samples around each."""
    if count < 5 or len(values) < count:
        return values
    half = count // 2
    place = np.arange(-half, half + 1.0)
    design = np.stack([np.ones(count), place, place**2], axis=1)
    weights = np.linalg.pinv(design)[0]
    return _convolved(values, weights)


def slope(values: FloatArray, count: int, step: float) -> FloatArray:
    """Slope of the least-squares line through `count` samples around each [per s]."""
    count = max(3, count)
    if len(values) < count:
        return np.asarray(np.gradient(values, step)) if len(values) > 1 else np.zeros(len(values))
    half = count // 2
    place = np.arange(-half, half + 1.0)
    return _convolved(values, place / (place @ place) / step)


def _convolved(values: FloatArray, weights: FloatArray) -> FloatArray:
    """Weighted sum around each sample; beyond the ends the series is mirrored through its end point."""
    half = len(weights) // 2
    before = 2 * values[0] - values[half:0:-1]
    after = 2 * values[-1] - values[-2 : -half - 2 : -1]
    return np.convolve(np.concatenate([before, values, after]), weights[::-1], mode="valid")


def robust_spread(values: FloatArray) -> float:
    """Standard deviation of the undisturbed part: 1.4826 times the median distance from the median."""
    if not len(values):
        return 0.0
    middle = len(values) // 2
    apart = np.abs(values - np.partition(values, middle)[middle])
    return float(1.4826 * np.partition(apart, middle)[middle])
