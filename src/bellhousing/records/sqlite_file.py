"""A database in one file: is it ours, is it whole, is it of this version; opening it, copying it.

Nothing is written to a file until it has been looked at read-only and found to be this program's, or new.
"""

from __future__ import annotations

import os
import sqlite3
import time
from contextlib import closing
from pathlib import Path

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import ConnectionPoolEntry

from bellhousing.errors import RecordError
from bellhousing.records.plain import from_json, to_json
from bellhousing.records.tables import APPLICATION_ID, NEWEST
from bellhousing.records.upgrading import MIGRATIONS, need_known

BUSY_SECONDS = 10.0
SWITCH_TRIES = 200
HEAD = b"SQLite format 3\x00"
PUT_BACK = "put back the last good copy with: bellhousing restore"


def look_at(file: Path, *, newest: str = NEWEST, migrations: Path = MIGRATIONS) -> str | None:
    """Look at a file without writing to it; its version, or None when it is yet to be made.

    Raises
    ------
    RecordError : the file is damaged, another program's, of a newer version or cannot be written.
    """
    try:
        return _look_at(file, newest, migrations)
    except OSError as error:
        raise RecordError(
            f"the file cannot be looked at, {error.strerror}",
            where=str(file),
            remedy="give another file name",
        ) from error


def _look_at(file: Path, newest: str, migrations: Path) -> str | None:
    if file.is_dir():
        raise RecordError("that is a folder", where=str(file), remedy="give the name of a file in it")
    if not file.parent.is_dir():
        raise RecordError("there is no such folder", where=str(file.parent), remedy="make it first")
    if not _may(file.parent, os.W_OK):
        raise RecordError(
            "the folder cannot be written to",
            where=str(file.parent),
            remedy="the database keeps its journal beside it: give a folder you may write to",
        )
    if not file.exists():
        return None
    if not _may(file, os.R_OK | os.W_OK):
        raise RecordError(
            "the file cannot be written to", where=str(file), remedy="give yourself the right to"
        )
    with file.open("rb") as stream:
        head = stream.read(len(HEAD))
    if not head:
        return None
    if head != HEAD:
        raise RecordError(
            "that is not a database",
            where=str(file),
            remedy="nothing was written to it; give another file name",
        )
    return _version_in(file, newest, migrations)


def _may(path: Path, mode: int) -> bool:
    return os.access(path, mode, effective_ids=os.access in os.supports_effective_ids)


def _version_in(file: Path, newest: str, migrations: Path) -> str | None:
    where = str(file)
    damaged = f"nothing was written to it; {PUT_BACK}"
    try:
        with closing(
            sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro", uri=True, timeout=BUSY_SECONDS)
        ) as raw:
            tables = {name for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
            (mark,) = raw.execute("PRAGMA application_id").fetchone()
            if not tables and mark in (0, APPLICATION_ID):
                return None
            if mark != APPLICATION_ID or "alembic_version" not in tables:
                raise RecordError(
                    "that database belongs to another program",
                    where=where,
                    remedy="nothing was written to it; give another file name",
                )
            (verdict,) = raw.execute("PRAGMA quick_check(1)").fetchone()
            if verdict != "ok":
                raise RecordError(f"the database is damaged, {verdict}", where=where, remedy=damaged)
            versions = [version for (version,) in raw.execute("SELECT version_num FROM alembic_version")]
    except sqlite3.Error as error:
        raise RecordError(f"the database is damaged, {error}", where=where, remedy=damaged) from error
    if len(versions) != 1:
        raise RecordError("the database does not say which version it is", where=where, remedy=damaged)
    version = str(versions[0])
    need_known(version, newest, migrations, where)
    return version


def file_engine(url: str | URL) -> Engine:
    """An engine on a file, each connection set up for one writer and many readers."""
    engine = create_engine(url, json_serializer=to_json, json_deserializer=from_json)

    @event.listens_for(engine, "connect")
    def _prepare(raw: sqlite3.Connection, record: ConnectionPoolEntry) -> None:
        # The driver must not open transactions of its own, or table changes would fall outside them.
        raw.isolation_level = None
        raw.execute(f"PRAGMA busy_timeout = {int(BUSY_SECONDS * 1000)}")
        raw.execute("PRAGMA foreign_keys = ON")
        raw.execute("PRAGMA synchronous = FULL")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        # A writer takes its lock at once: two that read first and write later could not both go on.
        writing = connection.get_execution_options().get("writing", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


def switch_to_wal(engine: Engine) -> None:
    """Let readers go on while one writes (write-ahead log)."""
    # The switch needs the file to itself and does not wait its turn, so it is tried again.
    for left in reversed(range(SWITCH_TRIES)):
        try:
            with closing(engine.raw_connection()) as raw:
                cursor = raw.cursor()
                cursor.execute("PRAGMA journal_mode")
                if cursor.fetchone() != ("wal",):
                    cursor.execute("PRAGMA journal_mode = WAL")
            return
        except (sqlite3.Error, DBAPIError) as error:
            cause = error.orig if isinstance(error, DBAPIError) else error
            busy = getattr(cause, "sqlite_errorcode", None) in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)
            if busy and left:
                time.sleep(BUSY_SECONDS / SWITCH_TRIES)
                continue
            raise RecordError(
                f"the database cannot be opened, {cause}",
                where=engine.url.database,
                remedy="close the program that holds it" if busy else "give a folder you may write to",
            ) from error


def unused_name(file: Path, version: str) -> Path:
    """The name of a copy before a migration, beside the file and of no other copy."""
    name = file.with_name(f"{file.name}.before-migration-from-{version}")
    count = 2
    while name.exists():
        name = file.with_name(f"{file.name}.before-migration-from-{version}.{count}")
        count += 1
    return name


def back_up(file: Path, target: Path) -> Path:
    """Copy a database, as it stands after the last finished transaction, to a file that does not exist yet.

    Raises
    ------
    RecordError : the target exists or cannot be written.
    """
    try:
        target.touch(exist_ok=False)
        with (
            closing(sqlite3.connect(file, timeout=BUSY_SECONDS)) as source,
            closing(sqlite3.connect(target)) as copy,
        ):
            source.backup(copy)
    except FileExistsError as error:
        raise RecordError(
            "a file of that name is there already", where=str(target), remedy="give another name"
        ) from error
    except (OSError, sqlite3.Error) as error:
        raise RecordError(
            f"the copy could not be made, {error}", where=str(target), remedy="give a folder you may write to"
        ) from error
    return target


def into_one_file(file: Path) -> None:
    """Put what lies in the journal beside a database into it, and do away with the journal.

    Raises
    ------
    RecordError : another program has the database open, or it cannot be written.
    """
    try:
        with closing(sqlite3.connect(file, timeout=1.0)) as raw:
            (mode,) = raw.execute("PRAGMA journal_mode = DELETE").fetchone()
    except sqlite3.Error as error:
        raise RecordError(
            f"the database is in use, {error}", where=str(file), remedy="stop the program that has it open"
        ) from error
    if mode != "delete":
        raise RecordError(
            "the database is in use", where=str(file), remedy="stop the program that has it open"
        )
