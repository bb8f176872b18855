"""What changes up, and going into gear, put on the elements that come on: time, heat, heat on each face."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.friction.engagement import (
    common_speed,
    engagement_energy,
    ramp_engagement,
    temperature_rise,
)
from bellhousing.friction.linings import face_power, power_margin
from bellhousing.road import driving, gauge, holding
from bellhousing.road.cars import Cars
from bellhousing.road.engaging import TAKE_UP
from bellhousing.road.four_speed import driving as four_driving
from bellhousing.road.four_speed import gauge as four_gauge
from bellhousing.road.four_speed.holding import coupling_torque
from bellhousing.road.four_speed.pressures import throttle_pressure, travel_of
from bellhousing.road.margins import CIRCUITS, capacities_at
from bellhousing.road.pressures import RPM
from bellhousing.road.vehicle import MPH, Vehicle

FloatArray = NDArray[np.float64]

RAMP = 0.4
"""Time in which the cushion gives way to the whole line [s]; common practice, 0.2 to 0.5 s, no source."""

LIGHT_TORQUE = 0.12
"""Turbine torque of a light shift, a share of the engine's peak; common practice, no source."""

STEEL_THICKNESS, STEEL_DENSITY, STEEL_HEAT = 1.95e-3, 7850.0, 460.0
"""A steel plate [m], [kg/m³], [J/(kg·K)]; thickness common practice, no source, the others from memory."""

UNYIELDING = 1e9
"""Inertia of a car seen by its gearbox in a shift: its speed stays [kg·m²]."""

BEHIND_COUPLING = ("rear_band", "rear_clutch", "reverse_anchor")
"""What stops the coupling's runner in a four-speed; the front unit's own drum is light and is left out."""


@dataclass(frozen=True)
class ShiftHeat:
    """What a change puts on the elements that come on; infinite where they never bring it together.

    Parameters
    ----------
    into : gear, "drive" or "reverse" where it starts from neutral
    throttle : "light", "medium" or "full", "idle" from neutral
    elements : that come on
    speed : of the road at the change [m/s]
    slip : input speed to be lost [rad/s]
    time, energy : of the change [s], [J]
    power : on each face [W/m²], nan for a band, whose width is not known
    lining_margin : what paper stands over that [-], nan for a band
    steel_rise : mean rise of the steels in one change [K], nan for a band
    before, after : speed of the input before the change and after it [rad/s]
    turned : part of the energy that was in what turned; the engine pushed the rest [J]
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
    before: float = math.nan
    after: float = math.nan
    turned: float = math.nan


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


def engagement_heats(middle: Cars, car: Vehicle, turning: float) -> tuple[ShiftHeat, ...]:
    """Time and heat of N to drive and N to reverse of the middle car at a hot idle, the car standing.

    What comes on stops the turbine, or the coupling's runner, from idle speed against a car that stands, its
    torque rising evenly to that of the idle line.  Meanwhile converter or coupling drives with the torque
    it is stopped with, at most that it gives at stall: the heat is at most this.

    Parameters
    ----------
    middle : one car, shape (1,)
    car : the box in its car
    turning : inertia of turbine or runner and what turns with it [kg·m²]

    Source: two-inertia engagement; the time of the ramp is common practice, no source.
    """
    idle = float(middle["engine.idle_speed"][0])
    found = []
    for into, gear in (("drive", "first"), ("reverse", "reverse")):
        coming, whole, driven = _from_neutral(middle, car, gear, idle)
        # Until it holds more than drives it, it slips at idle speed.
        before = TAKE_UP * min(driven / max(whole, 1e-9), 1.0)
        done = ramp_engagement(
            idle,
            turning,
            UNYIELDING,
            start_torque=min(driven, whole),
            end_torque=whole,
            ramp_time=TAKE_UP - before,
            drive_torque=driven,
        )
        time = before + float(done.time)
        energy = 0.5 * min(driven, whole) * idle * before + float(done.energy)
        power, margin, rise = _on_the_plates(middle, coming, time, energy)
        found.append(ShiftHeat(into, "idle", coming, 0.0, idle, time, energy, power, margin, rise))
    return tuple(found)


def _from_neutral(middle: Cars, car: Vehicle, gear: str, idle: float) -> tuple[tuple[str, ...], float, float]:
    """Elements that stop what is driven, torque they hold there and torque that drives it [N·m]."""
    holds = car.gears[gear]
    applied = [name for name in holds.applied if _carries(car, gear, name)]
    if car.kind == FOUR_SPEED:
        line = four_gauge.line_at_idle(middle, car, gear)
        applied = [name for name in applied if name in BEHIND_COUPLING]
        # The coupling's input turns slower than the engine once the front band holds, and bears more.
        share = holds.coupling_speed
        driven = float(coupling_torque(middle, share * idle, 0.0)[0])
    else:
        line, share = gauge.line_at_idle(middle, car, CIRCUITS[gear]), 1.0
        stall = (idle / middle["converter.capacity_factor"]) ** 2
        driven = float((middle["converter.stall_torque_ratio"] * stall)[0])
    held = capacities_at(middle, car, line)
    coming = tuple(name.replace("_", "-") for name in applied)
    limits = [holding.input_torque_held(holds.drive, held, only=(name,)) for name in coming]
    return coming, float(np.min(limits)) / share, driven


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
    limits = [holding.input_torque_held(car.gears[new].drive, held, only=(name,)) for name in coming]
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
    inertia = float(middle["engine.inertia"][0]) + turning
    before = output * car.gears[old].ratio
    after = float(common_speed(before, inertia, output * car.gears[new].ratio, UNYIELDING))
    turned = float(engagement_energy(slip, inertia, UNYIELDING))
    return ShiftHeat(
        new, throttle, coming, speed, slip, time, energy, power, margin, rise, before, after, turned
    )


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
