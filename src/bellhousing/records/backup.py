"""Backups of a whole shop in its own folder: several generations, each restored once to see that it can be.

A generation is a folder named by the moment: the records as one file whatever database they are in, and a
list of the shop's files. Their bytes lie beside all generations and are kept once.
"""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import asdict, dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError

from bellhousing.errors import RecordError
from bellhousing.records.copying import Tally, copy_to_file, need_same, tallies
from bellhousing.records.kept_files import KeptFile, KeptFiles, copy_whole, digest_of, files_in, settle
from bellhousing.records.refusals import refused
from bellhousing.records.server_dump import dump_beside
from bellhousing.records.sqlite_file import into_one_file
from bellhousing.records.store import open_store
from bellhousing.records.upgrading import current_version

FORMAT = "bellhousing-backup"
VERSION = 1
RECORDS, LIST, FILES = "records.sqlite", "backup.json", "files"
STAMP = "%Y%m%dT%H%M%SZ"
GENERATIONS = 14
EVERY = timedelta(days=1)
AHEAD = timedelta(hours=1)
"""A backup dated further ahead than this was made while the clock was wrong."""


@dataclass(frozen=True, kw_only=True)
class Generation:
    """One backup: its folder, when it was made, what of, how it was seen to be whole."""

    folder: Path
    made_at: datetime
    schema: str
    tables: dict[str, Tally]
    records: KeptFile
    files: tuple[KeptFile, ...]
    verified: tuple[str, ...]

    @property
    def name(self) -> str:
        """What it is called."""
        return self.folder.name


def generations(backups: Path) -> tuple[Generation, ...]:
    """The backups in a folder, the oldest first; what is not whole is left out."""
    found = []
    for path in sorted(backups.glob("*Z*")):
        try:
            found.append(read_generation(path))
        except RecordError:
            continue
    return tuple(sorted(found, key=lambda one: (one.made_at, one.name)))


def read_generation(folder: Path) -> Generation:
    """What a backup says of itself.

    Raises
    ------
    RecordError : it is none, or of a version this program does not know.
    """
    try:
        told = json.loads((folder / LIST).read_text("utf-8"))
        if told["format"] != FORMAT or told["version"] != VERSION:
            raise RecordError(
                "that backup is of a kind this program does not know", where=str(folder),
                remedy="use the program that made it",
            )  # fmt: skip
        return Generation(
            folder=folder,
            made_at=datetime.fromisoformat(told["made_at"]).astimezone(UTC),
            schema=str(told["schema"]),
            tables={name: Tally(**tally) for name, tally in told["tables"].items()},
            records=KeptFile(**told["records"]),
            files=tuple(KeptFile(**one) for one in told["files"]),
            verified=tuple(told["verified"]),
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as error:
        raise RecordError(
            "that is no backup", where=str(folder), remedy="look at: bellhousing backup --list"
        ) from error


def is_due(backups: Path, at: datetime) -> bool:
    """Whether a day has gone by since the last backup, or the clock was set back behind it."""
    return not any(-AHEAD <= at - one.made_at < EVERY for one in generations(backups))


def make_backup(
    engine: Engine, shop: Path, backups: Path, *, at: datetime, keep: int = GENERATIONS
) -> Generation:
    """Back up a shop that may be in use, see that the backup can be restored, and forget the oldest.

    Raises
    ------
    RecordError : the folder cannot be written to, the disk is full, another program is at it, or what was
        made did not come back the same; nothing is left of it then, and the earlier ones stay.
    """
    try:
        backups.mkdir(parents=True, exist_ok=True, mode=0o700)
        with _alone(backups):
            for left in backups.glob("*.part"):
                shutil.rmtree(left, ignore_errors=True)
            part = Path(tempfile.mkdtemp(dir=backups, suffix=".part"))
            try:
                _make(engine, shop, backups, part, at)
                final = _unused(backups, at)
                part.rename(final)
                settle(backups)
            except BaseException:
                shutil.rmtree(part, ignore_errors=True)
                raise
            _forget(backups, keep, final)
            return read_generation(final)
    except (OSError, sqlite3.Error) as error:
        raise RecordError(
            f"the backup cannot be made, {getattr(error, 'strerror', None) or error}",
            where=str(backups),
            remedy="make room on the disk, or give yourself the right to write there",
        ) from error
    except DBAPIError as error:
        raise refused(error, str(backups)) from error


def verify(generation: Generation, backups: Path) -> list[str]:
    """Restore a backup into a temporary database and read all of it; what is wrong with it.

    Counts and digests of every table must be those the shop had, the database sound, every file whole.
    """
    source = generation.folder / RECORDS
    try:
        if digest_of(source) != (generation.records.size, generation.records.digest):
            return ["its records were changed or damaged"]
        with tempfile.TemporaryDirectory(dir=backups, prefix="trial-", suffix=".part") as trial:
            copy_whole(source, Path(trial) / RECORDS)
            problems = _trial(Path(trial) / RECORDS, generation)
    except (OSError, RecordError) as error:
        return [str(error)]
    files = KeptFiles(backups / FILES)
    return problems + [
        f"{one.path} is missing or damaged in it" for one in generation.files if not files.is_whole(one)
    ]


def _trial(file: Path, generation: Generation) -> list[str]:
    with open_store(file) as store:
        problems = store.problems()
        if not problems:
            with store.engine.connect() as connection, connection.begin():
                found = tallies(connection)
            # A backup of an older version gains tables when it is opened.
            need_same(generation.tables, {name: found[name] for name in generation.tables}, str(file))
    return problems


def _make(engine: Engine, shop: Path, backups: Path, part: Path, at: datetime) -> None:
    files = KeptFiles(backups / FILES)
    verified = ["restored into a temporary database, every row compared, database and files read through"]
    with engine.connect() as connection, connection.begin():
        schema = str(current_version(connection))
        if engine.dialect.name == "sqlite":
            counted = tallies(connection)
            raw = connection.connection.driver_connection
            assert raw is not None
            with closing(sqlite3.connect(part / RECORDS)) as copy:
                raw.backup(copy)
        else:
            counted = copy_to_file(connection, part / RECORDS, version=schema)
            verified += dump_beside(connection, part / "records.dump", counted)
    into_one_file(part / RECORDS)
    size, digest = digest_of(part / RECORDS)
    # After the records, so that every photo they speak of is among the files.
    kept = [files.keep(shop / path, path) for path in files_in(shop)]
    made = Generation(
        folder=part, made_at=at.astimezone(UTC), schema=schema, tables=counted,
        records=KeptFile(RECORDS, size, digest), files=tuple(kept), verified=tuple(verified),
    )  # fmt: skip
    problems = verify(made, backups)
    if problems:
        raise RecordError(f"the backup did not come back the same, {'; '.join(problems)}", where=str(backups))
    _write_list(made)


def _write_list(made: Generation) -> None:
    told: dict[str, Any] = {"format": FORMAT, "version": VERSION, **asdict(made)}
    del told["folder"]
    told["made_at"] = made.made_at.isoformat()
    with (made.folder / LIST).open("x", encoding="utf-8") as stream:
        json.dump(told, stream, indent=1, ensure_ascii=False)
        stream.flush()
        os.fsync(stream.fileno())
    settle(made.folder)


def _unused(backups: Path, at: datetime) -> Path:
    stamp = at.astimezone(UTC).strftime(STAMP)
    path, count = backups / stamp, 2
    while path.exists():
        path, count = backups / f"{stamp}-{count}", count + 1
    return path


def _forget(backups: Path, keep: int, newest: Path) -> None:
    others = [one for one in generations(backups) if one.folder != newest]
    for old in others[: max(len(others) - max(keep, 1) + 1, 0)]:
        shutil.rmtree(old.folder, ignore_errors=True)
    KeptFiles(backups / FILES).forget_all_but(
        {one.digest for generation in generations(backups) for one in generation.files}
    )


@contextmanager
def _alone(backups: Path) -> Iterator[None]:
    """Only one program at a time makes backups in a folder; the lock goes with the program that holds it."""
    if os.name != "posix":
        yield
        return
    import fcntl

    handle = os.open(backups / ".lock", os.O_RDWR | os.O_CREAT, 0o600)
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise RecordError(
                "a backup is being made by another program", where=str(backups), remedy="wait for it"
            ) from error
        yield
    finally:
        os.close(handle)
