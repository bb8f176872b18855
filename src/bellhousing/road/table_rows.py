"""What cars of a box would show in each row of a printed table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.boxes.readings import Table, TableRow
from bellhousing.hydraulics.modulator import throttle_signal
from bellhousing.road.cars import Cars
from bellhousing.road.driving import OVERRUN_VACUUM, TOP, down_speed, up_speed
from bellhousing.road.engine import idle_vacuum, vacuum_under_way
from bellhousing.road.gauge import IN_GEAR_LOSS
from bellhousing.road.pressures import HOT, felt_vacuum, governor_at, line, signal_of
from bellhousing.road.table_rows_four_speed import four_speed_row
from bellhousing.road.vehicle import MPH, Vehicle, bare_vehicle

FloatArray = NDArray[np.float64]

VALVES: Mapping[str, str] = {
    "1-2": "first_second",
    "2-1": "first_second",
    "2-3": "second_third",
    "3-2": "second_third",
}

USUAL_RADIUS = 0.345
"""Stands in where no row needs a tyre [m]."""


class PrintedTable:
    """The rows of a table, each with the car it is for, ready to be foretold for any number of cars."""

    def __init__(self, box: Box, table: Table) -> None:
        radius = table.tyre_radius or USUAL_RADIUS
        axles = {row.axle_ratio or 1.0 for row in table.rows}
        self.rows = table.rows
        self._four = box.kind == FOUR_SPEED
        car = bare_vehicle(box, 1.0, radius, 0.0)
        self._cars = {axle: replace(car, axle_ratio=axle) for axle in axles}

    def foretold(self, cars: Cars) -> FloatArray:
        """What each car would show in each row, (n, rows) [Pa or m/s]; no shift counts above 110 mph."""
        one = four_speed_row if self._four else _shown
        shown = [
            np.broadcast_to(one(row, cars, self._cars[row.axle_ratio or 1.0]), len(cars)) for row in self.rows
        ]
        return np.stack(shown, axis=1).astype(np.float64)


def _shown(row: TableRow, cars: Cars, car: Vehicle) -> FloatArray:
    if row.what == "line":
        gear = f"D{row.gear}" if row.range == "D" else row.range
        return line(cars, gear, _signal(row, cars, car), _engine_speed(row, cars), HOT)
    if row.what == "throttle-signal":
        return _signal(row, cars, car)
    output = car.output_speed(row.road_speed / MPH)
    if row.what == "governor":
        fed = line(cars, "D1", _signal(row, cars, car), _engine_speed(row, cars), HOT)
        return governor_at(cars, output, fed)
    valve = VALVES[row.shift]
    if row.what == "upshift":
        floor = row.throttle == "full"
        return np.minimum(up_speed(cars, car, valve, _felt(row, cars), floor=floor), TOP)
    if row.what == "forced-downshift":
        felt = felt_vacuum(cars, vacuum_under_way(cars, "full"))
        return np.minimum(down_speed(cars, car, valve, felt, floor=True), TOP)
    return np.minimum(down_speed(cars, car, valve, _felt(row, cars)), TOP)


def _felt(row: TableRow, cars: Cars) -> FloatArray:
    """Vacuum the diaphragm feels in a row [Pa]."""
    if row.vacuum is not None:
        return felt_vacuum(cars, np.full(len(cars), row.vacuum))
    if row.throttle is not None:
        return felt_vacuum(cars, vacuum_under_way(cars, row.throttle))
    if row.what == "coast-down":
        return felt_vacuum(cars, np.full(len(cars), OVERRUN_VACUUM))
    idle = idle_vacuum(cars, 0.0) - (0.0 if row.range in ("N", "P") else IN_GEAR_LOSS)
    return felt_vacuum(cars, np.maximum(idle, 0.0), idle=True)


def _signal(row: TableRow, cars: Cars, car: Vehicle) -> FloatArray:
    """Throttle signal in a row, cut back where the car is under way [Pa]."""
    output = car.output_speed(row.road_speed / MPH)
    governor = governor_at(cars, output, np.inf)
    return throttle_signal(signal_of(cars), _felt(row, cars), governor)


def _engine_speed(row: TableRow, cars: Cars) -> FloatArray:
    if row.engine_speed is None:
        return cars["engine.idle_speed"]
    return np.full(len(cars), row.engine_speed)
