"""The statements behind the door: sessions, failures to be let in, and the key that signs.

All of it lies in the records, so that several processes know of each other's and a session can be ended.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import datetime, timedelta

from sqlalchemy import Connection, delete, func, insert, select, update

from bellhousing.records import tables
from bellhousing.records.people import Person

Transaction = Callable[[], AbstractContextManager[Connection]]

SIGNING = "sessions"
# Failures are forgotten after this; more subjects than these are not remembered.
FORGOTTEN = timedelta(days=1)
MOST_SUBJECTS = 20_000
# A session's last use is written again only after this, so that looking at pages writes nothing.
SEEN_AGAIN = timedelta(minutes=5)
# Clocks of several machines may differ by this; what is further ahead is of before a clock was set back.
AHEAD = timedelta(minutes=10)


class Doors:
    """Sessions and failures in the records."""

    def __init__(self, reading: Transaction, writing: Transaction) -> None:
        self._reading = reading
        self._writing = writing

    def signing_key(self) -> bytes:
        """The key that signs sessions, made at first use and the same for every process."""
        wanted = select(tables.door_keys.c.value).where(tables.door_keys.c.name == SIGNING)
        with self._reading() as connection:
            found = connection.execute(wanted).scalar()
        if found is None:
            with self._writing() as connection:
                found = connection.execute(wanted).scalar()
                if found is None:
                    found = secrets.token_hex(32)
                    connection.execute(insert(tables.door_keys).values(name=SIGNING, value=found))
        return bytes.fromhex(found)

    # Sessions

    def open_session(self, digest: str, person: int, phrase: str, *, at: datetime, life: timedelta) -> bool:
        """Keep a session, clear away those whose life is over; False if the phrase was changed meanwhile."""
        table = tables.sessions
        people = tables.people.c
        same = (people.id == person) & (people.phrase == phrase) & people.removed_at.is_(None)
        with self._writing() as connection:
            over = (table.c.made_at < at - life) | (table.c.made_at > at + AHEAD)
            connection.execute(delete(table).where(over))
            if connection.execute(select(people.id).where(same)).first() is None:
                return False
            made = {"digest": digest, "person": person, "made_at": at, "seen_at": at}
            connection.execute(insert(table).values(**made))
            return True

    def person_of(self, digest: str, *, at: datetime, idle: timedelta, life: timedelta) -> Person | None:
        """Whose session this is, None if it has ended, lain idle too long or come to the end of its life."""
        session, people = tables.sessions, tables.people
        wanted = (
            select(people, session.c.seen_at)
            .join(session, session.c.person == people.c.id)
            .where(
                session.c.digest == digest,
                session.c.made_at > at - life,
                session.c.made_at <= at + AHEAD,
                session.c.seen_at > at - idle,
                people.c.removed_at.is_(None),
            )
        )
        with self._reading() as connection:
            row = connection.execute(wanted).first()
        if row is None:
            return None
        if row.seen_at < at - SEEN_AGAIN:
            with self._writing() as connection:
                connection.execute(update(session).where(session.c.digest == digest).values(seen_at=at))
        return Person(id=row.id, name=row.name, role=row.role, made_at=row.made_at, phrase=row.phrase)

    def end_session(self, digest: str) -> None:
        """End a session, here and everywhere."""
        with self._writing() as connection:
            connection.execute(delete(tables.sessions).where(tables.sessions.c.digest == digest))

    # Failures

    def wait_of(self, subjects: dict[str, str], *, at: datetime) -> timedelta:
        """How long nothing is to be tried for any of some subjects; nothing is booked."""
        table = tables.tries
        with self._reading() as connection:
            until = [
                connection.execute(
                    select(table.c.until_at).where(
                        table.c.kind == kind, table.c.subject == subject, table.c.last_at <= at + AHEAD
                    )
                ).scalar()
                for kind, subject in subjects.items()
            ]
        return max((one - at for one in until if one is not None), default=timedelta())

    def take_try(
        self, subjects: dict[str, str], delay: Callable[[str, int], timedelta], *, at: datetime
    ) -> timedelta:
        """Book a try as failed beforehand, for each kind of subject; how long to wait if none is free.

        Booked first and taken back by success, so that tries side by side count as well as one by one.
        """
        table = tables.tries
        with self._writing() as connection:
            _clear(connection, at)
            known = {
                kind: connection.execute(
                    select(table).where(table.c.kind == kind, table.c.subject == subject)
                ).first()
                for kind, subject in subjects.items()
            }
            wait = max((row.until_at - at for row in known.values() if row is not None), default=timedelta())
            if wait > timedelta():
                return wait
            for kind, subject in subjects.items():
                row = known[kind]
                failures = 1 if row is None else row.failures + 1
                told = {"failures": failures, "last_at": at, "until_at": at + delay(kind, failures)}
                if row is None:
                    connection.execute(insert(table).values(kind=kind, subject=subject, **told))
                else:
                    mine = (table.c.kind == kind) & (table.c.subject == subject)
                    connection.execute(update(table).where(mine).values(**told))
        return timedelta()

    def forgive(self, subjects: dict[str, str]) -> None:
        """Take back what was booked, after success."""
        table = tables.tries
        with self._writing() as connection:
            for kind, subject in subjects.items():
                connection.execute(delete(table).where(table.c.kind == kind, table.c.subject == subject))


def _clear(connection: Connection, at: datetime) -> None:
    table = tables.tries
    # A failure of a day to come would lock its door until that day.
    old = (table.c.last_at < at - FORGOTTEN) | (table.c.last_at > at + AHEAD)
    connection.execute(delete(table).where(old))
    count = connection.execute(select(func.count()).select_from(table)).scalar_one()
    if count > MOST_SUBJECTS:
        # Those that have to wait longest are kept.
        oldest = select(table.c.until_at).order_by(table.c.until_at).offset(count - MOST_SUBJECTS).limit(1)
        connection.execute(delete(table).where(table.c.until_at < oldest.scalar_subquery()))
