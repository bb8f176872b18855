"""The statements behind the fits of a car: one is only ever added, the newest of a job stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, insert, select

from bellhousing.errors import RecordError
from bellhousing.records import queries, rows, tables


@dataclass(frozen=True, kw_only=True)
class KeptFit:
    """What was fitted to the drives of a job: car, day driven, the box it was fitted as, plain data."""

    car: str
    job: int
    day: date
    at: datetime
    who: str
    box: str
    data: Mapping[str, Any]
    id: int | None = None


def keep(connection: Connection, fit: KeptFit) -> KeptFit:
    """Keep a fit; one that says what the newest of its job says already is handed back as it is.

    Raises
    ------
    RecordError : no such job, a job of another car, or data that cannot be kept
    """
    where = f"job {fit.job}"
    at = rows.check_moment(fit.at)
    rows.check_json(fit.data, "data", where)
    if queries.need_job(connection, fit.job).car != fit.car:
        raise RecordError("that job is of another car", where=where)
    data = rows.as_kept(fit.data)
    for one in of_car(connection, fit.car):
        if (one.job, one.day, one.box, one.data) == (fit.job, fit.day, fit.box, data):
            return one
    values = {"car": fit.car, "job": fit.job, "day": fit.day, "at": at, "who": fit.who, "box": fit.box}
    made = connection.execute(insert(tables.car_fits).values(**values, data=data))
    return replace(fit, id=queries.new_number(made), at=at, data=data)


def of_car(connection: Connection, car: str) -> tuple[KeptFit, ...]:
    """The fits of a car by day, the newest of each job."""
    table = tables.car_fits
    found = connection.execute(select(table).where(table.c.car == car).order_by(table.c.id))
    newest = {row.job: KeptFit(**row._mapping) for row in found}
    return tuple(sorted(newest.values(), key=lambda fit: (fit.day, fit.id or 0)))
