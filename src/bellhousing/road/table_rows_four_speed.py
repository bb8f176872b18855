"""What four-speed cars would show in a row of a printed table."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.readings import TableRow
from bellhousing.hydraulics.governor import governor_pressure
from bellhousing.road.cars import Cars
from bellhousing.road.driving import TOP
from bellhousing.road.four_speed.driving import down_speed, up_speed
from bellhousing.road.four_speed.gauge import line_under_way
from bellhousing.road.four_speed.pressures import governor_signals, line, throttle_pressure, travel_of
from bellhousing.road.vehicle import MPH, Vehicle

FloatArray = NDArray[np.float64]

VALVES: Mapping[str, str] = {
    "1-2": "first_second",
    "2-1": "first_second",
    "2-3": "second_third",
    "3-2": "second_third",
    "3-4": "third_fourth",
    "4-3": "third_fourth",
}

GEARS: Mapping[str, str] = {"1": "first", "2": "second", "3": "third", "4": "fourth"}

UNDER_WAY = (("first", 12.0), ("second", 20.0), ("third", 28.0), ("fourth", np.inf))
"""Gear in which a road speed is driven with light throttle, each up to a speed [mph]; common practice, no
source."""


def four_speed_row(row: TableRow, cars: Cars, car: Vehicle) -> FloatArray:
    """What each car shows in a row [Pa or m/s]; no shift counts above 110 mph."""
    if row.what == "throttle-signal":
        return throttle_pressure(cars, _travel(row, cars))
    if row.what == "line":
        return _line(row, cars, car)
    if row.what == "governor":
        return _governor(row, cars, car)
    valve = VALVES[row.shift]
    if row.what == "upshift":
        shown = up_speed(cars, car, valve, _travel(row, cars), floor=row.throttle == "full")
    elif row.what == "forced-downshift":
        shown = down_speed(cars, car, valve, travel_of(cars, "full"), floor=True)
    else:
        shown = down_speed(cars, car, valve, _travel(row, cars))
    return np.minimum(shown, TOP)


def _travel(row: TableRow, cars: Cars, unnamed: str = "closed") -> FloatArray:
    """Pedal travel in a row [-]."""
    named = row.throttle or unnamed
    return np.zeros(len(cars)) if named == "closed" else travel_of(cars, named)


def _line(row: TableRow, cars: Cars, car: Vehicle) -> FloatArray:
    """Line pressure in a range or gear, standing or under way."""
    gear = "reverse" if row.range == "R" else GEARS[row.gear or "1"]
    applied = () if row.range in ("N", "P") else car.gears[gear].applied
    output = car.output_speed(row.road_speed / MPH)
    if row.engine_speed is not None:
        engine: FloatArray | float = row.engine_speed
    else:
        engine = np.maximum(output * abs(car.gears[gear].ratio), cars["engine.idle_speed"])
    signal = throttle_pressure(cars, _travel(row, cars, "light" if output else "closed"))
    return line(cars, applied, signal, engine, output, reverse=row.range == "R")


def _governor(row: TableRow, cars: Cars, car: Vehicle) -> FloatArray:
    """One governor signal, never above the line that feeds it."""
    mph = row.road_speed / MPH
    gear = next(name for name, most in UNDER_WAY if mph < most)
    first, second = governor_signals(cars)
    fed = line_under_way(cars, car, gear, mph, _travel(row, cars, "light"))
    curve = first if row.signal == "first" else second
    return governor_pressure(curve, car.output_speed(mph), fed)
