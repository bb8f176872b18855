"""Shifts and pressures of one car, and what any car would show in their place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.errors import FindingError
from bellhousing.road import driving, gauge
from bellhousing.road.cars import Cars
from bellhousing.road.four_speed import shown as four_speed
from bellhousing.road.shifts import forced_downshifts, shift_speeds
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Observed:
    """One shift or pressure of this car: value and standard uncertainty [m/s or Pa].

    Parameters
    ----------
    name : as a mechanic would call it
    shift : "1-2" and so on, with the manifold vacuum it was made at [Pa]; floor: the pedal on its stop
    reading : instead, a reading of `gauge` or `driving` by its finding
    """

    name: str
    value: float
    uncertainty: float
    shift: str = ""
    vacuum: float = 0.0
    floor: bool = False
    reading: str = ""


READINGS = frozenset(
    {
        *(
            f"upshift-{shift}-{throttle}"
            for shift in ("12", "23")
            for throttle in ("light", "medium", "full")
        ),
        *(f"line-{what}" for what in ("neutral-idle", "drive-idle", "drive-1000", "drive-hose-off")),
        *(f"line-{what}" for what in ("reverse-idle", "reverse-hose-off", "stall")),
        *(f"governor-{mph}" for mph in (10, 20, 30, 50)),
        "coast-down-32",
        "coast-down-21",
        "manifold-vacuum-idle",
    }
)
"""Readings of findings that bear on these parameters."""

VALVES = {"1-2": "first_second", "2-3": "second_third"}


def foretold(observed: Sequence[Observed], cars: Cars, car: Vehicle) -> FloatArray:
    """What each car would show in each row, (n, rows) [m/s or Pa]; no shift counts above 110 mph.

    Raises
    ------
    FindingError : a row that this kind of box does not show.
    """
    shown: dict[str, FloatArray] = {}
    if any(row.reading for row in observed):
        shown = _readings(cars, car)
    maps: dict[float, dict[str, FloatArray]] = {}
    columns = []
    for row in observed:
        if row.reading:
            if row.reading not in shown:
                raise FindingError(f"'{row.reading}' does not bear on this fit", where=row.name)
            columns.append(shown[row.reading])
            continue
        if row.floor and row.shift in ("3-2", "2-1"):
            columns.append(forced_downshifts(cars, car)[row.shift])
            continue
        if row.floor and car.kind != FOUR_SPEED:
            felt = driving.shift_vacuum(cars, car, "full")
            columns.append(driving.up_speed(cars, car, VALVES[row.shift], felt, floor=True))
            continue
        if row.vacuum not in maps:
            maps[row.vacuum] = shift_speeds(cars, car, row.vacuum)
        if row.shift not in maps[row.vacuum]:
            raise FindingError(f"this box makes no shift '{row.shift}'", where=row.name)
        columns.append(maps[row.vacuum][row.shift])
    limit = np.array(
        [np.inf if row.reading.startswith(("line", "gov", "manifold")) else driving.TOP for row in observed]
    )
    shape = len(cars)
    return np.asarray(np.minimum(np.stack([np.broadcast_to(c, shape) for c in columns], axis=1), limit))


def _readings(cars: Cars, car: Vehicle) -> dict[str, FloatArray]:
    if car.kind == FOUR_SPEED:
        return dict(four_speed.readings(cars, car))
    return {**gauge.readings(cars, car), **driving.readings(cars, car)}
