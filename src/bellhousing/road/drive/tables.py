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


class Table:
    """Torques of cars over line pressure, between its steps on straight lines.

    Of each car the step it stood at last is kept at hand, as it hardly ever leaves it.

    Parameters
    ----------
    values : the torques at each step, then their rises to the next one, (n, steps, 2 columns) [N m]
    """

    def __init__(self, values: FloatArray) -> None:
        self._values = values
        self._step = np.zeros(len(values), dtype=np.intp)
        self._here = np.ascontiguousarray(values[:, 0].T)

    def at(self, line: FloatArray) -> FloatArray:
        """The torques at a line pressure [Pa], (columns, cars) [N m]."""
        place = np.minimum(np.maximum(line * ((STEPS - 1) / HIGHEST_LINE), 0.0), STEPS - 1.001)
        step = place.astype(np.intp)
        (cars,) = (step != self._step).nonzero()
        if cars.size:
            self._here[:, cars] = self._values[cars, step[cars]].T
            self._step = step
        place -= step
        columns = len(self._here) // 2
        found = self._here[columns:] * place
        found += self._here[:columns]
        return np.asarray(found)


def tabulated(count: int, held: Callable[[FloatArray], FloatArray]) -> Table:
    """What `held`, (n,) to (columns, n), gives at every step of line pressure."""
    lines = np.linspace(0.0, HIGHEST_LINE, STEPS)
    values = np.stack([held(np.full(count, line)) for line in lines]).transpose(2, 0, 1)
    rises = np.diff(values, axis=1, append=values[:, -1:])
    return Table(np.ascontiguousarray(np.concatenate([values, rises], axis=2)))
