"""Logs of a drive: read one without any database, or add what it tells to a job."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from bellhousing.boxes.load import load_box
from bellhousing.errors import InputFileError
from bellhousing.quantities.units import from_si
from bellhousing.records.entries import Entry
from bellhousing.road.logs.blocks import Progress, Stop, layout_of_file
from bellhousing.road.logs.columns import Correction, parse_correction
from bellhousing.road.logs.findings import RoadFinding, has_vacuum, road_findings
from bellhousing.road.logs.gear_set import GearSet, gear_set
from bellhousing.road.logs.read import DriveReading, read_log
from bellhousing.road.logs.remembered import recall, remember
from bellhousing.road.logs.shifts import Shift
from bellhousing.road.logs.store import keep_log, original_of
from bellhousing.road.logs.units import RPM, LogUnit, named_unit
from bellhousing.tasks import noting
from bellhousing.tasks.findings_file import DEFAULT_BOX, car_figure
from bellhousing.tasks.road_kept import keep_reading, kept_path, readings_of_job
from bellhousing.tasks.road_noting import note_findings
from bellhousing.tasks.road_pictures import picture_of
from bellhousing.tasks.road_shapes import (
    ColumnAnswer,
    RoadFindingAnswer,
    RoadLogAnswer,
    ShiftAnswer,
    SlipAnswer,
    ThrottleAnswer,
)
from bellhousing.tasks.shop import Shop


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
        rate=None if asked.rate is None else rate_of(asked.rate),
        progress=progress,
        stop=stop,
    )
    if said and folder is not None:
        remember(folder, layout.digest, said, layout.names)
    return reading


def _usable(kept: Sequence[Correction], said: Sequence[Correction]) -> tuple[Correction, ...]:
    now = {one.meaning for one in said}
    return tuple(one for one in kept if one.meaning not in now)


def rate_of(text: str) -> float:
    """Rows a second, as "10 Hz"; raises InputFileError if it is no rate."""
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
            f"times are seconds from the midnight before the first row, which is at {reading.clock_first:.1f}"
        )
    answer = RoadLogAnswer(
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
    return answer.model_copy(update={"picture": picture_of(reading, answer)})


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


def add_road_log(
    shop: Shop,
    job: int,
    path: Path,
    *,
    asked: Asked = Asked(),
    name: str | None = None,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> RoadLogAnswer:
    """Read a log with the car of a job, keep it beside the shop's records, and note what it tells on the job.

    Added again with other columns, what it told before is put right. `name` is what to call it, if not as
    its file is called. `progress` counts the file twice, once for reading and once for keeping its rows.

    Raises
    ------
    InputFileError : a file that holds no drive.
    ReadingStopped : `stop` said so; nothing of the log is kept then.
    RecordError : no such job, or a closed one.
    """
    noting.need_open(shop, job)
    car = shop.store.car(shop.store.job(job).car)
    box, facts = shop.box(car.box), shop.facts_of(car)
    gears = gear_set(box, facts.axle_ratio, facts.tyre_radius)
    first, second = _halves(progress)
    reading = _read(path, gears, facts.altitude, asked, shop.folder, first, stop)
    kept = keep_log(path, reading.columns, shop.folder, again=bool(asked.columns), progress=second, stop=stop)
    notes = [_note(found, kept.name) for found in road_findings(reading)]
    note_findings(shop, job, box, kept.name, notes)
    answer = answer_of(reading)
    keep_reading(shop, job, kept, answer, name=name or path.name, rate=asked.rate)
    return answer


def _halves(progress: Progress | None) -> tuple[Progress | None, Progress | None]:
    """The progress of two rounds through a file, each half of the whole."""
    if progress is None:
        return None, None
    tell = progress
    return lambda done, total: tell(done, 2 * total), lambda done, total: tell(total + done, 2 * total)


def read_again(shop: Shop, job: int, log: str, asked: Asked) -> RoadLogAnswer:
    """Read a log of a job again from the file it came as, its columns put right.

    Raises
    ------
    InputFileError : no such log on this job, its file is gone, or what was said of its columns cannot be.
    RecordError : no such job, or a closed one.
    """
    kept = next((one for one in readings_of_job(shop, job) if one.log == log), None)
    if kept is None:
        raise InputFileError(f"job {job} has no such log", where=log[:64], remedy="add it again")
    path = original_of(kept_path(shop, log))
    if path is None:
        raise InputFileError(f"the file of '{kept.name}' is gone", remedy="add it again")
    if not asked.columns:
        raise InputFileError("no column is named", remedy="write MEANING=COLUMN, such as 'speed=GPS v'")
    said = Asked(asked.columns, asked.rate or kept.rate)
    return add_road_log(shop, job, path, asked=said, name=kept.name)


def noted_of_log(shop: Shop, job: int, log: str) -> tuple[str, ...]:
    """What of a log counts among a job's findings, in words."""
    current = shop.store.current_findings(job)
    return tuple(entry.said for entry in current if entry.conditions.get("log") == f"{log}.parquet")


def _note(found: RoadFinding, log: str) -> Entry:
    return Entry(
        said=found.said,
        finding=found.finding,
        states=() if found.state is None else (found.state,),
        value_si=found.value,
        unit=None if found.value is None else _unit(found),
        standard_uncertainty=found.standard_uncertainty,
        conditions={"log": log},
    )
