"""Shifts and pressures of one car, and what any car would show in their place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.kinds import FOUR_SPEED, THREE_SPEED
from bellhousing.errors import FindingError
from bellhousing.road import driving, gauge
from bellhousing.road.cars import Cars
from bellhousing.road.four_speed import driving as four_driving
from bellhousing.road.four_speed import gauge as four_gauge
from bellhousing.road.four_speed.pressures import travel_by_vacuum, travel_of
from bellhousing.road.pressures import felt_vacuum
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


THROTTLES = ("light", "medium", "full")

READINGS: Mapping[str, frozenset[str]] = {
    THREE_SPEED: frozenset(
        {
            *(f"upshift-{shift}-{throttle}" for shift in ("12", "23") for throttle in THROTTLES),
            *(f"line-{what}" for what in ("neutral-idle", "drive-idle", "drive-1000", "drive-hose-off")),
            *(f"line-{what}" for what in ("reverse-idle", "reverse-hose-off", "stall")),
            *(f"governor-{mph}" for mph in (10, 20, 30, 50)),
            "coast-down-32",
            "coast-down-21",
            "manifold-vacuum-idle",
        }
    ),
    FOUR_SPEED: frozenset(
        {
            *(f"upshift-{shift}-{throttle}" for shift in ("12", "23", "34") for throttle in THROTTLES),
            *(f"line-{what}" for what in ("neutral-idle", "drive-idle", "drive-1000", "stall", "cruise")),
            *(f"line-{what}" for what in ("reverse-idle", "reverse-1000")),
            *(f"tv-{travel}" for travel in ("closed", "half", "full")),
            *(f"g1-{mph}" for mph in (10, 20, 30)),
            *(f"g2-{mph}" for mph in (30, 50)),
            *(f"coast-down-{shift}" for shift in ("43", "32", "21")),
            "forced-down-43",
            "manifold-vacuum-idle",
            "idle-speed",
        }
    ),
}
"""Readings of findings that bear on these parameters, by kind of box."""

ON_THE_ROAD = ("upshift", "coast", "forced")
"""How the findings of shifts begin; those of gauges begin otherwise."""

VALVES = {"1-2": "first_second", "2-3": "second_third", "3-4": "third_fourth"}


def foretold(observed: Sequence[Observed], cars: Cars, car: Vehicle) -> FloatArray:
    """What each car would show in each row, (n, rows) [m/s or Pa]; no shift counts above 110 mph.

    Raises
    ------
    FindingError : a row that this kind of box does not show.
    """
    wanted = frozenset(row.reading for row in observed if row.reading)
    shown = _readings(wanted, cars, car)
    columns = []
    for row in observed:
        if row.reading and row.reading not in shown:
            raise FindingError(f"'{row.reading}' does not bear on this fit", where=row.name)
        columns.append(shown[row.reading] if row.reading else _shift(row, cars, car))
    limit = np.array([driving.TOP if unit_of(row) == "mph" else np.inf for row in observed])
    shape = len(cars)
    return np.asarray(np.minimum(np.stack([np.broadcast_to(c, shape) for c in columns], axis=1), limit))


def unit_of(row: Observed) -> str:
    """The unit in which a mechanic says a row: mph, psi, inHg or rpm."""
    if not row.reading or row.reading.startswith(ON_THE_ROAD):
        return "mph"
    return {"manifold": "inHg", "idle": "rpm"}.get(row.reading.split("-")[0], "psi")


def _readings(wanted: frozenset[str], cars: Cars, car: Vehicle) -> dict[str, FloatArray]:
    """The wanted readings and others that come with them."""
    parts = (four_gauge, four_driving) if car.kind == FOUR_SPEED else (gauge, driving)
    shown: dict[str, FloatArray] = {}
    for part, driven in zip(parts, (False, True), strict=True):
        if any(name.startswith(ON_THE_ROAD) is driven for name in wanted):
            shown |= part.readings(cars, car)
    return shown


def _shift(row: Observed, cars: Cars, car: Vehicle) -> FloatArray:
    """Road speed of a shift at its vacuum or with the pedal on its stop [m/s]."""
    up = row.shift[:1] < row.shift[-1:]
    valve = VALVES.get(row.shift if up else row.shift[::-1])
    if valve is None or (valve == "third_fourth" and car.kind != FOUR_SPEED):
        raise FindingError(f"this box makes no shift '{row.shift}'", where=row.name)
    if car.kind == FOUR_SPEED:
        travel = travel_of(cars, "full") if row.floor else travel_by_vacuum(cars, row.vacuum)
        speed = four_driving.up_speed if up else four_driving.down_speed
        return speed(cars, car, valve, travel, floor=row.floor)
    if row.floor and up:
        return driving.up_speed(cars, car, valve, driving.shift_vacuum(cars, car, "full"), floor=True)
    felt = felt_vacuum(cars, np.full(len(cars), 0.0 if row.floor else row.vacuum))
    if up:
        return driving.up_speed(cars, car, valve, felt)
    return driving.down_speed(cars, car, valve, felt, floor=row.floor)
