"""Gears as friction paths between turbine and output, and what each holds at a line pressure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.cars import Cars
from bellhousing.road.holding import capacities, input_torque_held
from bellhousing.road.pressures import PSI
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]

GEARS = ("first", "second", "third", "reverse")
"""Rows of every array of paths."""

HIGHEST_LINE = 320.0 * PSI
STEPS = 48
"""Line pressures at which holding torques are worked out once; between them they run straight."""

COLUMNS = (
    *GEARS,
    "over-low",
    "over-second",
    "over-third",
    "over-reverse",
    "incoming-second",
    "incoming-third",
)


@dataclass(frozen=True)
class Paths:
    """What each gear holds over line pressure.

    A gear is a clutch between the turbine and `ratio` times the output: the members of a planetary train
    weigh little, so whatever slips in it, its input torque t and output torque ratio · t obey that law
    exactly. Driving, t is at most what the weakest of the gear's groups holds; on the overrun a gear with a
    one-way clutch bears nothing.

    Parameters
    ----------
    ratio : input over output speed, (4, 1) [-]
    table : input torque held at each step of line pressure, (cars, steps, columns) [N m]
    """

    ratio: FloatArray
    table: FloatArray

    def held(self, line: FloatArray) -> FloatArray:
        """Input torque held at a line pressure [Pa], (columns, cars) [N m]."""
        at = np.clip(line * ((STEPS - 1) / HIGHEST_LINE), 0.0, STEPS - 1.001)
        whole = at.astype(np.intp)
        rows = np.arange(len(line))
        low, high = self.table[rows, whole], self.table[rows, whole + 1]
        return np.asarray((low + (at - whole)[:, None] * (high - low)).T)


def paths_of(cars: Cars, car: Vehicle) -> Paths:
    """The gears of these cars, their holding torques tabulated over line pressure."""
    table = np.empty((len(cars), STEPS, len(COLUMNS)))
    for step, line in enumerate(np.linspace(0.0, HIGHEST_LINE, STEPS)):
        held = capacities(cars, np.full(len(cars), line))
        for column, name in enumerate(COLUMNS):
            table[:, step, column] = _column(car, held, name) * cars["shaft.whole"]
    ratios = np.array([car.gears[gear].ratio for gear in GEARS])
    return Paths(ratios[:, None], table)


def _column(car: Vehicle, held: dict[str, FloatArray], name: str) -> FloatArray:
    if name in GEARS:
        return input_torque_held(car.gears[name].drive, held)
    if name.startswith("incoming"):
        gear = name.removeprefix("incoming-")
        element = "intermediate-clutch" if gear == "second" else "direct-clutch"
        return input_torque_held(car.gears[gear].drive, held, only=element)
    gear = {"over-low": "low", "over-second": "second-range"}.get(name, name.removeprefix("over-"))
    groups = car.gears[gear].overrun
    some = next(iter(held.values()))
    return np.zeros(len(some)) if groups is None else input_torque_held(groups, held)
