"""The statements behind the book of work: entries are only ever added, a correction points at the old one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection, Row, func, insert, select

from bellhousing.errors import RecordError
from bellhousing.records import queries, rows, tables
from bellhousing.records.entries import CLOSED
from bellhousing.work.entries import WITHDRAWN, WorkEntry, check_work_entry


class BookMoved(RecordError):
    """Somebody else wrote in the book of a job, or closed the job, since it was read."""


def add(connection: Connection, entry: WorkEntry, after: int | None = None) -> WorkEntry:
    """Keep one entry; one sent before under its key is handed back as it was kept.

    With `after`, the newest entry the writer has read (0 for none), it is kept only where that still is the
    newest and the job still is open.

    Raises
    ------
    BookMoved : it is not
    RecordError : it cannot be kept, its job or the entry it corrects is not there, that entry was corrected
        before, or its key was used for something else
    """
    where = f"job {entry.job}"
    at = rows.check_moment(entry.at)
    check_work_entry(entry)
    rows.check_json(entry.data, "data", where)
    rows.check_key(entry.key, where)
    sent = {
        "job": entry.job,
        "kind": entry.kind,
        "subject": entry.subject,
        "data": rows.as_kept(entry.data),
        "supersedes": entry.supersedes,
    }
    table = tables.work_entries
    known = queries.sent_before(connection, table, table.c.key, entry.key, sent)
    if known is not None:
        return _entry(known)
    found = queries.need_job(connection, entry.job)
    if after is not None:
        need_newest(connection, entry.job, after)
        if found.status == CLOSED:
            raise BookMoved(f"job {entry.job} is closed", remedy="open it again first")
    if entry.supersedes is not None:
        _need_standing(connection, entry.supersedes, entry.job)
    made = connection.execute(insert(table).values(**sent, at=at, who=entry.who, key=entry.key))
    return replace(entry, id=queries.new_number(made), at=at, data=sent["data"])


def need_newest(connection: Connection, job: int, after: int) -> None:
    """Refuse where somebody wrote in a job's book since it was read; raises BookMoved."""
    table = tables.work_entries
    newest = connection.execute(select(func.max(table.c.id)).where(table.c.job == job)).scalar() or 0
    if newest != after:
        raise BookMoved(
            f"somebody else wrote in the book of job {job} at the same moment",
            remedy="nothing was written; look at it again, then say it again",
        )


def of_job(connection: Connection, job: int) -> tuple[WorkEntry, ...]:
    """Every entry of a job, in the order kept."""
    table = tables.work_entries
    found = connection.execute(select(table).where(table.c.job == job).order_by(table.c.id))
    return tuple(_entry(row) for row in found)


def of_jobs(connection: Connection, jobs: Sequence[int]) -> dict[int, list[WorkEntry]]:
    """Every entry of some jobs, in the order kept, by job."""
    table = tables.work_entries
    found: dict[int, list[WorkEntry]] = {}
    for row in connection.execute(select(table).where(table.c.job.in_(jobs)).order_by(table.c.id)):
        found.setdefault(row.job, []).append(_entry(row))
    return found


def last_of_kind(connection: Connection, kind: str) -> WorkEntry | None:
    """The newest entry of a kind that was not corrected or withdrawn, on any job."""
    table = tables.work_entries
    later = table.alias()
    gone = select(later.c.id).where(later.c.supersedes == table.c.id).exists()
    wanted = select(table).where(table.c.kind == kind, ~gone).order_by(table.c.id.desc()).limit(1)
    row = connection.execute(wanted).first()
    return None if row is None else _entry(row)


def _need_standing(connection: Connection, number: int, job: int) -> None:
    table = tables.work_entries
    row = connection.execute(select(table).where(table.c.id == number)).first()
    if row is None or row.job != job:
        raise RecordError(f"there is no entry {number}", where=f"job {job}", remedy="look through its book")
    if row.kind == WITHDRAWN:
        raise RecordError(f"entry {number} is a withdrawal", remedy="note what holds as a new entry")
    later = connection.execute(select(table).where(table.c.supersedes == number)).first()
    if later is None:
        return
    if later.kind == WITHDRAWN:
        raise RecordError(f"entry {number} was withdrawn before", remedy="note what holds as a new entry")
    raise RecordError(
        f"entry {number} was corrected before", remedy=f"entry {later.id} was put in its place, correct that"
    )


def _entry(row: Row[Any]) -> WorkEntry:
    return WorkEntry(**row._mapping)
