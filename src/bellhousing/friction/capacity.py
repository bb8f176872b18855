"""Capacity against demand: the margin of a holding element."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def capacity_margin(capacity: ArrayLike, demand: ArrayLike) -> FloatArray:
    """Capacity over demand; slip starts below 1.

    Formula: ``capacity/|demand|`` [-], infinite where nothing is demanded; both [N·m].

    Source: common practice, no source.
    """
    have = np.asarray(capacity, dtype=np.float64)
    need = np.abs(np.asarray(demand, dtype=np.float64))
    have, need = np.broadcast_arrays(have, need)
    margin = np.full(need.shape, np.inf)
    np.divide(have, need, out=margin, where=need > 0.0)
    return margin
