"""Capacity against demand: the margin of a holding element, and of several together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bellhousing.errors import QuantityError

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


def joint_capacity(paths: Sequence[Sequence[str]], capacities: Mapping[str, ArrayLike]) -> FloatArray:
    """Capacity of elements that work side by side or in a chain.

    Formula: the sum over the parallel paths of the smallest capacity along each [N·m]: a chain holds
    what its weakest element holds, paths side by side add up.

    Raises
    ------
    QuantityError : the capacity of an element is not given, or there is no path

    Source: common practice, no source.
    """
    if not paths or not all(paths):
        raise QuantityError("no element holds here", where="joint capacity")
    for name in (name for path in paths for name in path):
        if name not in capacities:
            raise QuantityError("its capacity is not given", where=name)
    total: FloatArray = np.zeros(())
    for path in paths:
        along = [np.asarray(capacities[name], dtype=np.float64) for name in path]
        total = total + np.min(np.stack(np.broadcast_arrays(*along)), axis=0)
    return total
