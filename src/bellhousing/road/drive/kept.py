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
    """Rows kept so far by their step: fields of `Drive`, (n,) each."""

    rows: dict[int, dict[str, FloatArray]] = field(default_factory=dict)

    def keep(self, number: int, values: Mapping[str, FloatArray]) -> None:
        """Keep the row of every car at a step."""
        self.rows[number] = {name: one.copy() for name, one in values.items()}

    def keep_some(
        self, number: int, cars: NDArray[np.intp], count: int, values: Mapping[str, FloatArray]
    ) -> None:
        """Keep the row of some of `count` cars at a step."""
        row = self.rows.setdefault(number, {})
        for name, one in values.items():
            if name not in row:
                row[name] = np.empty(count)
            row[name][cars] = one

    def drive(self, manoeuvre: str, commands: Commands, h: float) -> Drive:
        """The drive that all rows make."""
        made = [
            ShiftMade(int(car), float(moment), int(start), int(end))
            for cars, moments, starts, ends in commands.made
            for car, moment, start, end in zip(cars, moments, starts, ends, strict=True)
        ]
        numbers = sorted(self.rows)
        names = self.rows[numbers[0]]
        arrays = {name: np.stack([self.rows[number][name] for number in numbers]) for name in names}
        time = np.array(numbers) * h
        return Drive(manoeuvre=manoeuvre, step=h, commands=tuple(made), time=time, **arrays)
