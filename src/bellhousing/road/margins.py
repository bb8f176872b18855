"""What the clutches and bands of each gear hold, over what full throttle asks of them."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.friction.capacity import capacity_margin
from bellhousing.geartrain.essential import ElementGroup
from bellhousing.road import driving, gauge, holding
from bellhousing.road.cars import Cars
from bellhousing.road.converter import engine_speed_on_converter
from bellhousing.road.engine import full_torque
from bellhousing.road.four_speed import driving as four_driving
from bellhousing.road.four_speed import gauge as four_gauge
from bellhousing.road.four_speed import holding as four_holding
from bellhousing.road.pressures import RPM
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]

CIRCUITS = {
    "first": "D1",
    "second": "D2",
    "third": "D3",
    "reverse": "R",
    "low": "low",
    "second-range": "second",
}
"""Circuit under pressure in each gear of a three-speed."""

STALLED = ("first", "low", "reverse")
"""Gears a car pulls away in, so that the converter's whole torque ratio acts; common practice, no source."""

HIGHEST = 400.0 * 6894.757


@dataclass(frozen=True)
class GroupMargin:
    """One group of elements a gear cannot do without.

    Parameters
    ----------
    elements : side by side or in a chain
    share : torque they carry per unit input torque [-]
    held : input torque they hold at each pressure, (k, n) [N·m]
    margin : of that over what full throttle asks, at the line full throttle gives, (n,) [-]
    slips_below : line pressure below which the middle car slips at full throttle [Pa], inf = always
    """

    elements: tuple[str, ...]
    share: float
    held: FloatArray
    margin: FloatArray
    slips_below: float


@dataclass(frozen=True)
class GearMargins:
    """A gear: its ratio [-], input torque at full throttle [N·m], line there [Pa], and its groups."""

    gear: str
    ratio: float
    demand: FloatArray
    line: FloatArray
    groups: tuple[GroupMargin, ...]


def capacities_at(cars: Cars, car: Vehicle, line: FloatArray) -> dict[str, FloatArray]:
    """Torque each element holds [N·m] at a line pressure [Pa], by the laws of the box's kind."""
    if car.kind == FOUR_SPEED:
        return four_holding.capacities(cars, line)
    return holding.capacities(cars, line)


def full_throttle_demand(cars: Cars, car: Vehicle, gear: str) -> FloatArray:
    """Input torque the gear train is given at full throttle [N·m].

    Behind a converter: the engine's torque at stall times the stall ratio in the gears a car pulls away in,
    the engine's peak in the others, where the converter has caught up. With the coupling inside the train:
    the engine's peak throughout.

    Source: common practice, no source.
    """
    peak = cars["engine.peak_torque"] * cars["engine.torque_share"]
    if car.kind == FOUR_SPEED or gear not in STALLED:
        return np.asarray(peak)
    speed = engine_speed_on_converter(peak, cars["engine.peak_speed"], cars["converter.capacity_factor"])
    return np.asarray(full_torque(cars, speed) * cars["converter.stall_torque_ratio"])


def line_at_full_throttle(cars: Cars, car: Vehicle, gear: str) -> FloatArray:
    """Line pressure in a gear with the pedal down [Pa], standing in the gears a car pulls away in."""
    _, mph, rpm = driving.LOADS.get(gear, (0.7, 40.0, 2200.0))
    if car.kind == FOUR_SPEED:
        if gear in STALLED:
            return four_gauge.line_standing(cars, car, gear, 1700.0 * RPM, travel=1.0)
        return four_gauge.line_under_way(cars, car, gear, four_driving.PULLS[gear][1], 1.0)
    felt = np.zeros(len(cars))
    mph = 0.0 if gear in STALLED else mph
    return gauge.line_under_way(cars, car, CIRCUITS[gear], mph, max(rpm, 2000.0), felt)


def gear_margins(
    cars: Cars, middle: Cars, car: Vehicle, pressures: Sequence[float]
) -> tuple[GearMargins, ...]:
    """Margins of every gear that drives.

    Formula: ``margin = capacity/(|share|·T_in)`` with the capacity of the group at the line pressure
    [-]; slip starts below 1.

    Parameters
    ----------
    cars : plausible sound cars of the box
    middle : the middle one, shape (1,)
    car : the box in its car
    pressures : of the line, at which the torque held is told [Pa]

    Source: capacities by uniform wear and by the capstan equation; the share by solving the gear train.
    """
    found = []
    for gear, holds in car.gears.items():
        demand = full_throttle_demand(cars, car, gear)
        line = line_at_full_throttle(cars, car, gear)
        groups = [group for group in holds.drive if group.elements != ("coupling",)]
        made = tuple(_margin(group, cars, middle, car, gear, pressures) for group in groups)
        found.append(GearMargins(gear, holds.ratio, demand, line, made))
    return tuple(found)


def _margin(
    group: ElementGroup, cars: Cars, middle: Cars, car: Vehicle, gear: str, pressures: Sequence[float]
) -> GroupMargin:
    def held(some: Cars, line: FloatArray) -> FloatArray:
        return holding.input_torque_held((group,), capacities_at(some, car, line))

    rows = np.stack([held(cars, np.full(len(cars), pressure)) for pressure in pressures])
    line = line_at_full_throttle(cars, car, gear)
    margin = capacity_margin(held(cars, line), full_throttle_demand(cars, car, gear))
    needed = float(full_throttle_demand(middle, car, gear)[0])
    return GroupMargin(group.elements, abs(group.torque), rows, margin, _slips_below(held, middle, needed))


def _slips_below(held: Callable[[Cars, FloatArray], FloatArray], middle: Cars, needed: float) -> float:
    low, high = 0.0, HIGHEST
    if float(held(middle, np.full(1, high))[0]) < needed:
        return math.inf
    for _ in range(40):
        centre = 0.5 * (low + high)
        if float(held(middle, np.full(1, centre))[0]) < needed:
            low = centre
        else:
            high = centre
    return high


def element_capacities(cars: Cars, car: Vehicle, pressures: Sequence[float]) -> dict[str, FloatArray]:
    """Torque each element holds by itself at each pressure, (k, n) [N·m]."""
    rows = [capacities_at(cars, car, np.full(len(cars), pressure)) for pressure in pressures]
    names = [name for name in rows[0] if name != "coupling"]
    return {name: np.stack([row[name] for row in rows]) for name in names}
