"""A four-speed on the road: shift speeds, feel, flare and bind, slip, kickdown, dead ranges, stall."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from bellhousing.hydraulics.shift_map import road_speed
from bellhousing.hydraulics.shift_valve import ShiftValve, shift_speed
from bellhousing.road.cars import Cars
from bellhousing.road.converter import coupling_stall_speed
from bellhousing.road.driving import CREEP_TORQUE, LOADS, TOP, feel, shift_valve, two
from bellhousing.road.four_speed.gauge import line_standing, line_under_way
from bellhousing.road.four_speed.holding import capacities
from bellhousing.road.four_speed.pressures import (
    governor_at_valve,
    line,
    signal_at,
    throttle_pressure,
    travel_of,
)
from bellhousing.road.four_speed.timing import change_into, overlap
from bellhousing.road.holding import input_torque_held, soft
from bellhousing.road.pressures import RPM, regulator_of
from bellhousing.road.vehicle import MPH, Vehicle

FloatArray = NDArray[np.float64]

VALVES = {"12": "first_second", "23": "second_third", "34": "third_fourth"}
INTO = {"12": "second", "23": "third", "34": "fourth"}

PULLS = {**LOADS, "second": (0.7, 25.0, 2200.0), "third": (0.7, 35.0, 2200.0), "fourth": (0.7, 50.0, 2200.0)}
"""As on the three-speed, at the speeds of four gears; common practice, no source."""

LEAST_CUSHION = 0.25
"""Share of the line that brings an element on in a change with the throttle shut; throttle pressure backs the
cushion up to the whole line at full throttle. Common practice, no source."""

CHANGE_SPEEDS = {"second": 10.0, "third": 17.0, "fourth": 24.0}
"""Road speed of a light change into a gear [mph]; common practice, no source."""

LATE_BY, LATE_WIDTH = 0.1, 0.02
"""Overlap error that is felt as a flare or a bind, and the width of that threshold [s]; common practice."""

TURNING_TORQUE = 150.0
"""Torque that turns a stopped engine over [N m]; common practice, no source."""


def up_speed(
    cars: Cars, car: Vehicle, valve: str, travel: FloatArray | float, *, floor: bool = False
) -> FloatArray:
    """Road speed of an upshift [m/s]: 0 where it starts in the higher gear, inf where it never comes."""
    return _shift_speed(cars, car, valve, travel, floor, up=True)


def down_speed(
    cars: Cars, car: Vehicle, valve: str, travel: FloatArray | float, *, floor: bool = False
) -> FloatArray:
    """Road speed of a downshift [m/s]: inf where the higher gear never held, 0 where it stays up."""
    return _shift_speed(cars, car, valve, travel, floor, up=False)


def _shift_speed(
    cars: Cars, car: Vehicle, name: str, travel: FloatArray | float, floor: bool, *, up: bool
) -> FloatArray:
    speed = shift_speed(
        valve_at(cars, name, floor=floor),
        governor_at_valve(cars, name),
        signal_at(cars, travel),
        0.0,
        up=up,
        regulator=regulator_of(cars),
        line=_most_line(cars, car),
    )
    on_road = road_speed(speed, car.axle_ratio, car.tyre_radius) * np.ones(len(cars))
    return np.where(on_road > TOP, np.inf, on_road)


def valve_at(cars: Cars, name: str, *, floor: bool) -> ShiftValve:
    """A shift valve; on the floor a detent lets back onto it the throttle pressure an upshift cut off."""
    valve = shift_valve(cars, name)
    if not floor:
        return valve
    works = cars["detent.works"] * (1.0 - cars["detent.valve_sticks"])
    forced = cars[f"shift_valves.{name}.detent_gain"]
    return replace(valve, down_gain=np.where(works > 0.5, forced, valve.down_gain))


def _most_line(cars: Cars, car: Vehicle) -> FloatArray:
    """What the pumps can hold under way, whatever the regulator asks [Pa]."""
    wanted = np.full(len(cars), 1e7)
    return line(cars, car.gears["second"].applied, wanted, 2000.0 * RPM, car.output_speed(30.0))


def spare_torque(cars: Cars, car: Vehicle, gear: str) -> FloatArray:
    """Input torque the incoming elements hold beyond the engine's on a light change up into `gear` [N m]."""
    travel = travel_of(cars, "light")
    there = line_under_way(cars, car, gear, CHANGE_SPEEDS[gear], travel)
    backing = throttle_pressure(cars, travel) / cars["throttle_valve.full_pressure"]
    cushion = np.minimum(LEAST_CUSHION + (1.0 - LEAST_CUSHION) * backing, 1.0)
    held = capacities(cars, there)
    coming, _ = change_into(car, gear)
    limits = [
        input_torque_held(car.gears[gear].drive, held, only=(name,))
        for name in coming
        if any(name.replace("_", "-") in group.elements for group in car.gears[gear].drive)
    ]
    return np.asarray(np.min(limits, axis=0) * cushion - 0.12 * cars["engine.peak_torque"])


def readings(cars: Cars, car: Vehicle) -> dict[str, FloatArray]:
    """Shift speeds [m/s] and stall speeds [rad/s] by finding."""
    shown: dict[str, FloatArray] = {}
    for throttle in ("light", "medium", "full"):
        travel = travel_of(cars, throttle)
        before = np.zeros(len(cars))
        for short, valve in VALVES.items():
            speed = up_speed(cars, car, valve, travel, floor=throttle == "full")
            before = shown[f"upshift-{short}-{throttle}"] = np.maximum(speed, before)
    for short, valve in VALVES.items():
        shown[f"coast-down-{short[::-1]}"] = down_speed(cars, car, valve, 0.0)
    shown["forced-down-43"] = down_speed(cars, car, "third_fourth", travel_of(cars, "full"), floor=True)
    for name, gear in (("stall-drive", "first"), ("stall-reverse", "reverse")):
        holds = car.gears[gear]
        held = capacities(cars, line_standing(cars, car, gear, 1700.0 * RPM, travel=1.0))
        limit = input_torque_held(holds.drive, held)
        shown[name] = coupling_stall_speed(cars, limit, holds.coupling_speed)
    return shown


def chances(cars: Cars, car: Vehicle, shown: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
    """Slip, feel, flare and bind, kickdown, push-start and dead ranges as chances of states."""
    found = {f"slip-{gear}": two(_slips(cars, car, gear)) for gear in PULLS}
    usual = {
        "second": car.reference.spare_first_second,
        "third": car.reference.spare_second_third,
        "fourth": car.reference.spare_third_fourth,
    }
    for short, gear in INTO.items():
        late, early = overlap(cars, car, gear)
        made = feel(spare_torque(cars, car, gear), usual[gear], shown[f"upshift-{short}-light"])
        found[f"shift-feel-{short}"] = _flared(made, soft((late - LATE_BY) / LATE_WIDTH))
        if short != "12":
            made_at_all = 1.0 - found[f"shift-feel-{short}"][:, 3]
            found[f"shift-binds-{short}"] = two(0.97 * soft((early - LATE_BY) / LATE_WIDTH) * made_at_all)
    found["kickdown"] = _kickdown(shown)
    found["push-start"] = two(_no_push_start(cars, car))
    found["dead-ranges"] = _dead_ranges(cars, car)
    return found


def _flared(states: FloatArray, flare: FloatArray) -> FloatArray:
    """Clean, harsh, slides or flares, never: with a flare added where the change is made at all."""
    made = 1.0 - states[:, 3]
    moved = np.minimum(flare, 1.0)[:, None] * states[:, :2]
    kept = states.copy()
    kept[:, :2] -= moved
    kept[:, 2] = np.minimum(kept[:, 2] + moved.sum(axis=1), made)
    return kept


def _slips(cars: Cars, car: Vehicle, gear: str) -> FloatArray:
    share, mph, rpm = PULLS[gear]
    there = line_under_way(cars, car, gear, mph, 0.8)
    held = capacities(cars, there, rpm * RPM * car.gears[gear].coupling_speed)
    demand = share * cars["engine.peak_torque"] * cars["engine.torque_share"]
    margin = input_torque_held(car.gears[gear].drive, held) / demand
    return 0.97 * soft((0.97 - margin) / 0.05)


def _kickdown(shown: Mapping[str, FloatArray]) -> FloatArray:
    """Works, late, none: the pedal floored at about 40 mph in fourth."""
    in_top = np.isfinite(shown["upshift-34-light"]) & (shown["upshift-34-light"] < 38.0 * MPH)
    works = np.where(in_top, soft((shown["forced-down-43"] - 40.0 * MPH) / (1.5 * MPH)), 0.1)
    return np.stack([works, np.zeros_like(works), 1.0 - works], axis=1)


def _no_push_start(cars: Cars, car: Vehicle) -> FloatArray:
    """With the engine stopped the rear pump alone at 25 mph must hold enough in first to turn it over."""
    first = car.gears["first"]
    there = line(cars, first.applied, throttle_pressure(cars, 0.0), 0.0, car.output_speed(25.0))
    margin = input_torque_held(first.drive, capacities(cars, there)) / TURNING_TORQUE
    return 0.97 * soft((1.0 - margin) / 0.1)


def _dead_ranges(cars: Cars, car: Vehicle) -> FloatArray:
    """All drive, drives in neutral, no reverse, D dead but low drives, nothing forward, nothing at all.

    Low applies what first does, so it never drives where first is dead.
    """
    drives = {}
    for gear in ("first", "reverse"):
        there = line_standing(cars, car, gear, cars["engine.idle_speed"])
        held = capacities(cars, there, 1000.0 * RPM * car.gears[gear].coupling_speed)
        margin = input_torque_held(car.gears[gear].drive, held) / CREEP_TORQUE
        drives[gear] = soft((margin - 1.0) / 0.1) * cars["shaft.whole"]
    first, reverse = drives["first"], drives["reverse"]
    none = np.zeros_like(first)
    return np.stack(
        [
            first * reverse,
            none,
            first * (1.0 - reverse),
            none,
            (1.0 - first) * reverse,
            (1.0 - first) * (1.0 - reverse),
        ],
        axis=1,
    )
