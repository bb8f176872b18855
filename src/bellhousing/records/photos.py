"""The statements behind the photos of a job: entries are only ever added, files are named by their content.

A changed caption is a new entry that points at the old one, and so is a withdrawal; the photo's file stays.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, insert, select

from bellhousing.errors import RecordError
from bellhousing.records import queries, rows, tables
from bellhousing.records.entries import last_of_chains

LONGEST_CAPTION = 1000
LONGEST_NAME = 120

Transaction = Callable[[], AbstractContextManager[Connection]]


@dataclass(frozen=True, kw_only=True)
class PhotoFile:
    """What is known of a photo's file: its SHA-256, kind, bytes, upright size [px], when it was taken."""

    digest: str
    kind: str
    size: int
    width: int
    height: int
    taken: str | None
    name: str


@dataclass(frozen=True, kw_only=True)
class Place:
    """What a photo shows: words beside it, and the finding, part or step of the job it belongs to."""

    caption: str = ""
    finding: int | None = None
    part: str = ""
    step: str = ""


@dataclass(frozen=True, kw_only=True)
class Photo:
    """A photo as it stands in the job's book; `supersedes` is the entry it changes or withdraws."""

    id: int
    job: int
    at: datetime
    who: str
    file: PhotoFile
    place: Place
    reason: str = ""
    supersedes: int | None = None
    withdrawn: bool = False
    key: str | None = None


class Photos:
    """Entries of photos in the records; the files themselves lie in a folder."""

    def __init__(self, reading: Transaction, writing: Transaction) -> None:
        self._reading = reading
        self._writing = writing

    def add(
        self, job: int, file: PhotoFile, place: Place, *, at: datetime, who: str, key: str | None = None
    ) -> Photo:
        """Note a photo on a job, once for a key; without a key, once for the same photo at the same place.

        Raises
        ------
        RecordError : no such job, no such entry on it, a key used before for something else.
        """
        with self._writing() as connection:
            rows.check_key(key, f"job {job}")
            known = _sent_before(connection, key, job=job, digest=file.digest, supersedes=None)
            if known is not None:
                return known
            queries.need_job(connection, job)
            if key is None:
                for photo in _standing(connection, job):
                    if photo.file.digest == file.digest and _where(photo.place) == _where(place):
                        return photo
            made = Photo(id=0, job=job, at=at, who=who, file=file, place=place, key=key)
            return _write(connection, made)

    def change(self, number: int, place: Place, *, at: datetime, who: str, key: str | None = None) -> Photo:
        """Put other words beside a photo or move it on its job; refused if it was changed before."""
        with self._writing() as connection:
            known = _sent_before(connection, key, supersedes=number, withdrawn=False)
            if known is not None:
                return known
            old = _need_standing(connection, number)
            return _write(
                connection, replace(old, id=0, at=at, who=who, place=place, supersedes=number, key=key)
            )

    def withdraw(self, number: int, *, at: datetime, who: str, reason: str, key: str | None = None) -> Photo:
        """Note that a photo no longer counts, the reason verbatim; entry and file stay."""
        with self._writing() as connection:
            known = _sent_before(connection, key, supersedes=number, withdrawn=True)
            if known is not None:
                return known
            old = _need_standing(connection, number)
            return _write(
                connection,
                replace(old, id=0, at=at, who=who, reason=reason, supersedes=number, withdrawn=True, key=key),
            )

    def on_job(self, job: int) -> tuple[Photo, ...]:
        """What stands on a job, in the order first noted."""
        with self._reading() as connection:
            queries.need_job(connection, job)
            return _standing(connection, job)

    def entries(self, job: int | None = None) -> tuple[Photo, ...]:
        """Every entry in the order noted, those changed and withdrawn among them; of one job if asked."""
        with self._reading() as connection:
            return _entries(connection, job)

    def entry(self, number: int) -> Photo:
        """One entry; raises RecordError if there is none of that number."""
        with self._reading() as connection:
            return _need(connection, number)

    def files(self) -> tuple[tuple[str, str], ...]:
        """The digest and kind of every photo ever noted, withdrawn ones among them."""
        table = tables.photos
        wanted = select(table.c.digest, table.c.kind).distinct().order_by(table.c.digest)
        with self._reading() as connection:
            return tuple((row.digest, row.kind) for row in connection.execute(wanted))


def _photo_from(row: Row[Any]) -> Photo:
    file = PhotoFile(
        digest=row.digest,
        kind=row.kind,
        size=row.size,
        width=row.width,
        height=row.height,
        taken=row.taken,
        name=row.name,
    )
    place = Place(caption=row.caption, finding=row.finding, part=row.part, step=row.step)
    rest = ("id", "job", "at", "who", "reason", "supersedes", "withdrawn", "key")
    return Photo(file=file, place=place, **{name: getattr(row, name) for name in rest})


def _entries(connection: Connection, job: int | None) -> tuple[Photo, ...]:
    wanted = select(tables.photos).order_by(tables.photos.c.id)
    if job is not None:
        wanted = wanted.where(tables.photos.c.job == job)
    return tuple(_photo_from(row) for row in connection.execute(wanted))


def _standing(connection: Connection, job: int) -> tuple[Photo, ...]:
    return last_of_chains(_entries(connection, job))


def _need(connection: Connection, number: int) -> Photo:
    row = connection.execute(select(tables.photos).where(tables.photos.c.id == number)).first()
    if row is None:
        raise RecordError(f"there is no photo {number}", remedy="look through the job's photos")
    return _photo_from(row)


def _need_standing(connection: Connection, number: int) -> Photo:
    entry = _need(connection, number)
    if entry.withdrawn:
        raise RecordError(f"entry {number} is a withdrawal", remedy="add the photo again")
    table = tables.photos
    later = connection.execute(select(table).where(table.c.supersedes == number)).first()
    if later is None:
        return entry
    if later.withdrawn:
        raise RecordError(f"photo {number} was taken back by entry {later.id}", remedy="add the photo again")
    raise RecordError(f"photo {number} was changed before", remedy=f"entry {later.id} now stands for it")


def _sent_before(connection: Connection, key: str | None, **values: Any) -> Photo | None:
    rows.check_key(key, "photo")
    row = queries.sent_before(connection, tables.photos, tables.photos.c.key, key, values)
    return None if row is None else _photo_from(row)


def _where(place: Place) -> tuple[int | None, str, str]:
    return place.finding, place.part, place.step


def _write(connection: Connection, photo: Photo) -> Photo:
    at = rows.check_moment(photo.at)
    _check(photo)
    finding = photo.place.finding
    if finding is not None and queries.need_finding(connection, finding).job != photo.job:
        raise RecordError(f"entry {finding} is not of that job", where=f"job {photo.job}")
    values = {name: getattr(photo.file, name) for name in PhotoFile.__dataclass_fields__}
    values |= {name: getattr(photo.place, name) for name in Place.__dataclass_fields__}
    for name in ("job", "who", "reason", "supersedes", "withdrawn", "key"):
        values[name] = getattr(photo, name)
    made = connection.execute(insert(tables.photos).values(**values, at=at))
    return _need(connection, queries.new_number(made))


def _check(photo: Photo) -> None:
    place = photo.place
    if len(place.caption) > LONGEST_CAPTION or len(photo.reason) > LONGEST_CAPTION:
        raise RecordError(
            "that is too long beside a photo",
            where=f"job {photo.job}",
            remedy=f"at most {LONGEST_CAPTION} letters",
        )
    for what, text in (("part", place.part), ("step", place.step), ("file's name", photo.file.name)):
        if len(text) > LONGEST_NAME:
            raise RecordError(
                f"the {what} is too long a name",
                where=f"job {photo.job}",
                remedy=f"at most {LONGEST_NAME} letters",
            )
