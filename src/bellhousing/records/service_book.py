"""The book of services on cars: what was done on which day, written once; a withdrawal is an entry too."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Row, insert, select

from bellhousing.errors import RecordError
from bellhousing.records import queries, rows, tables

Transaction = Callable[[], AbstractContextManager[Connection]]
LONGEST_RULE = 120
LONGEST_NOTE = 2000


@dataclass(frozen=True, kw_only=True)
class ServiceDone:
    """A service that was done: of which car, what, on which day, at which reading [m]."""

    car: str
    rule: str
    day: date
    odometer_m: float | None
    note: str = ""
    id: int = 0
    at: datetime | None = None
    who: str = ""
    supersedes: int | None = None
    withdrawn: bool = False
    key: str | None = None


class ServiceBook:
    """Entries of services in the records; safe to share between threads."""

    def __init__(self, reading: Transaction, writing: Transaction) -> None:
        self._reading = reading
        self._writing = writing

    def add(self, done: ServiceDone, *, at: datetime, who: str, key: str | None = None) -> ServiceDone:
        """Note a service, once for a key; raises RecordError if the car is not there or it cannot be kept."""
        _check(done)
        rows.check_key(key, done.car)
        values = {
            "car": done.car,
            "rule": done.rule,
            "day": done.day,
            "odometer_m": None if done.odometer_m is None else float(done.odometer_m),
            "note": done.note,
            "supersedes": None,
            "withdrawn": False,
        }
        with self._writing() as connection:
            return _add(connection, values, at, who, key)

    def withdraw(self, number: int, *, at: datetime, who: str, reason: str) -> ServiceDone:
        """Note that an entry no longer counts; raises RecordError if it is not there or was taken back."""
        with self._writing() as connection:
            table = tables.service_entries
            old = connection.execute(select(table).where(table.c.id == number)).first()
            if old is None or old.withdrawn:
                raise RecordError(f"there is no service {number} to take back")
            if connection.execute(select(table.c.id).where(table.c.supersedes == number)).first() is not None:
                raise RecordError(f"service {number} was taken back before")
            values = {
                "car": old.car,
                "rule": old.rule,
                "day": old.day,
                "odometer_m": old.odometer_m,
                "note": reason[:LONGEST_NOTE],
                "supersedes": number,
                "withdrawn": True,
            }
            return _add(connection, values, at, who, None)

    def entries(self, car: str | None = None) -> tuple[ServiceDone, ...]:
        """Every entry in the order noted, those taken back among them; of one car if asked."""
        table = tables.service_entries
        wanted = select(table).order_by(table.c.id)
        if car is not None:
            wanted = wanted.where(table.c.car == car)
        with self._reading() as connection:
            return tuple(_entry(row) for row in connection.execute(wanted))

    def standing(self, car: str | None = None) -> tuple[ServiceDone, ...]:
        """What counts."""
        every = self.entries(car)
        gone = {entry.supersedes for entry in every}
        return tuple(entry for entry in every if not entry.withdrawn and entry.id not in gone)


def _add(
    connection: Connection, values: dict[str, Any], at: datetime, who: str, key: str | None
) -> ServiceDone:
    table = tables.service_entries
    known = queries.sent_before(connection, table, table.c.key, key, values)
    if known is not None:
        return _entry(known)
    queries.need_car(connection, values["car"])
    made = connection.execute(insert(table).values(**values, at=rows.check_moment(at), who=who, key=key))
    number = queries.new_number(made)
    row = connection.execute(select(table).where(table.c.id == number)).one()
    return _entry(row)


def _check(done: ServiceDone) -> None:
    if not 0 < len(done.rule) <= LONGEST_RULE:
        raise RecordError("a service has a name", where=done.car)
    if len(done.note) > LONGEST_NOTE:
        raise RecordError("that note is too long", where=done.car, remedy=f"at most {LONGEST_NOTE} letters")
    rows.check_odometer(done.odometer_m, done.car)


def _entry(row: Row[Any]) -> ServiceDone:
    return ServiceDone(**row._mapping)
