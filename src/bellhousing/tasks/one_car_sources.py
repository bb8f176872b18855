"""Shifts and pressures of one car from a job, a findings file, a log, or what was read of a log."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.prepare import CarFacts, Prepared
from bellhousing.errors import InputFileError
from bellhousing.quantities.units import to_si
from bellhousing.road.engine import INHG
from bellhousing.road.one_car.observed import READINGS, Observed
from bellhousing.road.vehicle import MPH
from bellhousing.tasks import noting
from bellhousing.tasks.file_answers import read_case
from bellhousing.tasks.findings_file import DEFAULT_BOX, car_figure
from bellhousing.tasks.hearing import HALF_WIDTH_IN_DEVIATIONS, UNDER_ADJUSTING, Heard
from bellhousing.tasks.preparation import Preparation
from bellhousing.tasks.report_work import begun
from bellhousing.tasks.road_logs import read_road_log
from bellhousing.tasks.road_shapes import ShiftAnswer
from bellhousing.tasks.shift_maps import DRIVEN
from bellhousing.tasks.shipped import shipped_catalogue
from bellhousing.tasks.shop import Shop
from bellhousing.work.entries import WorkEntry

LATE = 0.33
"""Time from a shift valve's move to the start of the ratio change, filling and torque phase [s]; from
simulated drives of the invented box, no other source."""

GAIN = {"1-2": 10.0, "2-3": 5.5, "3-4": 4.0}
"""How fast a large car gains speed at full throttle at each upshift [mph/s], less in the measure of the
vacuum; from the same drives, no other source."""

NO_PULL = 17.5
"""Vacuum at which a car no longer gains speed [inHg]; from the same drives."""

LOG_ERROR = 0.5
"""Standard uncertainty of a shift's road speed in a log [mph]; judgement, no source."""

ON_STOP = 0.8
"""Vacuum below which an upshift is taken as made with the pedal on its stop [inHg]; common practice."""


USUAL_CAR = {"axle": "3.08", "tyre_radius": "0.345 m", "altitude": "0 m"}
"""The car of a log of which nothing is said; common practice, no source."""


Side = Literal["before", "after"]


@dataclass(frozen=True)
class Wanted:
    """What is said of a file that does not name its own car, in words and units; None where nothing is."""

    box: str | None = None
    axle: str | None = None
    tyre_radius: str | None = None
    altitude: str | None = None

    @property
    def car(self) -> dict[str, str]:
        """Axle, tyre and altitude, the usual ones where nothing is said."""
        return {
            "axle": self.axle or USUAL_CAR["axle"],
            "tyre_radius": self.tyre_radius or USUAL_CAR["tyre_radius"],
            "altitude": self.altitude or USUAL_CAR["altitude"],
        }


@dataclass(frozen=True)
class Source:
    """One car's rows with the model of its box, how they were said, and what could not be used."""

    name: str
    prepared: Prepared
    observed: tuple[Observed, ...]
    notes: tuple[str, ...]
    date: str | None


def source_of_job(shop: Shop, job: int, side: Side | None = None) -> Source:
    """What stands on a job; its date is the day of the last finding taken.

    `side` takes only what was noted before anything was changed on the car, or after the last change: work
    begun, an adjustment made. Where no shift was noted on that side, all that stands on the job is taken.

    Raises
    ------
    RecordError : no such job.
    BoxFileError : the box of the car cannot be used.
    """
    kept = shop.store.job(job)
    prepared = shop.prepared(shop.store.car(kept.car))
    heard = noting.heard_on_job(shop, job)
    if side is not None:
        chosen = _on_side(heard, begun(shop.store.work_entries(job)), side)
        if any(row.shift for row in rows_heard(chosen, prepared)):
            heard = chosen
    days = [entry.answer.at[:10] for entry in heard if entry.answer.at]
    date = max(days, default=kept.opened_at.date().isoformat())
    return Source(f"job {job}", prepared, rows_heard(heard, prepared), (), date)


def _on_side(heard: Sequence[Heard], work: WorkEntry | None, side: Side) -> tuple[Heard, ...]:
    """What was heard before the first change on the car, or after the last."""
    adjusted = [place for place, entry in enumerate(heard) if entry.answer.note == UNDER_ADJUSTING]
    if side == "before":
        first = min(adjusted, default=len(heard))
        return tuple(entry for entry in heard[:first] if work is None or not entry.since(work.at))
    last = max(adjusted, default=-1)
    return tuple(entry for entry in heard[last + 1 :] if work is None or entry.since(work.at))


def source_of_file(path: Path, wanted: Wanted) -> Source:
    """A findings file, a log, or the answer of `road read --json`, told apart by their endings.

    Raises
    ------
    InputFileError : a file that cannot be read, holds nothing, or names its own car beside the one said.
    BoxFileError : a box that does not exist.
    """
    ending = path.suffix.lower()
    if ending in (".yaml", ".yml"):
        if wanted.axle or wanted.tyre_radius or wanted.altitude:
            raise InputFileError(
                "a findings file names its own car",
                where=str(path),
                remedy="write axle_ratio, tyre_radius and altitude under `car` in it",
            )
        case = read_case(path, wanted.box)
        notes = tuple(heard.answer.said for heard in case.heard if heard.evidence is None)
        return Source(str(path), case.prepared, rows_heard(case.heard, case.prepared), notes, None)
    prepared = _prepared(wanted)
    if ending == ".json":
        return Source(str(path), prepared, _usable(_shifts_of_json(path), str(path)), (), None)
    box = wanted.box or DEFAULT_BOX
    said = wanted.car
    answer = read_road_log(
        path, box=box, axle=said["axle"], tyre_radius=said["tyre_radius"], altitude=said["altitude"]
    )
    return Source(str(path), prepared, _usable(answer.shifts, str(path)), answer.warnings, None)


def _usable(shifts: Sequence[ShiftAnswer], where: str) -> tuple[Observed, ...]:
    """Rows of shifts that were read; where there are shifts, but none beside a vacuum, it is said so."""
    rows = rows_read(shifts)
    known = {shift.throttle.unit for shift in shifts if shift.throttle is not None}
    if shifts and not rows and "inHg" not in known:
        units = {unit or "shares" for unit in known}
        beside = f"a throttle in {' and '.join(sorted(units))}" if units else "no throttle signal"
        raise InputFileError(
            f"the {len(shifts)} shifts of this drive stand beside {beside}, and the map is drawn over vacuum",
            where=where,
            remedy="log the vacuum, or the pressure in the manifold, as well",
        )
    return rows


def _prepared(wanted: Wanted) -> Prepared:
    facts = CarFacts(
        car_figure("axle_ratio", wanted.car["axle"]),
        car_figure("tyre_radius", wanted.car["tyre_radius"]),
        car_figure("altitude", wanted.car["altitude"]),
    )
    catalogue = shipped_catalogue()
    return Preparation(catalogue).prepared(load_box(wanted.box or DEFAULT_BOX), facts)


def _shifts_of_json(path: Path) -> tuple[ShiftAnswer, ...]:
    try:
        found: Any = json.loads(path.read_text(encoding="utf-8"))
        shifts = [{**shift, "from_": shift["from"]} for shift in found["shifts"]]
        for shift in shifts:
            del shift["from"]
        return tuple(ShiftAnswer.model_validate(shift, strict=False) for shift in shifts)
    except OSError as error:
        raise InputFileError(f"the file cannot be read: {error.strerror}", where=str(path)) from None
    except (ValueError, KeyError, TypeError, RecursionError):
        raise InputFileError(
            "this holds no shifts", where=str(path), remedy="write it with bellhousing road read LOG --json"
        ) from None


def rows_heard(heard: Iterable[Heard], prepared: Prepared) -> tuple[Observed, ...]:
    """Rows among what was heard: shifts with a road speed, and pressures."""
    rows = []
    for entry in heard:
        evidence = entry.evidence
        if evidence is None or evidence.value is None:
            continue
        if evidence.finding not in READINGS[prepared.box.kind]:
            continue
        finding = prepared.catalogue.finding(evidence.finding)
        uncertainty = evidence.standard_uncertainty or finding.half_width / HALF_WIDTH_IN_DEVIATIONS
        shift, _, vacuum = DRIVEN.get(evidence.finding, FORCED.get(evidence.finding, ("", "", 0.0)))
        rows.append(
            Observed(
                entry.answer.said,
                evidence.value,
                uncertainty,
                shift=shift,
                vacuum=float(to_si(vacuum, "inHg")),
                floor=vacuum <= 0.0 and bool(shift),
                reading=evidence.finding,
            )
        )
    return tuple(rows)


FORCED = {"forced-down-43": ("4-3", "full", 0.0)}
"""Downshifts with the pedal on its stop, as `DRIVEN` has the others."""

AFTER_DOWN = 6.0
"""An upshift so soon after a downshift comes with the foot moving, so its vacuum is not the valve's [s];
judgement, no source."""


def rows_read(shifts: Sequence[ShiftAnswer]) -> tuple[Observed, ...]:
    """Rows of the upshifts that a log tells with their vacuum.

    A log shows a shift where the engine leaves the old ratio; the valve moved a little before, so the speed
    gained meanwhile is taken off, and half of it counts as doubt. Upshifts right after a downshift are left
    out.
    """
    rows = []
    down = -AFTER_DOWN
    for one in shifts:
        shift = f"{one.from_}-{one.to}"
        if one.to < one.from_:
            down = one.t_s
        if (
            0.0 <= one.t_s - down < AFTER_DOWN  # a clock set back meanwhile runs on from there
            or one.throttle is None
            or one.throttle.unit != "inHg"
            or shift not in GAIN
        ):
            continue
        vacuum = one.throttle.value
        gained = LATE * GAIN[shift] * max(0.0, 1.0 - vacuum / NO_PULL)
        doubt = (LOG_ERROR**2 + (0.5 * gained) ** 2) ** 0.5
        rows.append(
            Observed(
                f"{shift.replace('-', '–')} at {one.road_speed_mph:.1f} mph and {vacuum:.1f} inHg",
                (one.road_speed_mph - gained) * MPH,
                doubt * MPH,
                shift=shift,
                vacuum=vacuum * INHG,
                floor=vacuum < ON_STOP,
            )
        )
    return tuple(rows)
