"""The shop's records: cars, jobs, the findings noted on them and the verdicts reached.

Findings and verdicts are only ever added. A correction is a new entry that points at the old one, and so is
a withdrawal; each entry can be corrected or withdrawn once, the next correction is of the newer entry.
Times are passed in: nothing here reads a clock.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, insert, select

from bellhousing.errors import RecordError
from bellhousing.records import car_fits, learning, queries, rows, stock, tables, work_book
from bellhousing.records.access import Access
from bellhousing.records.database import open_engine
from bellhousing.records.entries import (
    CLOSED,
    OPEN,
    Car,
    ClosedJob,
    Conclusion,
    Entry,
    Finding,
    Job,
    JobStatus,
    LearningEvent,
    StatusChange,
    Verdict,
    last_of_chains,
)
from bellhousing.records.job_list import JobList
from bellhousing.records.opened import Database
from bellhousing.records.photos import Photos
from bellhousing.records.service_book import ServiceBook
from bellhousing.work.entries import WorkEntry


def open_store(path_or_url: str | Path, *, copies: Path | None = None) -> Store:
    """Open the records in a file (made if new) or at a database address; see `open_engine`.

    Raises
    ------
    RecordError : the database is damaged, another program's, of a newer version or cannot be written.
    """
    return Store(open_engine(path_or_url, copies=copies))


class Store(Database):
    """All access to the records; use it in a `with`, or close it. Safe to share between threads."""

    def __init__(self, engine: Engine) -> None:
        super().__init__(engine)
        self.photos = Photos(self._reading, self._writing)
        self.services = ServiceBook(self._reading, self._writing)
        self.access = Access(self._reading, self._writing)
        self.job_list = JobList(self._reading)

    # Cars

    def add_car(self, car: Car) -> Car:
        """Keep a new car; raises RecordError if its slug is taken."""
        rows.check_car(car)
        with self._writing() as connection:
            if queries.car_row(connection, car.slug) is not None:
                raise RecordError("there is a car of that name", where=car.slug, remedy="give another slug")
            connection.execute(insert(tables.cars).values(**queries.car_values(car)))
            for reading in car.odometer:
                queries.add_odometer(connection, car.slug, reading.at, reading.distance_m, reading.who)
        return self.car(car.slug)

    def add_odometer(self, slug: str, *, at: datetime, distance_m: float, who: str) -> Car:
        """Note what a car's odometer showed."""
        rows.check_odometer(distance_m, slug)
        with self._writing() as connection:
            queries.need_car(connection, slug)
            queries.add_odometer(connection, slug, at, distance_m, who)
        return self.car(slug)

    def cars(self) -> tuple[Car, ...]:
        """All cars, by name."""
        with self._reading() as connection:
            found = connection.execute(select(tables.cars))
            readings = queries.odometers(connection)
            cars = [rows.car_from(row, readings.get(row.slug, ())) for row in found]
        # Sorted here, since each database has its own order of letters.
        return tuple(sorted(cars, key=lambda car: (car.name, car.slug)))

    def car(self, slug: str) -> Car:
        """One car; raises RecordError if there is none of that slug."""
        with self._reading() as connection:
            return rows.car_from(queries.need_car(connection, slug), queries.odometer_of(connection, slug))

    # Jobs

    def open_job(
        self,
        car: str,
        *,
        complaint: str,
        at: datetime,
        who: str,
        odometer_m: float | None = None,
        key: str | None = None,
    ) -> Job:
        """Open a job, the complaint verbatim; the same key sent again gives the job it opened first."""
        at = rows.check_moment(at)
        rows.check_odometer(odometer_m, car)
        rows.check_key(key, car)
        values = {"car": car, "complaint": complaint, "odometer_m": odometer_m, "key": key}
        with self._writing() as connection:
            known = queries.sent_before(connection, tables.jobs, tables.jobs.c.key, key, values)
            if known is not None:
                return queries.need_job(connection, known.number)
            queries.need_car(connection, car)
            made = connection.execute(insert(tables.jobs).values(**values, opened_at=at))
            number = queries.new_number(made)
            queries.add_status(connection, number, at, OPEN, "", who)
            if odometer_m is not None:
                queries.add_odometer(connection, car, at, odometer_m, who)
            return queries.need_job(connection, number)

    def close_job(
        self,
        number: int,
        *,
        at: datetime,
        who: str,
        note: str = "",
        causes: Sequence[str] = (),
        after: int | None = None,
    ) -> Job:
        """Close a job with the causes that were confirmed, if any; raises RecordError if it is closed.

        With `after`, the newest entry of its book that was read, raises BookMoved where another was written.
        """
        return self._set_status(number, CLOSED, at, note, who, causes, after)

    def reopen_job(self, number: int, *, at: datetime, who: str, note: str = "") -> Job:
        """Open a closed job again; raises RecordError if it is open."""
        return self._set_status(number, OPEN, at, note, who)

    def status_changes(self, number: int) -> tuple[StatusChange, ...]:
        """When and by whom a job was opened, closed and opened again, oldest first."""
        table = tables.job_status
        with self._reading() as connection:
            queries.need_job(connection, number)
            found = connection.execute(
                select(table.c.at, table.c.status, table.c.note, table.c.who)
                .where(table.c.job == number)
                .order_by(table.c.id)
            )
            return tuple(StatusChange(**row._mapping) for row in found)

    def jobs(
        self, *, car: str | None = None, status: JobStatus | None = None, limit: int | None = None
    ) -> tuple[Job, ...]:
        """Jobs, newest first; of one car or one status if asked."""
        wanted = queries.jobs_with_status().order_by(tables.jobs.c.number.desc()).limit(limit)
        if car is not None:
            wanted = wanted.where(tables.jobs.c.car == car)
        if status is not None:
            wanted = wanted.where(tables.job_status.c.status == status)
        with self._reading() as connection:
            return tuple(rows.job_from(row) for row in connection.execute(wanted))

    def job(self, number: int) -> Job:
        """One job; raises RecordError if there is none of that number."""
        with self._reading() as connection:
            return queries.need_job(connection, number)

    # Findings

    def add_finding(
        self, job: int, entry: Entry, *, at: datetime, who: str, key: str | None = None
    ) -> Finding:
        """Note an entry on a job, open or closed; the same key sent again gives the entry it made first."""
        with self._writing() as connection:
            return queries.write_finding(connection, job, entry, at=at, who=who, key=key)

    def correct_finding(
        self, old: int, entry: Entry, *, at: datetime, who: str, key: str | None = None
    ) -> Finding:
        """Note what should have been noted; refused if the old entry was corrected or withdrawn before."""
        with self._writing() as connection:
            return queries.write_finding(connection, None, entry, at=at, who=who, key=key, old=old)

    def withdraw_finding(
        self, old: int, *, at: datetime, who: str, reason: str = "withdrawn", key: str | None = None
    ) -> Finding:
        """Note that an entry no longer counts, the reason verbatim; it stays in the book."""
        entry = Entry(said=reason)
        with self._writing() as connection:
            return queries.write_finding(
                connection, None, entry, at=at, who=who, key=key, old=old, withdrawn=True
            )

    def findings(self, job: int) -> tuple[Finding, ...]:
        """Every entry of a job in the order noted, those corrected and withdrawn among them."""
        wanted = select(tables.findings).where(tables.findings.c.job == job).order_by(tables.findings.c.id)
        with self._reading() as connection:
            queries.need_job(connection, job)
            return tuple(rows.finding_from(row) for row in connection.execute(wanted))

    def current_findings(self, job: int) -> tuple[Finding, ...]:
        """What stands on a job: the last entry of each chain of corrections, without those withdrawn."""
        return last_of_chains(self.findings(job))

    def finding(self, number: int) -> Finding:
        """One entry; raises RecordError if there is none of that number."""
        with self._reading() as connection:
            return queries.need_finding(connection, number)

    def history(self, number: int) -> tuple[Finding, ...]:
        """The chain an entry belongs to, from the first entry to the last correction or withdrawal."""
        whole = {entry.id: entry for entry in self.findings(self.finding(number).job)}
        later = {entry.supersedes: entry for entry in whole.values() if entry.supersedes is not None}
        first = whole[number]
        while first.supersedes is not None:
            first = whole[first.supersedes]
        chain = [first]
        while chain[-1].id in later:
            chain.append(later[chain[-1].id])
        return tuple(chain)

    # Verdicts

    def add_verdict(self, job: int, conclusion: Conclusion, *, at: datetime) -> Verdict:
        """Keep a conclusion with the entries it came from; they must be entries of that job."""
        at = rows.check_moment(at)
        rows.check_conclusion(conclusion, f"job {job}")
        with self._writing() as connection:
            queries.need_job(connection, job)
            for number in conclusion.findings:
                if queries.need_finding(connection, number).job != job:
                    raise RecordError(f"entry {number} is not of that job", where=f"job {job}")
            made = connection.execute(
                insert(tables.verdicts).values(job=job, at=at, **rows.conclusion_values(conclusion))
            )
            verdict = queries.new_number(made)
            for number in sorted(set(conclusion.findings)):
                connection.execute(insert(tables.verdict_findings).values(verdict=verdict, finding=number))
        return self.verdict(verdict)

    def verdicts(self, job: int) -> tuple[Verdict, ...]:
        """The verdicts reached on a job, oldest first."""
        wanted = select(tables.verdicts).where(tables.verdicts.c.job == job).order_by(tables.verdicts.c.id)
        with self._reading() as connection:
            queries.need_job(connection, job)
            found = connection.execute(wanted).all()
            return tuple(rows.verdict_from(row, queries.used_findings(connection, row.id)) for row in found)

    def verdict(self, number: int) -> Verdict:
        """One verdict; raises RecordError if there is none of that number."""
        with self._reading() as connection:
            row = connection.execute(select(tables.verdicts).where(tables.verdicts.c.id == number)).first()
            if row is None:
                raise RecordError(f"there is no verdict {number}")
            return rows.verdict_from(row, queries.used_findings(connection, number))

    # Learning

    def closed_jobs(self) -> tuple[ClosedJob, ...]:
        """Jobs that stand closed with their causes confirmed, oldest first."""
        with self._reading() as connection:
            return learning.closed_jobs(connection)

    def add_learning_event(
        self,
        event: str,
        *,
        at: datetime,
        who: str,
        job: int | None = None,
        digest: str | None = None,
        data: Mapping[str, Any] | None = None,
    ) -> LearningEvent:
        """Keep what was decided about learning."""
        with self._writing() as connection:
            if job is not None:
                queries.need_job(connection, job)
            return learning.add_event(
                connection, event, at=at, who=who, job=job, digest=digest, data=data or {}
            )

    def learning_events(self) -> tuple[LearningEvent, ...]:
        """Everything decided about learning, oldest first."""
        with self._reading() as connection:
            return learning.events(connection)

    def learning_mark(self) -> tuple[int, int]:
        """A mark that changes whenever what could be learnt from may have changed."""
        with self._reading() as connection:
            return learning.mark(connection)

    # Stock

    def move_stock(self, move: stock.StockMove, *, at: datetime, who: str) -> stock.InStock:
        """Keep what came or went of a selective part; raises RecordError if fewer than none would be left."""
        with self._writing() as connection:
            return stock.add(connection, move, at=at, who=who)

    def in_stock(self, box: str | None = None) -> tuple[stock.InStock, ...]:
        """Every size that ever was in stock with how many there are now."""
        with self._reading() as connection:
            return stock.in_stock(connection, box)

    # Work

    def add_work_entry(self, entry: WorkEntry, *, after: int | None = None) -> WorkEntry:
        """Keep an entry of the book of work; the same key sent again gives the entry it made first.

        With `after`, the newest entry that was read, raises BookMoved where another was written since.
        """
        with self._writing() as connection:
            return work_book.add(connection, entry, after)

    def work_entries(self, job: int) -> tuple[WorkEntry, ...]:
        """Every entry of a job's book of work in the order kept, those corrected among them."""
        with self._reading() as connection:
            queries.need_job(connection, job)
            return work_book.of_job(connection, job)

    def books_of(self, jobs: Sequence[int]) -> dict[int, list[WorkEntry]]:
        """Every entry of the books of work of some jobs, by job; a job whose book is empty is left out."""
        with self._reading() as connection:
            return work_book.of_jobs(connection, jobs)

    def last_work_entry(self, kind: str) -> WorkEntry | None:
        """The newest entry of a kind on any job, None if there is none."""
        with self._reading() as connection:
            return work_book.last_of_kind(connection, kind)

    # Fits

    def keep_fit(self, fit: car_fits.KeptFit) -> car_fits.KeptFit:
        """Keep what was fitted of a car; said again, it is kept once."""
        with self._writing() as connection:
            return car_fits.keep(connection, fit)

    def fits_of(self, car: str) -> tuple[car_fits.KeptFit, ...]:
        """The fits of a car by day, the newest of each job."""
        with self._reading() as connection:
            return car_fits.of_car(connection, car)

    # Within

    def _set_status(
        self,
        number: int,
        status: JobStatus,
        at: datetime,
        note: str,
        who: str,
        causes: Sequence[str] = (),
        after: int | None = None,
    ) -> Job:
        at = rows.check_moment(at)
        with self._writing() as connection:
            if queries.need_job(connection, number).status == status:
                raise RecordError(f"job {number} is {status} already")
            if after is not None:
                work_book.need_newest(connection, number, after)
            change = queries.add_status(connection, number, at, status, note, who)
            learning.add_causes(connection, change, causes, f"job {number}")
            return queries.need_job(connection, number)
