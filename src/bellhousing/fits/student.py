"""Student's distribution, which coverage factors and repeats of a reading need."""

from __future__ import annotations

import math
from statistics import NormalDist

_TINY = 1e-300
_NORMAL = NormalDist()


def incomplete_beta(x: float, a: float, b: float) -> float:
    """Regularised incomplete beta function I_x(a, b) by its continued fraction [1].

    Source: NIST Digital Library of Mathematical Functions, 8.17.22 (continued fraction), 8.17.4 (symmetry).
    """
    if x <= 0.0:
        return 0.0
    if x >= 1.0:
        return 1.0
    if x > (a + 1.0) / (a + b + 2.0):
        return 1.0 - incomplete_beta(1.0 - x, b, a)
    front = a * math.log(x) + b * math.log1p(-x) + math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b)
    numerator, denominator = 1.0, 1.0 - (a + b) * x / (a + 1.0)
    denominator = 1.0 / (denominator if abs(denominator) > _TINY else _TINY)
    fraction = denominator
    for step in range(1, 500):
        for term in (
            step * (b - step) * x / ((a + 2 * step - 1) * (a + 2 * step)),
            -(a + step) * (a + b + step) * x / ((a + 2 * step) * (a + 2 * step + 1)),
        ):
            denominator = 1.0 + term * denominator
            denominator = 1.0 / (denominator if abs(denominator) > _TINY else _TINY)
            numerator = 1.0 + term / (numerator if abs(numerator) > _TINY else _TINY)
            fraction *= numerator * denominator
        if abs(numerator * denominator - 1.0) < 1e-15:
            break
    return math.exp(front) * fraction / a


def student_cdf(t: float, freedom: float) -> float:
    """Probability that Student's t with `freedom` degrees of freedom is at most t [1]."""
    if math.isinf(freedom):
        return _NORMAL.cdf(t)
    tail = 0.5 * incomplete_beta(freedom / (freedom + t * t), freedom / 2.0, 0.5)
    return 1.0 - tail if t > 0.0 else tail


def coverage_factor(probability: float, freedom: float = math.inf) -> float:
    """Coverage factor k: the interval ± k u holds `probability` of Student's distribution [1].

    Source: JCGM 100:2008, G.3.2 and table G.2; found by bisection on `student_cdf`.
    """
    wanted = 0.5 + probability / 2.0
    if math.isinf(freedom):
        return _NORMAL.inv_cdf(wanted)
    low, high = 0.0, 2.0
    while student_cdf(high, freedom) < wanted:
        low, high = high, 2.0 * high
    for _ in range(200):
        middle = (low + high) / 2.0
        if student_cdf(middle, freedom) < wanted:
            low = middle
        else:
            high = middle
        if high - low <= 1e-14 * high:
            break
    return (low + high) / 2.0
