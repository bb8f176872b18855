"""Gears as friction paths between turbine and output, and what each holds at a line pressure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.cars import Cars
from bellhousing.road.drive.tables import Table, tabulated
from bellhousing.road.holding import capacities, input_torque_held
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

GEARS = ("first", "second", "third", "reverse")
"""Rows of every array of paths."""

COLUMNS = (
    *GEARS,
    "over-low",
    "over-second",
    "over-third",
    "over-reverse",
    "incoming-second",
    "incoming-third",
    "over-drive-first",
    "over-drive-second",
)
"""Columns of the table: gears driving, ranges and gears on the overrun, what a change brings on."""


@dataclass(frozen=True)
class Paths:
    """What each gear holds over line pressure.

    A gear is a clutch between the turbine and `ratio` times the output: the members of a planetary train
    weigh little, so whatever slips in it, its input torque t and output torque ratio · t obey that law
    exactly, but for what the meshes lose. Driving, t is at most what the weakest of the gear's groups holds;
    on the overrun a gear with a one-way clutch bears nothing.

    Parameters
    ----------
    ratio : input over output speed, (4, 1) [-]
    driving, overrun : share of its power a gear's meshes pass on to the road, and from it, (4, 1) [-]
    table : input torque held over line pressure, its columns `COLUMNS` [N m]
    brakes : whether first or second brakes with the engine in D, as where no one-way clutch is
    """

    ratio: FloatArray
    driving: FloatArray
    overrun: FloatArray
    table: Table
    brakes: bool

    def passed(self, back: BoolArray) -> FloatArray:
        """What the meshes leave of a gear's torque at the output, (4, n) [-]; `back`: the road drives."""
        return np.where(back, 1.0 / self.overrun, self.driving)

    def held(self, line: FloatArray) -> FloatArray:
        """Input torque held at a line pressure [Pa], (columns, cars) [N m]."""
        return self.table.at(line)


def paths_of(cars: Cars, car: Vehicle) -> Paths:
    """The gears of these cars, their holding torques tabulated over line pressure."""

    def held(line: FloatArray) -> FloatArray:
        found = capacities(cars, line)
        return np.stack([_column(cars, car, found, name) * cars["shaft.whole"] for name in COLUMNS])

    gears = [car.gears[gear] for gear in GEARS]
    figures = np.array([[one.ratio, one.efficiency, one.overrun_efficiency] for one in gears])
    ratio, driving, overrun = figures.T[:, :, None]
    brakes = any(car.gears[gear].overrun is not None for gear in ("first", "second"))
    return Paths(ratio, driving, overrun, tabulated(len(cars), held), brakes)


def _column(cars: Cars, car: Vehicle, held: dict[str, FloatArray], name: str) -> FloatArray:
    if name in GEARS:
        return input_torque_held(car.gears[name].drive, held)
    if name.startswith("incoming"):
        gear = name.removeprefix("incoming-")
        coming = cars.layout.coming({"second": "D2", "third": "D3"}[gear])
        return input_torque_held(car.gears[gear].drive, held, only=coming)
    of_range = {"over-low": "low", "over-second": "second-range"}
    gear = of_range.get(name) or name.removeprefix("over-").removeprefix("drive-")
    groups = car.gears[gear].overrun
    some = next(iter(held.values()))
    return np.zeros(len(some)) if groups is None else input_torque_held(groups, held)
