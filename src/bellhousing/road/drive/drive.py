"""What a simulated drive leaves behind: rows as a logger writes them, and what truly happened."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class ShiftMade:
    """A command to the clutches of one car: when [s], from which gear to which; 0 neutral, -1 reverse."""

    car: int
    time: float
    start: int
    end: int

    @property
    def name(self) -> str:
        """Such as "1-2"."""
        return f"{self.start}-{self.end}"


@dataclass(frozen=True)
class Drive:
    """Rows of a drive, (rows, cars) each but `time`, and the commands its valves gave.

    Parameters
    ----------
    step : of the integration [s]
    time : (rows,) [s]
    speed : road speed [m/s]; engine, turbine : [rad/s]; vacuum, line : [Pa]
    travel : of the throttle linkage [-], nought where there is none
    gear : gear commanded; torque : of the engine [N m]; phase : of the manoeuvre
    slip : of the elements of the gear commanded, as the speed of the turbine against the road's, or as that
        of the element that slips most [rad/s]
    slip_heat, fluid_heat, mesh_heat : what friction elements, converter or coupling, and the teeth turn into
        heat [W]
    road : power against rolling, air, brakes and grade [W]
    kinetic : energy of all that moves [J]
    """

    manoeuvre: str
    step: float
    commands: tuple[ShiftMade, ...]
    time: FloatArray
    speed: FloatArray
    engine: FloatArray
    turbine: FloatArray
    vacuum: FloatArray
    line: FloatArray
    travel: FloatArray
    gear: FloatArray
    torque: FloatArray
    slip: FloatArray
    slip_heat: FloatArray
    fluid_heat: FloatArray
    mesh_heat: FloatArray
    road: FloatArray
    kinetic: FloatArray
    phase: FloatArray

    @cached_property
    def cars(self) -> int:
        """How many cars were driven."""
        return int(self.speed.shape[1])

    def at_every(self, period: float) -> Drive:
        """The same drive with rows a period [s] apart, or as close to it as its rows allow."""
        apart = max(1, round(period / float(self.time[1] - self.time[0])))
        names = [one.name for one in fields(self) if isinstance(getattr(self, one.name), np.ndarray)]
        return replace(self, **{name: getattr(self, name)[::apart] for name in names})

    def shifts(self, car: int = 0) -> tuple[ShiftMade, ...]:
        """Shifts between forward gears of one car, in order."""
        return tuple(made for made in self.commands if made.car == car and made.start >= 1 and made.end >= 1)

    def at(self, car: int, time: float, name: str = "speed") -> float:
        """A row's value of one car at a time [s], between rows on a straight line."""
        return float(np.interp(time, self.time, getattr(self, name)[:, car]))
