"""A probability as people read it: "74 in 100"."""

from __future__ import annotations

import math
from collections.abc import Callable

NEARLY_ALL = 0.99
NEARLY_NONE = 0.01


def in_100(probability: float, error: float = 0.0) -> str:
    """A probability as odds in a hundred, never "certain": "74 in 100", "more than 99 in 100".

    Near an end only a bound is given, two standard errors away from the end: "more than 96 in 100".
    """
    if probability > NEARLY_ALL:
        return f"more than {min(99, _whole(probability - 2.0 * error, math.floor))} in 100"
    if probability < NEARLY_NONE:
        return f"less than {max(1, _whole(probability + 2.0 * error, math.ceil))} in 100"
    return f"{100.0 * probability:.0f} in 100"


def _whole(probability: float, rounded: Callable[[float], int]) -> int:
    # Ten digits are kept, so that the noise of the sum makes no whole number more or less.
    return rounded(round(100.0 * min(1.0, max(0.0, probability)), 8))
