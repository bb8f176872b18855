"""Torques held, tabulated over line pressure."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.pressures import PSI

FloatArray = NDArray[np.float64]

HIGHEST_LINE = 320.0 * PSI
STEPS = 48
"""Line pressures at which holding torques are worked out once; between them they run straight."""


def tabulated(count: int, held: Callable[[FloatArray], FloatArray]) -> FloatArray:
    """What `held`, (n,) to (columns, n), gives at every step of line pressure, (n, steps, columns)."""
    lines = np.linspace(0.0, HIGHEST_LINE, STEPS)
    return np.ascontiguousarray(np.stack([held(np.full(count, line)) for line in lines]).transpose(2, 0, 1))


def looked_up(table: FloatArray, line: FloatArray) -> FloatArray:
    """The columns of a table at a line pressure [Pa], (columns, cars)."""
    at = np.clip(line * ((STEPS - 1) / HIGHEST_LINE), 0.0, STEPS - 1.001)
    whole = at.astype(np.intp)
    flat = table.reshape(-1, table.shape[2])
    whole += np.arange(0, len(flat), STEPS)
    low = flat.take(whole, axis=0)
    whole += 1
    rise = flat.take(whole, axis=0)
    rise -= low
    rise *= (at % 1.0)[:, None]
    rise += low
    return np.ascontiguousarray(rise.T)
