"""A simulated drive of the car of a job, sound or with a fault, as its page shows it."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Mapping

import numpy as np

from bellhousing.errors import FindingError, QuantityError
from bellhousing.quantities.units import to_si
from bellhousing.reports.drive_chart import DrivePicture, DriveShift, gear_stretches
from bellhousing.road.calibration import calibrated
from bellhousing.road.drive.manoeuvres import MANOEUVRES
from bellhousing.road.logs.units import RPM
from bellhousing.road.shown import vehicle
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.broken import breakable
from bellhousing.tasks.road_drive import DriveAnswer, Driven, answer_of_drive, drive_box
from bellhousing.tasks.shop import Shop

SEVERITIES: Mapping[str, float] = {"mild": 0.1, "middling": 0.5, "severe": 0.9}
USUAL = "medium-pull"
MOST_KEPT = 12
LONGEST = 180.0
"""Longest drive that is offered on a page [s]."""


class ManoeuvreAnswer(Shape):
    """A manoeuvre by its name, and what it is."""

    name: str
    says: str


class SimulatedAnswer(Shape):
    """A simulated drive with its picture."""

    drive: DriveAnswer
    fault_name: str | None
    severity: str
    picture: DrivePicture


_kept: OrderedDict[tuple[object, ...], SimulatedAnswer] = OrderedDict()
_guard = threading.Lock()


def manoeuvres() -> tuple[ManoeuvreAnswer, ...]:
    """What a car can be driven through while somebody waits; longer drives are the command line's."""
    short = (one for one in MANOEUVRES.values() if one.longest <= LONGEST)
    return tuple(ManoeuvreAnswer(name=one.name, says=one.says) for one in short)


def faults_to_drive(shop: Shop, job: int) -> tuple[tuple[str, str], ...]:
    """Faults the car of a job can be driven with, by slug and name, in the order of their names."""
    box = shop.box(shop.store.car(shop.store.job(job).car).box)
    faults = shop.catalogue.of_family(box.kind).faults
    found = [(slug, fault.name) for slug, fault in faults.items() if breakable(box, fault)]
    return tuple(sorted(found, key=lambda one: one[1]))


def simulated(
    shop: Shop, job: int, *, manoeuvre: str = USUAL, fault: str = "", severity: str = "middling"
) -> SimulatedAnswer:
    """Drive the middle car of a job's box through a manoeuvre; said again, it is not driven again.

    Raises
    ------
    RecordError : no such job.
    FindingError : a fault or a severity that cannot be.
    QuantityError : no such manoeuvre.
    BoxFileError : a box that cannot be used.
    """
    if manoeuvre not in {one.name for one in manoeuvres()}:
        drives = ", ".join(one.name for one in manoeuvres())
        raise QuantityError(f"there is no drive '{manoeuvre[:40]}' here", remedy=f"one of {drives}")
    if severity not in SEVERITIES:
        raise FindingError(f"'{severity[:40]}' is no severity", remedy=f"one of {', '.join(SEVERITIES)}")
    owned = shop.store.car(shop.store.job(job).car)
    box, facts = shop.box(owned.box), shop.facts_of(owned)
    key = (box.digest, facts, manoeuvre, fault, severity if fault else "")
    with _guard:
        if key in _kept:
            _kept.move_to_end(key)
            return _kept[key]
    faults = (fault,) if fault else ()
    car = vehicle(box, facts.axle_ratio, facts.tyre_radius, facts.altitude)
    driven = drive_box(calibrated(box), car, manoeuvre, faults=faults, severity=SEVERITIES[severity])
    broken = shop.catalogue.of_family(box.kind).faults.get(fault) if fault else None
    found = SimulatedAnswer(
        drive=answer_of_drive(driven),
        fault_name=None if broken is None else broken.name,
        severity=severity,
        picture=_picture(driven),
    )
    with _guard:
        _kept[key] = found
        while len(_kept) > MOST_KEPT:
            _kept.popitem(last=False)
    return found


def _picture(driven: Driven) -> DrivePicture:
    made, told = driven.made, answer_of_drive(driven)
    gear = np.maximum(made.gear[:, 0], 0).astype(np.intp)
    still = np.zeros(len(made.time), dtype=np.intp)
    return DrivePicture(
        time=tuple(np.round(made.time, 3).tolist()),
        speed=tuple(np.round(made.speed[:, 0], 3).tolist()),
        engine=tuple(np.round(made.engine[:, 0] / RPM, 1).tolist()),
        stretch=tuple(still.tolist()),
        gears=tuple(one for one in gear_stretches(made.time, gear, still) if one.gear > 0),
        shifts=tuple(
            DriveShift(
                time=shift.t_s,
                clock=shift.t_s,
                before=shift.from_,
                after=shift.to,
                speed=float(to_si(shift.road_speed_mph, "mph")),
                throttle=f"{shift.vacuum_inhg:g} inHg",
                duration=0.0,
                flare=0.0,
            )
            for shift in told.shifts
        ),
    )
