"""Rows of a drive under way, and the drive they make."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.drive.drive import Drive, ShiftMade
from bellhousing.road.drive.foot import Foot
from bellhousing.road.drive.shifting import Commands

FloatArray = NDArray[np.float64]


@dataclass
class Kept:
    """Rows kept so far, by the fields of `Drive`."""

    rows: dict[str, list[FloatArray]] = field(default_factory=dict)

    def keep(self, time: float, commands: Commands, foot: Foot, **values: FloatArray) -> None:
        """Keep one row of every car."""
        values |= {
            "time": np.array(time),
            "gear": commands.gear.astype(np.float64),
            "phase": foot.phase.astype(np.float64),
        }
        for name, one in values.items():
            self.rows.setdefault(name, []).append(one)

    def drive(self, manoeuvre: str, commands: Commands, h: float) -> Drive:
        """The drive that all rows make."""
        made = [
            ShiftMade(int(car), float(moment), int(start), int(end))
            for cars, moments, starts, ends in commands.made
            for car, moment, start, end in zip(cars, moments, starts, ends, strict=True)
        ]
        arrays = {name: np.stack(rows) for name, rows in self.rows.items()}
        return Drive(manoeuvre=manoeuvre, step=h, commands=tuple(made), **arrays)
