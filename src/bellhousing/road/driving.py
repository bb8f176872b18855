"""The road: shift speeds, feel, slip, kickdown, engine braking, dead ranges and stall."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.hydraulics.governor import GovernorCurve
from bellhousing.hydraulics.modulator import ThrottleSignal
from bellhousing.hydraulics.regulator import Regulator
from bellhousing.hydraulics.shift_map import road_speed
from bellhousing.hydraulics.shift_valve import ShiftValve, shift_speed
from bellhousing.road.cars import Cars
from bellhousing.road.converter import stall_speed
from bellhousing.road.engine import INHG, SHUT_VACUUM, idle_vacuum, vacuum_under_way
from bellhousing.road.gauge import line_at_idle, line_under_way
from bellhousing.road.holding import capacities, input_torque_held, soft
from bellhousing.road.pressures import (
    RPM,
    felt_vacuum,
    governor_of,
    line,
    regulator_of,
    signal_of,
    standing_signal,
)
from bellhousing.road.vehicle import MPH, Vehicle

FloatArray = NDArray[np.float64]

TOP = 110.0 * MPH
"""A shift above this road speed never happens on any road [m/s]."""

OVERRUN_VACUUM = SHUT_VACUUM
DEEP_VACUUM = 2.0 * INHG
CREEP_TORQUE = 35.0
"""Turbine torque with a little throttle, enough to move the car [N m]; common practice, no source."""

LOADS = {
    "first": (0.75, 15.0, 2000.0),
    "second": (0.7, 30.0, 2200.0),
    "third": (0.7, 45.0, 2200.0),
    "reverse": (0.5, 3.0, 1500.0),
}
"""Turbine torque as a share of peak, road speed [mph] and engine speed [rpm] of the pull in each gear where
slip is looked for; common practice, no source."""


def shift_valve(cars: Cars, name: str, load: FloatArray | float = 1.0) -> ShiftValve:
    """A shift valve as it is on these cars; a sticking detent train gives no part-throttle downshift."""
    return ShiftValve(
        gain=cars[f"shift_valves.{name}.gain"],
        offset=cars[f"shift_valves.{name}.offset"],
        down_gain=cars[f"shift_valves.{name}.downshift_gain"] * load * (1.0 - cars["detent.valve_sticks"]),
        down_offset=cars[f"shift_valves.{name}.downshift_offset"],
        detent_gain=cars[f"shift_valves.{name}.detent_gain"],
        friction=cars[f"shift_valves.{name}.friction"],
        stuck=cars[f"shift_valves.{name}.stuck"],
    )


def shift_vacuum(cars: Cars, car: Vehicle, throttle: str) -> FloatArray:
    """Vacuum the diaphragm feels at the shift [Pa]; a restricted pipe still holds some of the idle's."""
    return felt_at(cars, car, vacuum_under_way(cars, throttle))


def felt_at(cars: Cars, car: Vehicle, now: FloatArray) -> FloatArray:
    """Vacuum the diaphragm feels [Pa] at a manifold vacuum under way [Pa], the pipe's lag counted."""
    lagging = now + cars["hose.lag"] * np.maximum(idle_vacuum(cars, car.altitude) - now, 0.0)
    return felt_vacuum(cars, lagging)


def detent_pressure(cars: Cars, *, floor: bool) -> FloatArray:
    """Forced-downshift pressure on the shift valves [Pa], the pedal on its stop or off it."""
    works = cars["detent.works"] * (1.0 - cars["detent.valve_sticks"]) if floor else 0.0
    return np.asarray(cars["detent.pressure"] * np.maximum(cars["detent.always"], works))


@dataclass(frozen=True)
class Shifting:
    """What all shift valves of the cars have in common, worked out once for several shifts."""

    governor: GovernorCurve
    signal: ThrottleSignal
    regulator: Regulator
    line: FloatArray  # most line pressure the pump holds where shifts are made [Pa]

    @classmethod
    def of(cls, cars: Cars) -> Shifting:
        """As the parts are on these cars."""
        most = line(cars, "D2", np.full(len(cars), 1e7), 2000.0 * RPM)
        return cls(governor_of(cars), signal_of(cars), regulator_of(cars), most)


def up_speed(
    cars: Cars,
    car: Vehicle,
    valve: str,
    felt: FloatArray,
    *,
    floor: bool = False,
    parts: Shifting | None = None,
) -> FloatArray:
    """Road speed of an upshift [m/s]: 0 where it starts in the higher gear, inf where it never comes.

    `felt` is (cars,) or (throttles, cars), and so is the answer.
    """
    return _shift_speed(cars, car, valve, felt, floor, parts, up=True)


def down_speed(
    cars: Cars,
    car: Vehicle,
    valve: str,
    felt: FloatArray,
    *,
    floor: bool = False,
    load: FloatArray | float = 1.0,
    parts: Shifting | None = None,
) -> FloatArray:
    """Road speed of a downshift [m/s]: inf where the higher gear never held, 0 where it stays up.

    `load` is the share of the load signal that acts on the valve; `felt` as in `up_speed`.
    """
    return _shift_speed(cars, car, valve, felt, floor, parts, up=False, load=load)


def _shift_speed(
    cars: Cars,
    car: Vehicle,
    valve: str,
    felt: FloatArray,
    floor: bool,
    parts: Shifting | None,
    *,
    up: bool,
    load: FloatArray | float = 1.0,
) -> FloatArray:
    parts = Shifting.of(cars) if parts is None else parts
    speed = shift_speed(
        shift_valve(cars, valve, load),
        parts.governor,
        parts.signal,
        felt,
        up=up,
        detent=detent_pressure(cars, floor=floor),
        regulator=parts.regulator,
        line=parts.line,
    )
    speed = road_speed(speed, car.axle_ratio, car.tyre_radius)
    late = speed > TOP
    return np.where(late, np.inf, speed) if late.any() else speed


def spare_torque(cars: Cars, car: Vehicle, gear: str) -> FloatArray:
    """Input torque the incoming element holds beyond the turbine's on a light shift into `gear` [N m]."""
    accumulator = "accumulator_first_second" if gear == "second" else "accumulator_second_third"
    mph, circuit = (12.0, "D2") if gear == "second" else (18.0, "D3")
    there = line_under_way(cars, car, circuit, mph, 1600.0, shift_vacuum(cars, car, "light"))
    # The plateau scales what the clutch has beyond its return springs' share of the line.
    held = capacities(cars, there)
    groups = car.gears[gear].drive
    share = np.minimum(cars[f"{accumulator}.plateau"], 1.0)
    return (
        input_torque_held(groups, held, only=cars.layout.coming(circuit)) * share
        - 0.12 * cars["engine.peak_torque"]
    )


def readings(cars: Cars, car: Vehicle) -> dict[str, FloatArray]:
    """Shift speeds [m/s] and stall speeds [rad/s] by finding."""
    shown = {}
    valves = {"12": "first_second", "23": "second_third"}
    for throttle in ("light", "medium", "full"):
        felt = shift_vacuum(cars, car, throttle)
        for short, valve in valves.items():
            shown[f"upshift-{short}-{throttle}"] = up_speed(cars, car, valve, felt, floor=throttle == "full")
        shown[f"upshift-23-{throttle}"] = np.maximum(
            shown[f"upshift-23-{throttle}"], shown[f"upshift-12-{throttle}"]
        )
    overrun = felt_vacuum(cars, np.full(len(cars), OVERRUN_VACUUM))
    for short, valve in (("32", "second_third"), ("21", "first_second")):
        shown[f"coast-down-{short}"] = down_speed(cars, car, valve, overrun, load=cars["coast.load_share"])
    at_stall = standing_signal(cars, felt_vacuum(cars, cars["throttle.short"]))
    for name, gear, circuit in (("stall-drive", "first", "D1"), ("stall-reverse", "reverse", "R")):
        held = capacities(cars, line(cars, circuit, at_stall, 2000.0 * RPM))
        shown[name] = stall_speed(cars, input_torque_held(car.gears[gear].drive, held))
    return shown


def chances(cars: Cars, car: Vehicle, shown: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
    """Slip, feel, downshifts, engine braking and dead ranges as chances of states."""
    found = {f"slip-{gear}": two(_slips(cars, car, gear)) for gear in LOADS}
    second, third = (spare_torque(cars, car, gear) for gear in ("second", "third"))
    found["shift-feel-12"] = feel(second, car.reference.spare_first_second, shown["upshift-12-light"])
    found["shift-feel-23"] = feel(third, car.reference.spare_second_third, shown["upshift-23-light"])
    in_third = np.isfinite(shown["upshift-23-light"]) & (shown["upshift-23-light"] < 50.0 * MPH)
    found |= _downshifts(cars, car, in_third)
    for name, gear in (("second", "second-range"), ("low", "low"), ("top", "third")):
        found[f"engine-braking-{name}"] = two(_no_braking(cars, car, gear))
    found["dead-ranges"] = _dead_ranges(cars, car)
    return found


def two(chance: FloatArray) -> FloatArray:
    """Chances of the first and of the second of two states."""
    return np.stack([1.0 - chance, chance], axis=1)


def _slips(cars: Cars, car: Vehicle, gear: str) -> FloatArray:
    share, mph, rpm = LOADS[gear]
    circuit = {"first": "D1", "second": "D2", "third": "D3", "reverse": "R"}[gear]
    felt = felt_vacuum(cars, np.full(len(cars), DEEP_VACUUM + 2.0 * INHG))
    held = capacities(cars, line_under_way(cars, car, circuit, mph, rpm, felt))
    demand = share * cars["engine.peak_torque"] * cars["engine.torque_share"]
    margin = input_torque_held(car.gears[gear].drive, held) / demand
    return 0.97 * soft((0.97 - margin) / 0.05)


def feel(spare: FloatArray, usual: float, shift_speed: FloatArray) -> FloatArray:
    """Clean, harsh, slides or flares, never: from the time of the shift relative to the middle sound car.

    `spare` and `usual`: input torque the incoming element holds beyond the engine's, of these cars and of
    the middle car [N m]; `shift_speed` [m/s]. The time of the inertia phase goes as one over the spare
    torque; the thresholds are common practice, no source.
    """
    relative = usual / np.where(spare > 0.0, spare, 1e-3 * usual)
    slides = soft((relative - 2.0) / 0.15)
    harsh = (1.0 - slides) * soft((0.58 - relative) / 0.05)
    never = np.where(shift_speed > 70.0 * MPH, 0.97, 0.0)
    absent = np.where(shift_speed < 1.0 * MPH, 1.0, 0.0)  # nothing is felt of a shift that is not made
    slides, harsh = slides * (1.0 - absent), harsh * (1.0 - absent)
    made = np.stack([1.0 - slides - harsh, harsh, slides, np.zeros_like(never)], axis=1)
    return np.asarray(made * (1.0 - never)[:, None] + never[:, None] * np.array([0.0, 0.0, 0.0, 1.0]))


def _downshifts(cars: Cars, car: Vehicle, in_third: NDArray[np.bool_]) -> dict[str, FloatArray]:
    deep = felt_vacuum(cars, np.full(len(cars), DEEP_VACUUM))
    floor = shift_vacuum(cars, car, "full")
    forced = down_speed(cars, car, "second_third", floor, floor=True)
    part = down_speed(cars, car, "second_third", deep)
    works = np.where(in_third, soft((forced - 53.0 * MPH) / (1.5 * MPH)), 0.1)
    answers = np.where(in_third, soft((part - 44.0 * MPH) / (1.5 * MPH)), 0.4)
    sluggish = answers * np.minimum(0.6 * cars["hose.lag"], 0.6)
    return {
        "kickdown": np.stack([works, np.zeros_like(works), 1.0 - works], axis=1),
        "deep-throttle-45": np.stack([answers - sluggish, sluggish, 1.0 - answers], axis=1),
    }


def _no_braking(cars: Cars, car: Vehicle, gear: str) -> FloatArray:
    groups = car.gears[gear].overrun
    if groups is None:
        return np.full(len(cars), 0.97)
    circuit = {"second-range": "second", "low": "low", "third": "D3"}[gear]
    felt = felt_vacuum(cars, np.full(len(cars), OVERRUN_VACUUM))
    held = capacities(cars, line_under_way(cars, car, circuit, 20.0, 1500.0, felt))
    margin = input_torque_held(groups, held) / (0.08 * cars["engine.peak_torque"])
    return 0.97 * soft((0.9 - margin) / 0.08)


def _dead_ranges(cars: Cars, car: Vehicle) -> FloatArray:
    """All drive, drives in neutral, no reverse, D dead but low drives, nothing forward, nothing at all."""
    drives = {}
    for gear, circuit in (("first", "D1"), ("low", "low"), ("reverse", "R")):
        held = capacities(cars, line_at_idle(cars, car, circuit))
        margin = input_torque_held(car.gears[gear].drive, held) / CREEP_TORQUE
        drives[gear] = soft((margin - 1.0) / 0.1) * cars["shaft.whole"]
    first, low, reverse = (drives[gear] for gear in ("first", "low", "reverse"))
    # A band that holds beside a one-way clutch brings first back, so low drives whenever first does.
    low = np.maximum(low, first)
    nothing = (1.0 - low) * (1.0 - reverse)
    return np.stack(
        [
            first * reverse,
            np.zeros_like(first),
            first * (1.0 - reverse),
            (low - first),
            (1.0 - low) * reverse,
            nothing,
        ],
        axis=1,
    )
