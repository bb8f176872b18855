"""The statements behind learning: confirmed causes of closed jobs, and what was decided about them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, func, insert, select

from bellhousing.errors import RecordError
from bellhousing.records import queries, rows, tables
from bellhousing.records.entries import CLOSED, ClosedJob, LearningEvent

LONGEST = 120
MOST = 40


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


def add_event(
    connection: Connection,
    event: str,
    *,
    at: datetime,
    job: int | None,
    digest: str | None,
    data: Mapping[str, Any],
) -> LearningEvent:
    """Keep what was decided."""
    at = rows.check_moment(at)
    rows.check_json(data, "data", event)
    made = connection.execute(
        insert(tables.learning_events).values(at=at, event=event, job=job, digest=digest, data=dict(data))
    )
    return LearningEvent(
        id=queries.new_number(made), at=at, event=event, job=job, digest=digest, data=dict(data)
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
