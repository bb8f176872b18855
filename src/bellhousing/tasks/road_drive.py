"""A car driven in simulation: what it did, and a log of it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from bellhousing.boxes.box import Box
from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.boxes.load import load_box
from bellhousing.errors import InputFileError, QuantityError
from bellhousing.quantities.parse import parse_measured
from bellhousing.quantities.units import from_si
from bellhousing.road.calibration import calibrated
from bellhousing.road.cars import Cars, draw_cars, middle_car
from bellhousing.road.drive.drive import Drive, ShiftMade
from bellhousing.road.drive.energy import Ledger, ledger
from bellhousing.road.drive.logged import logged, write_log
from bellhousing.road.drive.manoeuvres import MANOEUVRES, Manoeuvre, manoeuvre
from bellhousing.road.drive.simulate import STEP, simulate
from bellhousing.road.engine import INHG
from bellhousing.road.shifts import shift_speeds
from bellhousing.road.shown import vehicle
from bellhousing.road.vehicle import Vehicle
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.broken import afflicted
from bellhousing.tasks.findings_file import car_figure

SLIPS_FROM = 0.02
"""Share of engine speed that must slip for a second to be told as slip [-]; judgement, no source."""


FLOORED = 0.85
"""Travel from which a foot on its way to the stop counts as being there [-]; common practice, no source."""


class DrivenShiftAnswer(Shape):
    """A shift as commanded; `map_mph` is the steady map's at that throttle, null on the pedal's stop."""

    t_s: float
    from_: int
    to: int
    road_speed_mph: float
    vacuum_inhg: float
    map_mph: float | None


class EnergyAnswer(Shape):
    """Where the energy went [kJ]; `supplied` is the driving engine's and what a slowing car gave up."""

    supplied: float
    engine: float
    fluid: float
    slipping: float
    meshes: float
    road: float
    gained: float
    missing: float


class DriveAnswer(Shape):
    """What a simulated car did on a manoeuvre; the log is what a logger would have written, without truth."""

    box: str
    manoeuvre: str
    says: str
    faults: tuple[str, ...]
    seconds: float
    rows: int
    step_s: float
    shifts: tuple[DrivenShiftAnswer, ...]
    slipping: tuple[int, ...]
    energy: EnergyAnswer
    highest_rpm: float
    highest_mph: float
    log: str | None


def manoeuvre_names() -> tuple[str, ...]:
    """Names of all manoeuvres."""
    return tuple(MANOEUVRES)


def drive_car(
    *,
    box: str,
    name: str,
    axle: str = "3.08",
    tyre_radius: str = "0.345 m",
    altitude: str = "0 m",
    faults: tuple[str, ...] = (),
    severity: float = 0.5,
    car_number: int | None = None,
    rate: str = "10 Hz",
    noise: int | None = None,
    log: Path | None = None,
) -> DriveAnswer:
    """Drive one car of a box through a manoeuvre, sound or with faults of the catalogue, and write its log.

    `car_number` draws a plausible car instead of the middle one; `severity` runs from 0, mild, to 1; `noise`
    is the seed by which the sensors of the log err, None = they do not.

    Raises
    ------
    BoxFileError : a box that does not exist or is not modelled.
    FindingError : a fault that this box cannot have.
    QuantityError : a manoeuvre, rate or severity that cannot be.
    InputFileError : a log that cannot be written.
    """
    loaded = calibrated(load_box(box))
    car = vehicle(
        loaded,
        car_figure("axle_ratio", axle),
        car_figure("tyre_radius", tyre_radius),
        car_figure("altitude", altitude),
    )
    driven = drive_box(loaded, car, name, faults=faults, severity=severity, car_number=car_number, rate=rate)
    if log is not None:
        try:
            write_log(log, logged(driven.made, seed=noise))
        except OSError as error:
            raise InputFileError(f"the log cannot be written: {error.strerror}", where=str(log)) from None
    return answer_of_drive(driven, log)


@dataclass(frozen=True)
class Driven:
    """A drive as it was simulated: the box, its cars, what was asked, every row, and where energy went."""

    box: Box
    cars: Cars
    car: Vehicle
    plan: Manoeuvre
    faults: tuple[str, ...]
    made: Drive
    spent: Ledger


def drive_box(
    loaded: Box,
    car: Vehicle,
    name: str,
    *,
    faults: tuple[str, ...] = (),
    severity: float = 0.5,
    car_number: int | None = None,
    rate: str = "10 Hz",
) -> Driven:
    """Drive one car of a calibrated box through a manoeuvre; raises as `drive_car`."""
    if not 0.0 <= severity <= 1.0:
        raise QuantityError(f"a severity of {severity:g}", remedy="from 0, mild, to 1, severe")
    plan = manoeuvre(name)
    every = _period(rate)
    cars = (
        middle_car(loaded) if car_number is None else draw_cars(loaded, 1, np.random.default_rng(car_number))
    )
    cars = afflicted(loaded, cars, car, [(fault, None) for fault in faults], severity)
    made = simulate(loaded, cars, car, plan, record=STEP)
    return Driven(loaded, cars, car, plan, faults, made.at_every(every), ledger(made))


def answer_of_drive(driven: Driven, log: Path | None = None) -> DriveAnswer:
    """What a simulated drive did, as every door hands it out."""
    loaded, made, plan = driven.box, driven.made, driven.plan
    return DriveAnswer(
        box=loaded.slug,
        manoeuvre=plan.name,
        says=plan.says,
        faults=driven.faults,
        seconds=round(float(made.time[-1]), 2),
        rows=len(made.time),
        step_s=made.step,
        shifts=tuple(_shift(made, shift, plan, driven.cars, driven.car) for shift in made.shifts()),
        slipping=_slipping(made),
        energy=_energy(driven.spent),
        highest_rpm=round(float(from_si(made.engine.max(), "rpm")), 0),
        highest_mph=round(float(from_si(made.speed.max(), "mph")), 1),
        log=None if log is None else str(log),
    )


def _period(rate: str) -> float:
    number = rate.strip().removesuffix("Hz").strip()
    try:
        hertz = parse_measured(number, usual_unit="").value
    except QuantityError:
        hertz = 0.0
    if not 0.5 <= hertz <= 100.0:
        raise QuantityError(f"a rate of '{rate}'", remedy="between 0.5 Hz and 100 Hz, such as 10 Hz")
    return 1.0 / hertz


def _shift(made: Drive, shift: ShiftMade, plan: Manoeuvre, cars: Cars, car: Vehicle) -> DrivenShiftAnswer:
    vacuum, travel = made.at(0, shift.time, "vacuum"), made.at(0, shift.time, "travel")
    speeds = shift_speeds(cars, car, vacuum, travel)
    skipped = speeds.get(shift.name)
    steady = float(from_si(skipped[0], "mph")) if skipped is not None else float("inf")
    row = min(int(np.searchsorted(made.time, shift.time)), len(made.time) - 1)
    full = plan.phases[int(made.phase[row, 0])].throttle == "full"
    floor = full and travel > FLOORED if car.kind == FOUR_SPEED else vacuum < 0.8 * INHG
    return DrivenShiftAnswer(
        t_s=round(shift.time, 3),
        from_=shift.start,
        to=shift.end,
        road_speed_mph=round(float(from_si(made.at(0, shift.time), "mph")), 2),
        vacuum_inhg=round(float(from_si(vacuum, "inHg")), 2),
        map_mph=None if floor or not np.isfinite(steady) else round(steady, 2),
    )


def _energy(spent: Ledger) -> EnergyAnswer:
    names = EnergyAnswer.model_fields
    return EnergyAnswer(**{name: round(float(getattr(spent, name)[0]) / 1000.0, 3) for name in names})


def _slipping(made: Drive) -> tuple[int, ...]:
    """Gears in which something of theirs slips for a second or more while nothing shifts."""
    every = float(made.time[1] - made.time[0])
    found = []
    moving = (made.speed[:, 0] > 2.0) & (made.torque[:, 0] > 0.0)
    settled = np.ones(len(made.time), dtype=bool)
    for shift in made.shifts():
        settled &= (made.time < shift.time) | (made.time > shift.time + 1.5)
    for gear in (1, 2, 3, 4):
        there = moving & settled & (made.gear[:, 0] == gear)
        slips = there & (made.slip[:, 0] > SLIPS_FROM * made.engine[:, 0])
        if slips.sum() * every >= 1.0:
            found.append(gear)
    return tuple(found)
