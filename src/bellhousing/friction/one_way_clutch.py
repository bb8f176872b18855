"""One-way clutches: over-run one way, a capacity limit the other."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def one_way_torque(demand: ArrayLike, capacity: ArrayLike) -> FloatArray:
    """Torque a one-way clutch carries.

    Formula: ``min(max(0, demand), capacity)`` [N·m]; a demand below zero over-runs and carries nothing,
    one above the capacity slips.

    Source: common practice, no source.
    """
    wanted = np.asarray(demand, dtype=np.float64)
    return np.minimum(np.maximum(wanted, 0.0), np.asarray(capacity, dtype=np.float64))


def one_way_slips(demand: ArrayLike, capacity: ArrayLike) -> NDArray[np.bool_]:
    """Whether a one-way clutch is asked for more than it holds.

    Formula: ``demand > capacity``, both [N·m]; false while it over-runs.

    Source: common practice, no source.
    """
    wanted = np.asarray(demand, dtype=np.float64)
    limit = np.maximum(np.asarray(capacity, dtype=np.float64), 0.0)
    return np.asarray(wanted > limit, dtype=np.bool_)
