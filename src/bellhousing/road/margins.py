"""What the clutches and bands of each gear hold, over what full throttle asks of them, and shift heat."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.friction.capacity import capacity_margin
from bellhousing.friction.engagement import ramp_engagement, temperature_rise
from bellhousing.friction.linings import face_power, power_margin
from bellhousing.geartrain.essential import ElementGroup
from bellhousing.road import driving, gauge, holding
from bellhousing.road.cars import Cars
from bellhousing.road.converter import engine_speed_on_converter
from bellhousing.road.engine import full_torque
from bellhousing.road.four_speed import driving as four_driving
from bellhousing.road.four_speed import gauge as four_gauge
from bellhousing.road.four_speed import holding as four_holding
from bellhousing.road.four_speed.pressures import throttle_pressure, travel_of
from bellhousing.road.pressures import RPM
from bellhousing.road.vehicle import MPH, Vehicle

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

RAMP = 0.4
"""Time in which the cushion gives way to the whole line [s]; common practice, 0.2 to 0.5 s, no source."""

LIGHT_TORQUE = 0.12
"""Turbine torque of a light shift, a share of the engine's peak; common practice, no source."""

STEEL_THICKNESS, STEEL_DENSITY, STEEL_HEAT = 1.95e-3, 7850.0, 460.0
"""A steel plate [m], [kg/m³], [J/(kg·K)]; thickness common practice, no source, the others from memory."""

UNYIELDING = 1e9
"""Inertia of a car seen by its gearbox in a shift: its speed stays [kg·m²]."""

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


@dataclass(frozen=True)
class ShiftHeat:
    """What a change up puts on the elements that come on; infinite where they never bring it together.

    Parameters
    ----------
    into : gear
    throttle : "light", "medium" or "full"
    elements : that come on
    speed : of the road at the change [m/s]
    slip : input speed to be lost [rad/s]
    time, energy : of the change [s], [J]
    power : on each face [W/m²], nan for a band, whose width is not known
    lining_margin : what paper stands over that [-], nan for a band
    steel_rise : mean rise of the steels in one change [K], nan for a band
    """

    into: str
    throttle: str
    elements: tuple[str, ...]
    speed: float
    slip: float
    time: float
    energy: float
    power: float
    lining_margin: float
    steel_rise: float


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


def shift_heats(middle: Cars, car: Vehicle, turning: float = 0.0) -> tuple[ShiftHeat, ...]:
    """Time and heat of every change up of the middle car, at light, medium and full throttle.

    The input falls from the old gear's speed to the new one's while the road speed stays; engine and
    converter shell lose that speed against the elements coming on, which a cushion lets up to the whole line.
    Seen from the input an element of torque C and share s holds ``C/s`` and slips ``Δω·s``: the heat is the
    same.

    Parameters
    ----------
    middle : one car, shape (1,)
    car : the box in its car
    turning : inertia on the input beside the engine's [kg·m²]

    Source: two-inertia engagement; the ramp and the torque of a light shift are common practice, no source.
    """
    readings = (four_driving if car.kind == FOUR_SPEED else driving).readings(middle, car)
    steps = (("12", "first", "second"), ("23", "second", "third"), ("34", "third", "fourth"))
    found = []
    for throttle in ("light", "medium", "full"):
        for short, old, new in steps:
            if new not in car.gears:
                continue
            speed = float(readings[f"upshift-{short}-{throttle}"][0])
            if math.isfinite(speed) and speed > 0.0:
                found.append(_heat(middle, car, old, new, throttle, speed, turning))
    return tuple(found)


def _heat(
    middle: Cars, car: Vehicle, old: str, new: str, throttle: str, speed: float, turning: float
) -> ShiftHeat:
    output = car.output_speed(speed / MPH)
    slip = output * (car.gears[old].ratio - car.gears[new].ratio)
    coming = tuple(
        name.replace("_", "-")
        for name in car.gears[new].applied
        if name not in car.gears[old].applied and _carries(car, new, name)
    )
    line, cushion = _line_of_shift(middle, car, new, throttle, speed)
    held = capacities_at(middle, car, line)
    limits = [holding.input_torque_held(car.gears[new].drive, held, only=name) for name in coming]
    whole = float(np.min(limits))
    share = {"light": LIGHT_TORQUE, "medium": 0.5, "full": 1.0}[throttle]
    done = ramp_engagement(
        slip,
        float(middle["engine.inertia"][0]) + turning,
        UNYIELDING,
        start_torque=cushion * whole,
        end_torque=whole,
        ramp_time=RAMP,
        drive_torque=share * float(middle["engine.peak_torque"][0]),
    )
    time, energy = float(done.time), float(done.energy)
    power, margin, rise = _on_the_plates(middle, coming, time, energy)
    return ShiftHeat(new, throttle, coming, speed, slip, time, energy, power, margin, rise)


def _carries(car: Vehicle, gear: str, name: str) -> bool:
    slug = name.replace("_", "-")
    return slug != "coupling" and any(slug in group.elements for group in car.gears[gear].drive)


def _line_of_shift(
    middle: Cars, car: Vehicle, new: str, throttle: str, speed: float
) -> tuple[FloatArray, float]:
    """Line pressure during the change [Pa] and the share of it its cushion starts from [-]."""
    mph = speed / MPH
    if car.kind == FOUR_SPEED:
        travel = travel_of(middle, throttle)
        backing = throttle_pressure(middle, travel) / middle["throttle_valve.full_pressure"]
        least = four_driving.LEAST_CUSHION
        share = float(np.minimum(least + (1.0 - least) * backing, 1.0)[0])
        return four_gauge.line_under_way(middle, car, new, mph, travel), share
    accumulator = {"second": "accumulator_first_second", "third": "accumulator_second_third"}[new]
    felt = driving.shift_vacuum(middle, car, throttle)
    rpm = max(car.output_speed(mph) * car.gears[new].ratio / RPM, 1000.0)
    line = gauge.line_under_way(middle, car, CIRCUITS[new], mph, rpm, felt)
    return line, float(min(middle[f"{accumulator}.plateau"][0], 1.0))


def _on_the_plates(
    middle: Cars, coming: Sequence[str], time: float, energy: float
) -> tuple[float, float, float]:
    """Heat on each face [W/m²], margin of its lining [-], rise of its steels [K]; nan unless one pack."""
    packs = [name.replace("-", "_") for name in coming if f"{name.replace('-', '_')}.plates" in middle.values]
    if len(packs) != 1 or len(coming) != 1 or not math.isfinite(energy):
        return math.nan, math.nan, math.nan
    outer, inner, faces = (
        float(middle[f"{packs[0]}.{key}"][0]) for key in ("outer_radius", "inner_radius", "plates")
    )
    area = math.pi * (outer**2 - inner**2)
    power = float(face_power(energy, time, faces, area))
    mass = max(faces / 2.0, 1.0) * area * STEEL_THICKNESS * STEEL_DENSITY
    return power, float(power_margin("paper", power)), float(temperature_rise(energy, mass, STEEL_HEAT))
