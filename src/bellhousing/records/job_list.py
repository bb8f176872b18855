"""The statements behind the list of jobs: a page at a time, and what is told of each, in few queries."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, String, cast, func, or_, select
from sqlalchemy.sql.elements import ColumnElement

from bellhousing.records import learning, queries, rows, tables
from bellhousing.records.entries import OPEN, Car, Finding, Job, Verdict
from bellhousing.records.work_book import of_jobs
from bellhousing.work.entries import WorkEntry

MOST_WORDS = 8
ESCAPE = "\\"

Reading = Callable[[], AbstractContextManager[Connection]]


@dataclass(frozen=True)
class Listed:
    """One job with what a list tells of it: its car, how much stands noted, its last verdict, its work."""

    job: Job
    car: Car
    noted: int
    verdict: Verdict | None
    work: tuple[WorkEntry, ...]


class JobList:
    """Pages of the shop's jobs.

    Which jobs stand open is followed from the changes of status, which are only ever added: the first look
    reads them all, each later one only what is new.  So a page costs the same however many jobs are closed.
    """

    def __init__(self, reading: Reading) -> None:
        self._reading = reading
        self._last = 0
        self._open: dict[int, None] = {}
        self._guard = threading.Lock()

    def open_numbers(self) -> tuple[int, ...]:
        """The numbers of the jobs that stand open, newest first."""
        table = tables.job_status
        with self._guard, self._reading() as connection:
            wanted = select(table.c.id, table.c.job, table.c.status).where(table.c.id > self._last)
            for number, job, status in connection.execute(wanted.order_by(table.c.id)):
                self._last = number
                if status == OPEN:
                    self._open[job] = None
                else:
                    self._open.pop(job, None)
            return tuple(sorted(self._open, reverse=True))

    def count(self) -> int:
        """How many jobs there are, open and closed."""
        with self._reading() as connection:
            return int(connection.execute(select(func.count()).select_from(tables.jobs)).scalar_one())

    def newest(self, *, limit: int, offset: int = 0) -> tuple[int, ...]:
        """The numbers of the newest jobs, open or closed."""
        jobs = tables.jobs
        wanted = select(jobs.c.number).order_by(jobs.c.number.desc()).limit(limit).offset(offset)
        with self._reading() as connection:
            return tuple(int(number) for number in connection.execute(wanted).scalars())

    def search(self, text: str) -> tuple[int, ...]:
        """Numbers of all jobs, newest first, whose number, complaint or car holds every word of a text."""
        jobs, cars = tables.jobs, tables.cars
        joined = jobs.join(cars, cars.c.slug == jobs.c.car)
        held = [_holds(word) for word in text.split()[:MOST_WORDS]]
        wanted = select(jobs.c.number).select_from(joined).where(*held).order_by(jobs.c.number.desc())
        with self._reading() as connection:
            return tuple(int(number) for number in connection.execute(wanted).scalars())

    def readings_of_car(self, slug: str) -> tuple[Finding, ...]:
        """Every reading with a figure that stands on a car's jobs, oldest first."""
        table, jobs = tables.findings, tables.jobs
        later = table.alias()
        gone = select(later.c.id).where(later.c.supersedes == table.c.id).exists()
        of_car = select(jobs.c.number).where(jobs.c.car == slug)
        wanted = (
            select(table)
            .where(table.c.job.in_(of_car), table.c.finding.is_not(None), table.c.value_si.is_not(None))
            .where(~table.c.withdrawn, ~gone)
            .order_by(table.c.at, table.c.id)
        )
        with self._reading() as connection:
            return tuple(rows.finding_from(row) for row in connection.execute(wanted))

    def of_car(self, slug: str) -> tuple[int, ...]:
        """The numbers of a car's jobs, newest first."""
        jobs = tables.jobs
        wanted = select(jobs.c.number).where(jobs.c.car == slug).order_by(jobs.c.number.desc())
        with self._reading() as connection:
            return tuple(int(number) for number in connection.execute(wanted).scalars())

    def car_count(self, text: str = "") -> int:
        """How many cars there are, or hold every word of a text."""
        wanted = select(func.count()).select_from(tables.cars).where(*_car_holds(text))
        with self._reading() as connection:
            return int(connection.execute(wanted).scalar_one())

    def cars(self, text: str = "", *, limit: int, offset: int = 0) -> tuple[Car, ...]:
        """Cars by name, or those whose name, note or box holds every word of a text."""
        table = tables.cars
        wanted = select(table).where(*_car_holds(text)).order_by(table.c.name, table.c.slug)
        with self._reading() as connection:
            found = connection.execute(wanted.limit(limit).offset(offset)).all()
            return tuple(rows.car_from(row, ()) for row in found)

    def cars_lately(self, most: int, within: int = 200) -> tuple[Car, ...]:
        """The cars a job was opened on last, looked for among the newest jobs."""
        jobs = tables.jobs
        wanted = select(jobs.c.car).order_by(jobs.c.number.desc()).limit(within)
        with self._reading() as connection:
            slugs = list(dict.fromkeys(connection.execute(wanted).scalars()))[:most]
            known = _cars(connection, set(slugs))
            return tuple(known[slug] for slug in slugs)

    def last_changes(self, after: int) -> tuple[learning.Change, ...]:
        """The last change of status of each job that had one since the change of that number."""
        with self._reading() as connection:
            return learning.last_changes(connection, after)

    def listed(self, numbers: Sequence[int]) -> tuple[Listed, ...]:
        """What a list tells of some jobs, in the order asked for; those there are not are left out."""
        with self._reading() as connection:
            wanted = queries.jobs_with_status().where(tables.jobs.c.number.in_(numbers))
            jobs = {row.number: rows.job_from(row) for row in connection.execute(wanted)}
            cars = _cars(connection, {job.car for job in jobs.values()})
            noted, verdicts = _noted(connection, list(jobs)), _verdicts(connection, list(jobs))
            work = of_jobs(connection, list(jobs))
        return tuple(
            Listed(
                jobs[one], cars[jobs[one].car], noted.get(one, 0), verdicts.get(one), tuple(work.get(one, ()))
            )
            for one in numbers
            if one in jobs
        )


def _pattern(word: str) -> str:
    for letter in (ESCAPE, "%", "_"):
        word = word.replace(letter, ESCAPE + letter)
    return f"%{word}%"


def _car_holds(text: str) -> list[ColumnElement[bool]]:
    held, cars = [_pattern(word) for word in text.split()[:MOST_WORDS]], tables.cars
    columns = (cars.c.name, cars.c.note, cars.c.box)
    return [or_(*(column.ilike(one, escape=ESCAPE) for column in columns)) for one in held]


def _holds(word: str) -> ColumnElement[bool]:
    pattern = _pattern(word)
    jobs, cars = tables.jobs, tables.cars
    return or_(
        jobs.c.complaint.ilike(pattern, escape=ESCAPE),
        cars.c.name.ilike(pattern, escape=ESCAPE),
        cast(jobs.c.number, String) == word,
    )


def _cars(connection: Connection, slugs: set[str]) -> dict[str, Car]:
    found = connection.execute(select(tables.cars).where(tables.cars.c.slug.in_(slugs)))
    return {row.slug: rows.car_from(row, ()) for row in found}


def _noted(connection: Connection, jobs: Sequence[int]) -> dict[int, int]:
    table = tables.findings
    later = table.alias()
    gone = select(later.c.id).where(later.c.supersedes == table.c.id).exists()
    wanted = (
        select(table.c.job, func.count())
        .where(table.c.job.in_(jobs), ~table.c.withdrawn, ~gone)
        .group_by(table.c.job)
    )
    return {int(job): int(count) for job, count in connection.execute(wanted)}


def _verdicts(connection: Connection, jobs: Sequence[int]) -> dict[int, Verdict]:
    table: Any = tables.verdicts
    newest = select(func.max(table.c.id)).where(table.c.job.in_(jobs)).group_by(table.c.job)
    found = connection.execute(select(table).where(table.c.id.in_(newest)))
    return {row.job: rows.verdict_from(row, ()) for row in found}
