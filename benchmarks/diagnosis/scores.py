"""Scores of decisions and of chances: intervals, calibration in bins of equal count, Brier and log score."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

SHOWN = 0.05
"""Causes are shown from this chance on, and only those are calibrated."""

SURELY = 1e-4
"""Chances are kept this far from 0 and 1 in the log score."""


def wilson(hits: int, count: int, z: float = 1.96) -> tuple[float, float]:
    """Interval for a share: E. B. Wilson, J. Am. Stat. Assoc. 22, 1927."""
    if count == 0:
        return 0.0, 1.0
    share = hits / count
    middle = (share + z * z / (2 * count)) / (1 + z * z / count)
    half = z * math.sqrt(share * (1 - share) / count + z * z / (4 * count * count)) / (1 + z * z / count)
    return max(0.0, middle - half), min(1.0, middle + half)


def calibration_error(chances: Sequence[float], true: Sequence[bool], bins: int = 10) -> float:
    """Mean over bins of equal count of |mean chance - share true|, for the chances that are shown."""
    said = np.asarray(chances, dtype=float)
    held = np.asarray(true, dtype=float)
    keep = said >= SHOWN
    said, held = said[keep], held[keep]
    if not len(said):
        return math.nan
    order = np.argsort(said, kind="stable")
    gaps = [
        abs(float(said[part].mean() - held[part].mean())) * len(part)
        for part in np.array_split(order, min(bins, len(order)))
        if len(part)
    ]
    return float(sum(gaps) / len(said))


def brier(chances: Sequence[float], true: Sequence[bool]) -> float:
    """Mean squared error of chances: G. W. Brier, Mon. Weather Rev. 78, 1950; times the faults of a car."""
    return float(np.mean((np.asarray(chances) - np.asarray(true, dtype=float)) ** 2))


def log_score(chances: Sequence[float], true: Sequence[bool]) -> float:
    """Mean negative log of the chance given to what was so [nat]: I. J. Good, J. R. Stat. Soc. B 14, 1952."""
    said = np.clip(np.asarray(chances, dtype=float), SURELY, 1.0 - SURELY)
    held = np.asarray(true, dtype=bool)
    return float(-np.mean(np.where(held, np.log(said), np.log(1.0 - said))))
