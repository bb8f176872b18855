"""How clutches come on and let go: filling, the accumulator's stroke, and the way out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
Rows = BoolArray | NDArray[np.intp]

ELEMENTS = ("forward", "intermediate", "direct")
FORWARD, INTERMEDIATE, DIRECT = range(3)

TAKE_UP = 0.10
"""Time in which a full clutch comes to its accumulator's plateau, or from there to full line [s]."""

ENGAGE = 0.30
"""Time in which a clutch without accumulator comes to full line once it is full [s]."""

EXHAUST = 0.12
"""Time in which a clutch lets go [s]; all three are common practice, no source."""

RISE = 0.15
"""Share by which an accumulator's spring lets the pressure rise about its plateau's middle [-]; common
practice, no source."""

LATE = 0.1
"""Time for which the levels of a car are still followed after its elements have come to rest [s]."""

LONGEST = 30.0
"""A clutch that takes longer than this to fill never comes on [s]."""


@dataclass
class Applying:
    """Where each element of each car stands, (elements, cars); changed in place as a drive goes on.

    Parameters
    ----------
    on : whether it is commanded
    since : when it was commanded on or off [s]
    fill : time until it is full [s]
    stroke : time of its accumulator's stroke [s]
    plateau : middle of the accumulator's pressure, share of the line; 1 = no accumulator [-]
    before : what was left of it when it was let go [-]
    until : when the last of a car's elements has come to where it goes [s], (cars,)
    looked, seen : when the levels were last asked for [s], and what they were
    """

    on: BoolArray
    since: FloatArray
    fill: FloatArray
    stroke: FloatArray
    plateau: FloatArray
    before: FloatArray
    until: FloatArray
    looked: float = -np.inf
    seen: FloatArray | None = None

    def level(self, time: float) -> FloatArray:
        """Share of its line pressure at which each element holds, (elements, cars) [-]; not to be written to.

        Times asked for must not go back.
        """
        if self.seen is None:
            self.seen = self._level(time)
        elif time > self.looked:
            cars = np.flatnonzero(self.until > self.looked)
            if cars.size:
                names = ("on", "since", "fill", "stroke", "plateau", "before")
                some = {name: getattr(self, name)[:, cars] for name in names}
                self.seen = self.seen.copy()
                self.seen[:, cars] = Applying(**some, until=self.until[cars])._level(time)
        self.looked = time
        return self.seen

    def _level(self, time: float) -> FloatArray:
        """Nothing until full; then up to the plateau's start, along the stroke, and up to full line."""
        after = time - self.since
        coming = after - self.fill
        late = coming - TAKE_UP - self.stroke
        early = self.plateau * (1.0 - RISE)
        rise = np.minimum(1.0, coming * (1.0 / TAKE_UP))
        along = np.minimum(np.maximum((coming - TAKE_UP) / np.maximum(self.stroke, 1e-9), 0.0), 1.0)
        end = np.minimum(1.0, self.plateau * (1.0 + RISE))
        made = early * rise + (end - early) * along
        made += (1.0 - made) * np.minimum(np.maximum(late * (1.0 / TAKE_UP), 0.0), 1.0)
        bare = np.minimum(1.0, coming * (1.0 / ENGAGE))
        made = np.maximum(np.where(self.plateau >= 1.0, bare, made), 0.0)
        gone = self.before * np.minimum(np.maximum(1.0 - after * (1.0 / EXHAUST), 0.0), 1.0)
        return np.where(self.on, made, gone)

    def let_go(self, element: int, rows: Rows, time: FloatArray, level: FloatArray) -> None:
        """Let one element go on some cars, at a time each [s]; `level` is what it stands at now."""
        self.before[element, rows] = level[element, rows]
        self.on[element, rows] = False
        self.since[element, rows] = time[rows]
        self.until[rows] = np.maximum(self.until[rows], time[rows] + EXHAUST + LATE)
        self._looked_before()

    def bring_on(
        self, element: int, rows: Rows, time: FloatArray, fill: FloatArray, stroke: FloatArray
    ) -> None:
        """Command one element on some cars, at a time each [s], with the times it will take [s]."""
        self.on[element, rows] = True
        self.since[element, rows] = time[rows]
        self.fill[element, rows] = np.minimum(fill[rows], LONGEST)
        self.stroke[element, rows] = np.minimum(stroke[rows], LONGEST)
        takes = self.fill[element, rows] + self.stroke[element, rows] + max(ENGAGE, 2.0 * TAKE_UP)
        self.until[rows] = np.maximum(self.until[rows], time[rows] + takes + LATE)
        self._looked_before()

    def _looked_before(self) -> None:
        """Let the next question be answered anew, even at the moment of the last one."""
        self.looked = np.nextafter(self.looked, -np.inf)


def standing(on: BoolArray, plateau: FloatArray) -> Applying:
    """Elements that have stood for long, on or off; `plateau` as in `Applying`, (elements, cars)."""
    return Applying(
        on=on,
        since=np.full(on.shape, -1e3),
        fill=np.zeros(on.shape),
        stroke=np.zeros(on.shape),
        plateau=plateau,
        before=np.zeros(on.shape),
        until=np.full(on.shape[1], -1e3),
    )
