"""Logs of a drive: read one without any database, or add what it tells to a job."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.evidence import Evidence, check_evidence
from bellhousing.errors import FindingError, InputFileError
from bellhousing.quantities.units import from_si
from bellhousing.records.entries import Entry
from bellhousing.road.logs.blocks import Progress, Stop, layout_of_file
from bellhousing.road.logs.columns import Correction, parse_correction
from bellhousing.road.logs.findings import RoadFinding, has_vacuum, road_findings
from bellhousing.road.logs.gear_set import GearSet, gear_set
from bellhousing.road.logs.read import DriveReading, read_log
from bellhousing.road.logs.remembered import recall, remember
from bellhousing.road.logs.shifts import Shift
from bellhousing.road.logs.store import keep_log
from bellhousing.road.logs.units import RPM, LogUnit, named_unit
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.findings_file import DEFAULT_BOX, car_figure
from bellhousing.tasks.shop import Shop

WHO = "log"


class ThrottleAnswer(Shape):
    """The throttle signal at a shift: vacuum in inHg, or the throttle as logged."""

    value: float
    unit: str


class ShiftAnswer(Shape):
    """One shift; `t_s` on the log's own clock and `road_speed_mph` at the start of the ratio change."""

    t_s: float
    from_: int
    to: int
    road_speed_mph: float
    throttle: ThrottleAnswer | None
    duration_s: float
    flare_rpm: float


class SlipAnswer(Shape):
    """A gear in which something behind the converter slips, per cent of the turbine's speed."""

    gear: int
    percent: float


class ColumnAnswer(Shape):
    """What was read as what; `how` is guessed, corrected or remembered."""

    name: str
    meaning: str
    unit: str
    how: str


class RoadFindingAnswer(Shape):
    """A finding the log tells: value in `unit` with its standard uncertainty, or a state."""

    finding: str
    said: str
    value: float | None
    unit: str | None
    uncertainty: float | None
    state: str | None


class RoadLogAnswer(Shape):
    """What a log tells of a drive."""

    shifts: tuple[ShiftAnswer, ...]
    slip: tuple[SlipAnswer, ...]
    columns: tuple[ColumnAnswer, ...]
    warnings: tuple[str, ...]
    findings: tuple[RoadFindingAnswer, ...] = ()
    converter_slip_percent: float | None = None
    lag_s: float = 0.0
    driven_s: float = 0.0

    def contract(self) -> dict[str, object]:
        """The four keys others build on."""
        plain = self.model_dump(mode="json", include={"shifts", "slip", "columns", "warnings"})
        for shift in plain["shifts"]:
            shift["from"] = shift.pop("from_")
        keys = ("t_s", "from", "to", "road_speed_mph", "throttle", "duration_s", "flare_rpm")
        plain["shifts"] = [{key: shift[key] for key in keys} for shift in plain["shifts"]]
        return plain


@dataclass(frozen=True)
class Asked:
    """What the user says of a log: the columns, and how often rows come where it has no clock."""

    columns: Sequence[str] = ()
    rate: str | None = None


def read_road_log(
    path: Path,
    *,
    box: str = DEFAULT_BOX,
    axle: str = "3.08",
    tyre_radius: str = "0.345 m",
    altitude: str = "0 m",
    asked: Asked = Asked(),
    folder: Path | None = None,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> RoadLogAnswer:
    """Read a log; what is said of its columns is remembered in `folder` for logs with the same header.

    Raises
    ------
    InputFileError : a file that holds no drive, or a figure no car can have.
    BoxFileError : a box that does not exist.
    """
    gears = gear_set(load_box(box), car_figure("axle_ratio", axle), car_figure("tyre_radius", tyre_radius))
    reading = _read(path, gears, car_figure("altitude", altitude), asked, folder, progress, stop)
    return answer_of(reading)


def _read(
    path: Path,
    gears: GearSet,
    altitude: float,
    asked: Asked,
    folder: Path | None,
    progress: Progress | None,
    stop: Stop | None,
) -> DriveReading:
    said = tuple(parse_correction(text) for text in asked.columns)
    layout = layout_of_file(path)
    reading = read_log(
        path,
        gears,
        corrections=said,
        remembered=_usable(recall(folder, layout.digest), said),
        altitude=altitude,
        rate=None if asked.rate is None else _rate(asked.rate),
        progress=progress,
        stop=stop,
    )
    if said and folder is not None:
        remember(folder, layout.digest, said, layout.names)
    return reading


def _usable(kept: Sequence[Correction], said: Sequence[Correction]) -> tuple[Correction, ...]:
    now = {one.meaning for one in said}
    return tuple(one for one in kept if one.meaning not in now)


def _rate(text: str) -> float:
    found = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*(?:hz|/s|per second|a second)?\s*", text, re.IGNORECASE)
    rate = float(found[1].replace(",", ".")) if found else 0.0
    if not 0.1 <= rate <= 10_000:
        raise InputFileError(f"'{text}' is no rate of rows", remedy="write it as '10 Hz'")
    return rate


def answer_of(reading: DriveReading) -> RoadLogAnswer:
    """A reading as every door hands it out."""
    signal = _signal_unit(reading)
    # Where the highest gear's own clutch slips, what the converter does cannot be told from it.
    converter = None if any(slip.gear == reading.gears for slip in reading.slips) else reading.converter
    warnings = list(reading.warnings)
    if any(column.clock for column in reading.columns) and reading.clock_first is not None:
        warnings.append(
            f"t_s counts seconds from midnight of the first row, which is at {reading.clock_first:.1f}"
        )
    return RoadLogAnswer(
        shifts=tuple(_shift(shift, signal) for shift in reading.shifts),
        slip=tuple(SlipAnswer(gear=slip.gear, percent=round(100 * slip.share, 1)) for slip in reading.slips),
        columns=tuple(
            ColumnAnswer(name=column.name, meaning=column.meaning, unit=column.unit.name, how=column.how)
            for column in reading.columns
        ),
        warnings=tuple(warnings),
        findings=tuple(_finding(found) for found in road_findings(reading)),
        converter_slip_percent=None if converter is None else round(100 * converter[0], 1),
        lag_s=round(reading.lag, 2),
        driven_s=round(reading.seconds, 1),
    )


def _signal_unit(reading: DriveReading) -> LogUnit:
    """The unit the throttle signal is shown in: inHg of vacuum, or that of the throttle as logged."""
    if has_vacuum(reading):
        return named_unit("inHg", "vacuum")
    logged = next((column.unit for column in reading.columns if column.meaning == "throttle"), None)
    return named_unit("%", "throttle") if logged is None or not logged.name else logged


def _shift(shift: Shift, unit: LogUnit) -> ShiftAnswer:
    throttle = None
    if shift.signal is not None:
        value = (shift.signal - unit.offset) / unit.factor
        throttle = ThrottleAnswer(value=round(float(value), 2), unit=unit.name)
    return ShiftAnswer(
        t_s=round(shift.clock, 3),
        from_=shift.before,
        to=shift.after,
        road_speed_mph=round(float(from_si(shift.speed, "mph")), 2),
        throttle=throttle,
        duration_s=round(shift.duration, 2),
        flare_rpm=round(shift.flare / RPM, 0),
    )


def _unit(found: RoadFinding) -> str:
    return "s" if found.finding.startswith("engagement") else "mph"


def _finding(found: RoadFinding) -> RoadFindingAnswer:
    unit = None if found.value is None else _unit(found)
    return RoadFindingAnswer(
        finding=found.finding,
        said=found.said,
        value=None if unit is None or found.value is None else round(float(from_si(found.value, unit)), 2),
        unit=unit,
        uncertainty=None
        if unit is None or found.standard_uncertainty is None
        else round(float(from_si(found.standard_uncertainty, unit)), 2),
        state=found.state,
    )


def evidence_of(found: RoadFinding) -> Evidence:
    """A finding of a log as the diagnosis takes it."""
    states = () if found.state is None else (found.state,)
    return Evidence(found.finding, states, None, found.value, found.standard_uncertainty)


def add_road_log(
    shop: Shop,
    job: int,
    path: Path,
    *,
    asked: Asked = Asked(),
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> RoadLogAnswer:
    """Read a log with the car of a job, keep it beside the shop's records, and note what it tells on the job.

    Raises
    ------
    InputFileError : a file that holds no drive.
    RecordError : no such job, or a closed one.
    """
    car = shop.store.car(shop.store.job(job).car)
    box, facts = shop.box(car.box), shop.facts_of(car)
    gears = gear_set(box, facts.axle_ratio, facts.tyre_radius)
    reading = _read(path, gears, facts.altitude, asked, shop.folder, progress, stop)
    kept = keep_log(path, reading.columns, shop.folder)
    catalogue = shop.listener.catalogues[box.kind]
    for found in road_findings(reading):
        evidence = evidence_of(found)
        try:
            check_evidence(evidence, catalogue, box)
        except FindingError:
            continue
        entry = Entry(
            said=found.said,
            finding=found.finding,
            states=evidence.states,
            value_si=found.value,
            unit=None if found.value is None else _unit(found),
            standard_uncertainty=found.standard_uncertainty,
            conditions={"log": kept.name},
        )
        key = f"log/{kept.stem}/{job}/{found.finding}"
        shop.store.add_finding(job, entry, at=shop.clock(), who=WHO, key=key)
    return answer_of(reading)
