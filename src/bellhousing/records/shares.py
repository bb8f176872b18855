"""The statements behind links for owners: one page of one job, for a time, until revoked."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, insert, select, update

from bellhousing.errors import RecordError
from bellhousing.records import queries, rows, tables

Transaction = Callable[[], AbstractContextManager[Connection]]


@dataclass(frozen=True, kw_only=True)
class Share:
    """A link: the page of the job it shows, who made it, until when it holds, whether it was revoked."""

    id: int
    job: int
    page: str
    made_at: datetime
    who: str
    expires_at: datetime
    revoked_at: datetime | None = None
    revoked_by: str | None = None


class Shares:
    """Links in the records, which know only a digest of what the owner holds."""

    def __init__(self, reading: Transaction, writing: Transaction) -> None:
        self._reading = reading
        self._writing = writing

    def add(self, digest: str, job: int, page: str, *, at: datetime, who: str, expires: datetime) -> Share:
        """Keep a new link."""
        at = rows.check_moment(at)
        values = {"job": job, "page": page, "made_at": at, "who": who, "expires_at": expires}
        with self._writing() as connection:
            queries.need_job(connection, job)
            made = connection.execute(insert(tables.shares).values(digest=digest, **values))
            return Share(id=queries.new_number(made), **values)  # type: ignore[arg-type]

    def of_digest(self, digest: str) -> Share | None:
        """The link of a digest, None if there never was one."""
        return next(iter(self._found(tables.shares.c.digest == digest)), None)

    def of_job(self, job: int) -> tuple[Share, ...]:
        """The links of a job, newest first."""
        return self._found(tables.shares.c.job == job)

    def revoke(self, number: int, job: int, *, at: datetime, who: str) -> Share:
        """Let a link show nothing any more; said again, the first time stands.

        Raises
        ------
        RecordError : the job has no such link.
        """
        mine = (tables.shares.c.id == number) & (tables.shares.c.job == job)
        with self._writing() as connection:
            connection.execute(
                update(tables.shares)
                .where(mine, tables.shares.c.revoked_at.is_(None))
                .values(revoked_at=at, revoked_by=who)
            )
        found = self._found(mine)
        if not found:
            raise RecordError("this job has no such link", where=f"job {job}, link {number}")
        return found[0]

    def _found(self, which: object) -> tuple[Share, ...]:
        table = tables.shares
        wanted = select(*(column for column in table.c if column.name != "digest"))
        with self._reading() as connection:
            found = connection.execute(wanted.where(which).order_by(table.c.id.desc()))  # type: ignore[arg-type]
            return tuple(Share(**row._mapping) for row in found)
