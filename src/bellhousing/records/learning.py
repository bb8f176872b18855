"""The statements behind learning: confirmed causes of closed jobs, and what was decided about them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import Connection, func, insert, select

from bellhousing.errors import RecordError
from bellhousing.records import queries, rows, tables
from bellhousing.records.entries import CLOSED, ClosedJob, LearningEvent

LONGEST = 120
MOST = 40
FEW = 500
"""Jobs up to which their findings are asked for by number."""


class FoundOnJob(NamedTuple):
    """What counting needs of an entry that stands."""

    finding: str
    states: tuple[str, ...]
    word: str | None
    value_si: float | None
    standard_uncertainty: float | None
    who: str


@dataclass(frozen=True)
class Change:
    """The last change of a job's status; `closed` if it stands closed with its causes confirmed."""

    number: int
    job: ClosedJob
    box: str
    closed: bool
    entries: tuple[FoundOnJob, ...]


def add_causes(connection: Connection, change: int, causes: Sequence[str], where: str) -> None:
    """Keep the causes confirmed with a change of status."""
    if len(causes) > MOST or any(not 0 < len(cause) <= LONGEST for cause in causes):
        raise RecordError(
            "those causes cannot be kept", where=where, remedy=f"at most {MOST}, each by its short name"
        )
    for cause in dict.fromkeys(causes):
        connection.execute(insert(tables.confirmed_causes).values(change=change, cause=cause))


def closed_jobs(connection: Connection) -> tuple[ClosedJob, ...]:
    """Jobs that stand closed with their causes confirmed, oldest first."""
    changes, causes, jobs = tables.job_status, tables.confirmed_causes, tables.jobs
    last = select(func.max(changes.c.id)).group_by(changes.c.job)
    found = connection.execute(
        select(jobs.c.number, jobs.c.car, causes.c.cause)
        .join(changes, changes.c.job == jobs.c.number)
        .join(causes, causes.c.change == changes.c.id)
        .where(changes.c.id.in_(last), changes.c.status == CLOSED)
        .order_by(jobs.c.number, causes.c.id)
    )
    grouped: dict[int, tuple[str, list[str]]] = {}
    for row in found:
        grouped.setdefault(row.number, (row.car, []))[1].append(row.cause)
    return tuple(
        ClosedJob(number=number, car=car, causes=tuple(names)) for number, (car, names) in grouped.items()
    )


def last_changes(connection: Connection, after: int) -> tuple[Change, ...]:
    """The last change of status of every job whose status changed since a change of that number, with what
    was found on those that stand closed with their causes confirmed."""
    changes, causes, jobs = tables.job_status, tables.confirmed_causes, tables.jobs
    last = (
        select(func.max(changes.c.id).label("id"))
        .where(changes.c.id > after)
        .group_by(changes.c.job)
        .subquery()
    )
    found = connection.execute(
        select(changes.c.id, changes.c.job, changes.c.status, jobs.c.car, tables.cars.c.box)
        .join(last, last.c.id == changes.c.id)
        .join(jobs, jobs.c.number == changes.c.job)
        .join(tables.cars, tables.cars.c.slug == jobs.c.car)
        .order_by(changes.c.id)
    ).all()
    confirmed: dict[int, list[str]] = {}
    rows_of = connection.execute(
        select(causes.c.change, causes.c.cause).where(causes.c.change > after).order_by(causes.c.id)
    )
    for change, cause in rows_of:
        confirmed.setdefault(change, []).append(cause)
    closed = {row.job for row in found if row.status == CLOSED and row.id in confirmed}
    entries = _current(connection, closed)
    return tuple(
        Change(
            number=row.id,
            job=ClosedJob(number=row.job, car=row.car, causes=tuple(confirmed.get(row.id, ()))),
            box=row.box,
            closed=row.job in closed,
            entries=tuple(entries.get(row.job, ())),
        )
        for row in found
    )


def _current(connection: Connection, jobs: Set[int]) -> dict[int, list[FoundOnJob]]:
    """What was found and stands on some jobs, each where the entry it corrects was noted."""
    table = tables.findings
    later = table.alias()
    gone = select(later.c.id).where(later.c.supersedes == table.c.id).exists()
    wanted = (
        select(
            table.c.job, table.c.id, table.c.finding, table.c.states, table.c.word, table.c.value_si,
            table.c.standard_uncertainty, table.c.who,
        )
        .where(table.c.finding.is_not(None), ~table.c.withdrawn, ~gone)
        .order_by(table.c.id)
    )  # fmt: skip
    if len(jobs) <= FEW:
        wanted = wanted.where(table.c.job.in_(jobs))
    corrected = select(table.c.id, table.c.supersedes).where(table.c.supersedes.is_not(None))
    before: dict[int, int] = {row.id: row.supersedes for row in connection.execute(corrected)}

    def first(number: int) -> int:
        while number in before:
            number = before[number]
        return number

    placed: dict[int, list[tuple[int, FoundOnJob]]] = {}
    for job, number, finding, states, *rest in connection.execute(wanted):
        if job in jobs:
            one = FoundOnJob(finding, tuple(states), *rest)
            placed.setdefault(job, []).append((first(number), one))
    return {job: [one for _, one in sorted(rows, key=lambda row: row[0])] for job, rows in placed.items()}


def add_event(
    connection: Connection,
    event: str,
    *,
    at: datetime,
    who: str,
    job: int | None,
    digest: str | None,
    data: Mapping[str, Any],
) -> LearningEvent:
    """Keep what was decided."""
    at = rows.check_moment(at)
    rows.check_json(data, "data", event)
    values = {"at": at, "event": event, "job": job, "digest": digest, "data": dict(data), "who": who}
    made = connection.execute(insert(tables.learning_events).values(**values))
    return LearningEvent(
        id=queries.new_number(made), at=at, event=event, job=job, digest=digest, data=dict(data), who=who
    )


def events(connection: Connection) -> tuple[LearningEvent, ...]:
    """Everything decided, oldest first."""
    table = tables.learning_events
    return tuple(
        LearningEvent(**row._mapping) for row in connection.execute(select(table).order_by(table.c.id))
    )


def mark(connection: Connection) -> tuple[int, int]:
    """The newest change of status and the newest decision."""
    newest = [
        connection.execute(select(func.coalesce(func.max(table.c.id), 0))).scalar_one()
        for table in (tables.job_status, tables.learning_events)
    ]
    return int(newest[0]), int(newest[1])
