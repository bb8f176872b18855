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
    """What `held`, (n,) to (columns, n), gives at every step of line pressure, and its rise to the next one.

    (n, steps, 2 columns): the values, then the rises.
    """
    lines = np.linspace(0.0, HIGHEST_LINE, STEPS)
    values = np.stack([held(np.full(count, line)) for line in lines]).transpose(2, 0, 1)
    rises = np.diff(values, axis=1, append=values[:, -1:])
    return np.ascontiguousarray(np.concatenate([values, rises], axis=2))


def looked_up(table: FloatArray, line: FloatArray) -> FloatArray:
    """The columns of a table at a line pressure [Pa], (columns, cars)."""
    at = np.clip(line * ((STEPS - 1) / HIGHEST_LINE), 0.0, STEPS - 1.001)
    whole = at.astype(np.intp)
    at -= whole
    flat = table.reshape(-1, table.shape[2])
    whole += np.arange(0, len(flat), STEPS)
    both = flat.take(whole, axis=0)
    columns = both.shape[1] // 2
    found = both[:, columns:]
    found *= at[:, None]
    found += both[:, :columns]
    return np.ascontiguousarray(found.T)
