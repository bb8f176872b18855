"""From rows to records and back, and the checks a record must pass before it is kept."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Row

from bellhousing.errors import RecordError
from bellhousing.records.entries import Car, Conclusion, Entry, Finding, Job, OdometerReading, Verdict

SLUG = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
LONGEST_KEY = 200


def car_from(row: Row[Any], readings: tuple[OdometerReading, ...]) -> Car:
    """One row of cars and its odometer readings, oldest first."""
    return Car(**row._mapping, odometer=readings)


def job_from(row: Row[Any]) -> Job:
    """One row of jobs joined to its last status."""
    return Job(**{name: value for name, value in row._mapping.items() if name != "key"})


def finding_from(row: Row[Any]) -> Finding:
    """One row of findings."""
    return Finding(**{**row._mapping, "states": tuple(row.states)})


def verdict_from(row: Row[Any], used: tuple[int, ...]) -> Verdict:
    """One row of verdicts and the ids of the entries it used."""
    fields = {**row._mapping, "seed": int(row.seed), "causes": tuple(row.causes), "findings": used}
    return Verdict(**fields)


def entry_values(entry: Entry) -> dict[str, Any]:
    """The columns an entry fills."""
    return {
        "said": entry.said,
        "finding": entry.finding,
        "states": list(entry.states),
        "word": entry.word,
        "value_si": None if entry.value_si is None else float(entry.value_si),
        "unit": entry.unit,
        "standard_uncertainty": None
        if entry.standard_uncertainty is None
        else float(entry.standard_uncertainty),
        "unit_assumed": bool(entry.unit_assumed),
        "conditions": dict(entry.conditions),
    }


def conclusion_values(conclusion: Conclusion) -> dict[str, Any]:
    """The columns a conclusion fills in the table of verdicts."""
    return {
        "seed": str(conclusion.seed),
        "box": conclusion.box,
        "box_digest": conclusion.box_digest,
        "catalogue_digest": conclusion.catalogue_digest,
        "program_version": conclusion.program_version,
        "causes": [dict(cause) for cause in conclusion.causes],
        "neglected": float(conclusion.neglected),
        "details": dict(conclusion.details),
    }


def check_moment(at: datetime) -> datetime:
    """The moment in UTC; a time without a zone is refused, because nobody could say which it means."""
    if at.tzinfo is None or at.utcoffset() is None:
        raise RecordError("the time has no time zone", where=at.isoformat(), remedy="give it in UTC")
    return at.astimezone(UTC)


def check_car(car: Car) -> None:
    """Refuse a car without a usable name, or with figures that cannot be."""
    if SLUG.fullmatch(car.slug) is None or len(car.slug) > 80:
        raise RecordError(
            f"'{car.slug}' cannot name a car",
            remedy="use small letters, figures and single hyphens, like grey-saloon",
        )
    _need(car.name, "a car needs a name", car.slug)
    _need(car.box, "a car needs a box", car.slug)
    for what, value in (("axle ratio", car.axle_ratio), ("tyre radius", car.tyre_radius_m)):
        _check_figure(value, what, car.slug, positive=True)
    _check_figure(car.altitude_m, "altitude", car.slug, positive=None)
    for reading in car.odometer:
        check_odometer(reading.distance_m, car.slug)
        check_moment(reading.at)


def check_odometer(distance_m: float | None, where: str) -> None:
    """Refuse an odometer reading below nothing."""
    _check_figure(distance_m, "odometer", where, positive=False)


def check_entry(entry: Entry, where: str) -> None:
    """Refuse an entry in which nothing is said, or whose figures cannot be kept and read back the same."""
    _need(entry.said, "nothing is said in that entry", where)
    if entry.finding is None and (entry.states or entry.word is not None or entry.value_si is not None):
        raise RecordError(
            "that entry holds a reading but not what was read", where=where, remedy="name the finding"
        )
    if entry.value_si is not None and entry.unit is None:
        raise RecordError("that figure has no unit", where=where, remedy="give the unit it was entered in")
    _check_figure(entry.value_si, "value", where, positive=None)
    _check_figure(entry.standard_uncertainty, "standard uncertainty", where, positive=False)
    check_json(entry.conditions, "conditions", where)


def check_conclusion(conclusion: Conclusion, where: str) -> None:
    """Refuse a conclusion that could not be worked out again, or not be read back the same."""
    if not 0.0 <= conclusion.neglected <= 1.0:
        raise RecordError(
            f"the neglected probability is {conclusion.neglected}", where=where, remedy="between 0 and 1"
        )
    for digest in (conclusion.box_digest, conclusion.catalogue_digest):
        _need(digest, "a verdict needs the digests of its box and catalogue", where)
    check_json(list(conclusion.causes), "causes", where)
    check_json(conclusion.details, "details", where)


def check_key(key: str | None, where: str) -> None:
    """Refuse a key that is empty or longer than its column."""
    if key is not None and not 0 < len(key) <= LONGEST_KEY:
        raise RecordError(
            "that key cannot be kept",
            where=where,
            remedy=f"1 to {LONGEST_KEY} characters, made by the sender",
        )


def check_json(value: Any, what: str, where: str) -> None:
    """Refuse plain data that would come back from the database as something else."""
    try:
        same = json.loads(json.dumps(value, allow_nan=False)) == as_kept(value)
    except (TypeError, ValueError):
        same = False
    if not same:
        raise RecordError(
            f"the {what} cannot be kept as they are",
            where=where,
            remedy="use text keys, and text, whole or finite numbers, yes or no, lists",
        )


def as_kept(value: Any) -> Any:
    """Plain data as the database hands it back: lists for every sequence, dicts for every mapping."""
    if isinstance(value, list | tuple):
        return [as_kept(item) for item in value]
    if isinstance(value, Mapping):
        return {name: as_kept(item) for name, item in value.items()}
    return value


def _need(text: str, what: str, where: str) -> None:
    if not text.strip():
        raise RecordError(what, where=where)


def _check_figure(value: float | None, what: str, where: str, *, positive: bool | None) -> None:
    if value is None:
        return
    if not math.isfinite(value):
        raise RecordError(
            f"the {what} is not a number", where=where, remedy="leave it out if it is not known"
        )
    if positive is not None and (value < 0.0 or (positive and value == 0.0)):
        limit = "more than nothing" if positive else "not below nothing"
        raise RecordError(f"the {what} is {value:g}", where=where, remedy=limit)
