"""Rows of a drive under way, and the drive they make."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.drive.drive import Drive, ShiftMade
from bellhousing.road.drive.shifting import Commands

FloatArray = NDArray[np.float64]


@dataclass
class Kept:
    """Rows kept so far, one at `every` so many steps and at `most` so many.

    arrays : fields of `Drive`, (rows, n) each, of which the first `used` rows hold something
    """

    every: int
    most: int
    arrays: dict[str, FloatArray] = field(default_factory=dict)
    used: int = 0

    def keep(self, number: int, values: Mapping[str, FloatArray]) -> None:
        """Keep the row of every car at a step."""
        row = self._row(number)
        for name, one in values.items():
            self._field(name, len(one))[row] = one

    def keep_some(
        self, number: int, cars: NDArray[np.intp], count: int, values: Mapping[str, FloatArray]
    ) -> None:
        """Keep the row of some of `count` cars at a step."""
        row = self._row(number)
        for name, one in values.items():
            self._field(name, count)[row, cars] = one

    def _row(self, number: int) -> int:
        row = number // self.every
        self.used = max(self.used, row + 1)
        return row

    def _field(self, name: str, count: int) -> FloatArray:
        if name not in self.arrays:
            self.arrays[name] = np.empty((self.most, count))
        return self.arrays[name]

    def drive(self, manoeuvre: str, commands: Commands, h: float) -> Drive:
        """The drive that all rows make."""
        made = [
            ShiftMade(int(car), float(moment), int(start), int(end))
            for cars, moments, starts, ends in commands.made
            for car, moment, start, end in zip(cars, moments, starts, ends, strict=True)
        ]
        arrays = {name: one[: self.used] for name, one in self.arrays.items()}
        time = np.asarray(np.arange(self.used) * self.every * h, dtype=np.float64)
        return Drive(manoeuvre=manoeuvre, step=h, commands=tuple(made), time=time, **arrays)
