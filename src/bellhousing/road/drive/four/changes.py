"""Commands to the bands and clutches of a four-speed: what comes on, what lets go, and when."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.cars import Cars
from bellhousing.road.drive.applying import Applying
from bellhousing.road.drive.four.layout import Layout
from bellhousing.road.drive.shifting import DRIVE, REVERSE, Commands
from bellhousing.road.four_speed.engaging import filling_time
from bellhousing.road.four_speed.holding import BANDS
from bellhousing.road.four_speed.timing import on_and_off
from bellhousing.road.pressures import HOT
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

GEARS = {-1: "reverse", 1: "first", 2: "second", 3: "third", 4: "fourth"}

CUSHIONED = 0.45
"""Time for which an element stays on its cushion in a change [s]; common practice, no source."""

STIFF_WHEN_HOT = 0.12
"""Share of the delay of stiff rings in the cold that a hot engagement still has, as the steady model."""


@dataclass(frozen=True)
class Changes:
    """What the changes of these cars need to know.

    Parameters
    ----------
    cars, car, layout : the cars, their box, and its elements
    engaging : time in which forward and reverse fill from neutral, by gear 1 and -1, (n,) [s]
    """

    cars: Cars
    car: Vehicle
    layout: Layout
    engaging: dict[int, FloatArray]

    def elements(self, gear: int) -> tuple[int, ...]:
        """Places of the elements that a gear applies; none in neutral."""
        return self.layout.gears[GEARS[gear]] if gear in GEARS else ()

    def command(
        self,
        commands: Commands,
        applying: Applying,
        changed: BoolArray,
        moment: FloatArray,
        time: float,
        line: FloatArray,
        cushion: FloatArray,
    ) -> None:
        """Bring the elements of the changed cars to what lever and valves now ask.

        `line` [Pa] is what the elements fill with, `cushion` the share of it at which they come on [-].
        """
        wanted = np.where(changed, gear_of(commands), commands.gear)
        rows = np.flatnonzero(wanted != commands.gear)
        if not rows.size:
            return
        commands.made.append((rows, moment[rows], commands.gear[rows], wanted[rows]))
        level = applying.level(time)
        pairs = np.stack([commands.gear[rows], wanted[rows]])
        for before, after in np.unique(pairs, axis=1).T.tolist():
            there = rows[(pairs[0] == before) & (pairs[1] == after)]
            old, new = self.elements(before), self.elements(after)
            coming, going = [n for n in new if n not in old], [n for n in old if n not in new]
            if before <= 0 or after <= 0:
                self._select(applying, there, after, coming, going, moment, level)
            else:
                self._change(applying, there, coming, going, moment, level, line, cushion)
        commands.gear = wanted

    def _select(
        self,
        applying: Applying,
        rows: IntArray,
        gear: int,
        coming: list[int],
        going: list[int],
        moment: FloatArray,
        level: FloatArray,
    ) -> None:
        """By the lever: all elements of the range fill together."""
        for element in going:
            applying.let_go(element, rows, moment, level)
        for element in coming:
            fill = self.engaging[-1 if gear < 0 else 1]
            applying.bring_on(element, rows, moment, fill, np.zeros(len(fill)))
            applying.plateau[element, rows] = 1.0

    def _change(
        self,
        applying: Applying,
        rows: IntArray,
        coming: list[int],
        going: list[int],
        moment: FloatArray,
        level: FloatArray,
        line: FloatArray,
        cushion: FloatArray,
    ) -> None:
        """By a shift valve: each element in its own time beside that of the middle sound car.

        That car's change is in step: what comes on bites as what lets go begins to give. The timing error of
        the cars acts where two elements come on.
        """
        some = self.cars.take(rows)
        usual = self.car.reference.times
        names = self.layout.names
        bite = max(usual[f"{names[one]}.on"] for one in coming)
        every = np.zeros(len(self.cars))
        for element in going:
            name = names[element]
            _, off = on_and_off(some, name, line[rows])
            late = every.copy()
            late[rows] = np.maximum(bite + off - usual[f"{name}.off"], 0.0)
            applying.let_go(element, rows, moment + late, level)
        for element in coming:
            name = names[element]
            on, _ = on_and_off(some, name, line[rows])
            error = some["timing.error"] if len(coming) > 1 else 0.0
            fill, stroke = every.copy(), every + CUSHIONED
            fill[rows] = np.maximum(bite + on - usual[f"{name}.on"] + error, 0.0)
            applying.bring_on(element, rows, moment, fill, stroke)
            applying.plateau[element, rows] = cushion[rows]


def gear_of(commands: Commands) -> IntArray:
    """The gear that lever and shift valves ask: 0 none, -1 reverse; no valve is felt before the one below."""
    lever = commands.lever
    up = np.logical_and.accumulate(commands.up, axis=0).sum(axis=0)
    return np.where(lever == DRIVE, 1 + up, np.where(lever == REVERSE, -1, 0))


def changes_of(cars: Cars, car: Vehicle, layout: Layout) -> Changes:
    """The changes of hot cars."""
    engaging = {}
    for gear, selected in ((1, "D"), (-1, "R")):
        rings = [n for n in car.gears[GEARS[gear]].applied if n in BANDS]
        stiff = sum((cars[f"{name}.cold_delay"] for name in rings), np.zeros(len(cars)))
        engaging[gear] = filling_time(cars, car, selected, HOT) + STIFF_WHEN_HOT * stiff
    return Changes(cars, car, layout, engaging)
