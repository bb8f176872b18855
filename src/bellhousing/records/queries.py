"""The statements behind the store; each works inside a transaction that its caller holds."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import Column, Connection, CursorResult, Row, Select, Table, func, insert, select

from bellhousing.errors import RecordError
from bellhousing.records import rows, tables
from bellhousing.records.entries import Car, Entry, Finding, Job, JobStatus, OdometerReading


def new_number(made: CursorResult[Any]) -> int:
    """The number the database gave to the row just added."""
    key = made.inserted_primary_key
    if key is None:
        raise RecordError("the database gave the new row no number")
    return int(key[0])


def car_values(car: Car) -> dict[str, Any]:
    """The columns a car fills."""
    return {column.name: getattr(car, column.name) for column in tables.cars.columns}


def car_row(connection: Connection, slug: str) -> Row[Any] | None:
    """The row of one car, if there is one."""
    return connection.execute(select(tables.cars).where(tables.cars.c.slug == slug)).first()


def need_car(connection: Connection, slug: str) -> Row[Any]:
    """The row of one car."""
    row = car_row(connection, slug)
    if row is None:
        raise RecordError(f"there is no car '{slug}'", remedy="add it first, or look through the cars")
    return row


def odometer_of(connection: Connection, slug: str) -> tuple[OdometerReading, ...]:
    """A car's odometer readings, oldest first."""
    table = tables.odometer
    found = connection.execute(
        select(table.c.at, table.c.distance_m, table.c.who)
        .where(table.c.car == slug)
        .order_by(table.c.at, table.c.id)
    )
    return tuple(OdometerReading(**row._mapping) for row in found)


def odometers(connection: Connection) -> dict[str, tuple[OdometerReading, ...]]:
    """Every car's odometer readings, oldest first, by its slug."""
    table = tables.odometer
    found = connection.execute(
        select(table.c.car, table.c.at, table.c.distance_m, table.c.who).order_by(table.c.at, table.c.id)
    )
    readings: dict[str, tuple[OdometerReading, ...]] = {}
    for row in found:
        one = OdometerReading(at=row.at, distance_m=row.distance_m, who=row.who)
        readings[row.car] = (*readings.get(row.car, ()), one)
    return readings


def add_odometer(connection: Connection, slug: str, at: datetime, distance_m: float, who: str) -> None:
    """Add one odometer reading to a car."""
    at = rows.check_moment(at)
    connection.execute(insert(tables.odometer).values(car=slug, at=at, distance_m=float(distance_m), who=who))


def jobs_with_status() -> Select[Any]:
    """All jobs, each with the last status given to it."""
    jobs, changes = tables.jobs, tables.job_status
    all_changes = changes.alias()
    last = select(func.max(all_changes.c.id)).where(all_changes.c.job == jobs.c.number).scalar_subquery()
    return select(
        jobs.c.number, jobs.c.car, jobs.c.opened_at, jobs.c.complaint, jobs.c.odometer_m, changes.c.status
    ).select_from(jobs.join(changes, changes.c.id == last.correlate(jobs)))


def need_job(connection: Connection, number: int) -> Job:
    """One job."""
    row = connection.execute(jobs_with_status().where(tables.jobs.c.number == number)).first()
    if row is None:
        raise RecordError(f"there is no job {number}", remedy="open it first, or look through the jobs")
    return rows.job_from(row)


def add_status(connection: Connection, job: int, at: datetime, status: JobStatus, note: str, who: str) -> int:
    """Add one change of status to a job; its number."""
    values = {"job": job, "at": at, "status": status, "note": note, "who": who}
    return new_number(connection.execute(insert(tables.job_status).values(**values)))


def need_finding(connection: Connection, number: int) -> Finding:
    """One entry."""
    row = connection.execute(select(tables.findings).where(tables.findings.c.id == number)).first()
    if row is None:
        raise RecordError(f"there is no entry {number}", remedy="look through the job's entries")
    return rows.finding_from(row)


def used_findings(connection: Connection, verdict: int) -> tuple[int, ...]:
    """The ids of the entries a verdict came from, in order."""
    table = tables.verdict_findings
    found = connection.execute(
        select(table.c.finding).where(table.c.verdict == verdict).order_by(table.c.finding)
    )
    return tuple(int(row.finding) for row in found)


def sent_before(
    connection: Connection, table: Table, column: Column[Any], key: str | None, values: Mapping[str, Any]
) -> Row[Any] | None:
    """The row an earlier sending under this key made; raises RecordError if that said something else."""
    if key is None:
        return None
    row = connection.execute(select(table).where(column == key)).first()
    if row is not None and any(getattr(row, name) != value for name, value in values.items()):
        raise RecordError(
            "that key was used before, for something else", where=key, remedy="make a new key for each entry"
        )
    return row


def need_standing(connection: Connection, number: int) -> Finding:
    """An entry that may be corrected or withdrawn; raises RecordError naming the one to correct instead."""
    entry = need_finding(connection, number)
    if entry.withdrawn:
        raise RecordError(f"entry {number} is a withdrawal", remedy="note what holds as a new entry")
    table = tables.findings
    last = entry
    while True:
        row = connection.execute(select(table).where(table.c.supersedes == last.id)).first()
        if row is None:
            break
        last = rows.finding_from(row)
    if last.id == entry.id:
        return entry
    if last.withdrawn:
        raise RecordError(
            f"entry {number} was withdrawn by entry {last.id}", remedy="note what holds as a new entry"
        )
    raise RecordError(
        f"entry {number} was corrected before", remedy=f"entry {last.id} now stands for it, correct that"
    )


def write_finding(
    connection: Connection,
    job: int | None,
    entry: Entry,
    *,
    at: datetime,
    who: str,
    key: str | None,
    old: int | None = None,
    withdrawn: bool = False,
) -> Finding:
    """Add one entry: to `job`, or in place of the entry `old`."""
    at = rows.check_moment(at)
    where = f"job {job}" if old is None else f"entry {old}"
    rows.check_entry(entry, where)
    rows.check_key(key, where)
    sent: dict[str, Any] = {"said": entry.said, "supersedes": old, "withdrawn": withdrawn}
    if job is not None:
        sent["job"] = job
    known = sent_before(connection, tables.findings, tables.findings.c.key, key, sent)
    if known is not None:
        return rows.finding_from(known)
    if old is not None:
        job = need_standing(connection, old).job
    elif job is not None:
        need_job(connection, job)
    values = {**rows.entry_values(entry), "job": job, "at": at, "who": who, "key": key}
    values |= {"supersedes": old, "withdrawn": withdrawn}
    made = connection.execute(insert(tables.findings).values(**values))
    return need_finding(connection, new_number(made))
