"""What was seen at the last look at a valve body, and carried on until the next."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

LOOK_EVERY = 4
"""Steps between looks at the valve body: pressures, shift valves, and what friction elements bear."""


@dataclass(frozen=True)
class Bears:
    """What friction elements bear, each way in its own row, (rows, n) [N m].

    Parameters
    ----------
    time : when they were looked at [s]
    torque : then; rate : how it changes [N m/s]
    busy : cars on which an element is neither fully on nor fully off, (n,)
    level : share of the line at which each element holds, where all cars were looked at, (elements, n) [-]
    """

    time: float
    torque: FloatArray
    rate: FloatArray
    busy: NDArray[np.bool_]
    level: FloatArray | None = None

    @cached_property
    def nothing(self) -> NDArray[np.bool_]:
        """Cars on which nothing bears anything until the next look, (n,)."""
        return np.asarray(~(self.torque.any(axis=0) | self.rate.any(axis=0)))

    def some(self, rows: NDArray[np.intp]) -> Bears:
        """What is borne on some of the cars."""
        return Bears(self.time, self.torque[:, rows], self.rate[:, rows], self.busy[rows])

    def at(self, time: float) -> FloatArray:
        """What they bear a little later, on a straight line, never below nought."""
        return np.maximum(self.torque + (time - self.time) * self.rate, 0.0)


def bears_now(
    before: Bears | None, time: float, since: float, torque: FloatArray, level: FloatArray
) -> Bears:
    """What is borne from now on: `torque` at a time [s], changing as it did `since` the last look [s] ago.

    `level` is as `Applying.level` gives it: another array whenever it has changed.
    """
    if before is None:
        rate = np.zeros_like(torque)
    else:
        rate = torque - before.torque
        rate /= since
    if before is not None and before.level is level:
        busy = before.busy
    else:
        busy = np.asarray(((level > 0.0) & (level < 1.0)).any(axis=0))
    return Bears(time, torque, rate, busy, level)
