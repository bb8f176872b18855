"""The statements behind people: who they are, what they may do, and every change of that."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, delete, insert, select, update

from bellhousing.errors import RecordError
from bellhousing.records import queries, rows, tables

Transaction = Callable[[], AbstractContextManager[Connection]]


@dataclass(frozen=True, kw_only=True)
class Person:
    """Somebody who may come in; `phrase` is the hash of the pass phrase, None while none is set."""

    id: int
    name: str
    role: str
    made_at: datetime
    phrase: str | None = None


@dataclass(frozen=True, kw_only=True)
class PersonChange:
    """What was changed about a person, by whom and when."""

    at: datetime
    who: str
    name: str
    what: str


@dataclass(frozen=True, kw_only=True)
class Deed:
    """That somebody sent something to an address of the app."""

    at: datetime
    who: str
    address: str


def known_as(name: str) -> str:
    """A name as names are compared: compatible letters, no case, single spaces."""
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


class People:
    """People in the records; one who is removed stays in the book, since entries bear the name."""

    def __init__(self, reading: Transaction, writing: Transaction) -> None:
        self._reading = reading
        self._writing = writing

    def add(self, name: str, role: str, *, at: datetime, who: str) -> Person:
        """Let somebody in; a person removed before comes back, without the old pass phrase.

        Raises
        ------
        RecordError : somebody of that name is there.
        """
        at = rows.check_moment(at)
        values: dict[str, Any] = {"name": name, "role": role, "made_at": at, "removed_at": None}
        with self._writing() as connection:
            known = _row(connection, name, removed=True)
            if known is not None and known.removed_at is None:
                raise RecordError("somebody of that name is there already", where=known.name)
            if known is None:
                made = insert(tables.people).values(**values, known_as=known_as(name))
                number = queries.new_number(connection.execute(made))
            else:
                number = known.id
                mine = tables.people.c.id == number
                connection.execute(update(tables.people).where(mine).values(**values, phrase=None))
            _note(connection, number, f"added as {role}", at, who)
            return _person(_need(connection, name))

    def set_role(self, name: str, role: str, *, at: datetime, who: str) -> Person:
        """Give somebody another role; sessions end, so that nobody goes on with more than is allowed."""
        return self._change(name, {"role": role}, f"now {role}", at, who)

    def set_phrase(self, name: str, phrase: str, *, at: datetime, who: str) -> Person:
        """Keep the hash of a new pass phrase; sessions opened with the old one end."""
        return self._change(name, {"phrase": phrase}, "pass phrase set", at, who)

    def refresh_phrase(self, number: int, old: str, new: str) -> None:
        """Keep a stronger hash of the same pass phrase, unless it was changed meanwhile."""
        mine = (tables.people.c.id == number) & (tables.people.c.phrase == old)
        with self._writing() as connection:
            connection.execute(update(tables.people).where(mine).values(phrase=new))

    def remove(self, name: str, *, at: datetime, who: str) -> Person:
        """Let somebody in no more, at once."""
        return self._change(name, {"removed_at": at, "phrase": None}, "removed", at, who)

    def find(self, name: str) -> Person | None:
        """The person of a name, None if there is none."""
        with self._reading() as connection:
            row = _row(connection, name)
            return None if row is None else _person(row)

    def all(self) -> tuple[Person, ...]:
        """Everybody who may come in, by name."""
        table = tables.people
        wanted = select(table).where(table.c.removed_at.is_(None)).order_by(table.c.known_as)
        with self._reading() as connection:
            return tuple(_person(row) for row in connection.execute(wanted))

    def changes(self, limit: int = 50) -> tuple[PersonChange, ...]:
        """What was changed about people, newest first."""
        changes, people = tables.people_changes, tables.people
        wanted = (
            select(changes.c.at, changes.c.who, people.c.name, changes.c.what)
            .join(people, people.c.id == changes.c.person)
            .order_by(changes.c.id.desc())
            .limit(limit)
        )
        with self._reading() as connection:
            return tuple(PersonChange(**row._mapping) for row in connection.execute(wanted))

    def add_deed(self, who: str, address: str, *, at: datetime) -> None:
        """Keep that somebody sent something to an address, and nothing of what it said."""
        with self._writing() as connection:
            connection.execute(insert(tables.deeds).values(at=at, who=who, address=address[:200]))

    def deeds(self, limit: int = 50) -> tuple[Deed, ...]:
        """Who sent something where, newest first."""
        table = tables.deeds
        wanted = select(table.c.at, table.c.who, table.c.address).order_by(table.c.id.desc()).limit(limit)
        with self._reading() as connection:
            return tuple(Deed(**row._mapping) for row in connection.execute(wanted))

    def _change(self, name: str, values: dict[str, Any], what: str, at: datetime, who: str) -> Person:
        at = rows.check_moment(at)
        with self._writing() as connection:
            person = _need(connection, name)
            connection.execute(update(tables.people).where(tables.people.c.id == person.id).values(**values))
            _keep_a_proprietor(connection, person)
            connection.execute(delete(tables.sessions).where(tables.sessions.c.person == person.id))
            _note(connection, person.id, what, at, who)
            changed = select(tables.people).where(tables.people.c.id == person.id)
            return _person(connection.execute(changed).one())


def _keep_a_proprietor(connection: Connection, changed: Row[Any]) -> None:
    table = tables.people
    left = select(table.c.id).where(table.c.role == "proprietor", table.c.removed_at.is_(None)).limit(1)
    if changed.role == "proprietor" and connection.execute(left).first() is None:
        raise RecordError(
            "a shop needs a proprietor, and this is the only one",
            where=changed.name,
            remedy="make somebody else proprietor first; nothing was changed",
        )


def _row(connection: Connection, name: str, *, removed: bool = False) -> Row[Any] | None:
    table = tables.people
    wanted = select(table).where(table.c.known_as == known_as(name))
    return connection.execute(wanted if removed else wanted.where(table.c.removed_at.is_(None))).first()


def _need(connection: Connection, name: str) -> Row[Any]:
    row = _row(connection, name)
    if row is None:
        raise RecordError(
            "there is nobody of that name", where=name[:80], remedy="look at: bellhousing people list"
        )
    return row


def _person(row: Row[Any]) -> Person:
    return Person(id=row.id, name=row.name, role=row.role, made_at=row.made_at, phrase=row.phrase)


def _note(connection: Connection, person: int, what: str, at: datetime, who: str) -> None:
    connection.execute(insert(tables.people_changes).values(at=at, who=who, person=person, what=what))
