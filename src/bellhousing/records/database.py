"""Opening a database: is it ours, is it whole, is it of this version, and bringing it up to date.

Nothing is written to a file until it has been looked at read-only and found to be this program's, or new.
"""

from __future__ import annotations

import json
import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, SQLAlchemyError
from sqlalchemy.pool import ConnectionPoolEntry

from bellhousing.errors import RecordError
from bellhousing.records.tables import APPLICATION_ID, NEWEST

BUSY_SECONDS = 10.0
SWITCH_TRIES = 200
MIGRATIONS = Path(__file__).parent / "migrations"
SQLITE_HEAD = b"SQLite format 3\x00"


def open_engine(path_or_url: str | Path, *, migrations: Path = MIGRATIONS, newest: str = NEWEST) -> Engine:
    """Open a database that is whole, this program's and of the newest version, making it if it is new.

    Raises
    ------
    RecordError : the file is damaged, another program's, of a newer version or cannot be written.
    """
    url = _as_url(path_or_url)
    try:
        address = make_url(url)
    except ArgumentError as error:
        raise RecordError(
            "that is not a database address", where=str(path_or_url), remedy="give a file, or an address"
        ) from error
    if address.get_backend_name() != "sqlite":
        raise RecordError(
            f"records cannot be kept in {address.get_backend_name()}",
            where=address.render_as_string(),
            remedy="give a file, or a sqlite:/// address",
        )
    if not address.database or address.database == ":memory:":
        raise RecordError("records need a file to live in", where=url, remedy="give a file")
    file = Path(address.database)
    found = look_at(file, newest=newest, migrations=migrations)
    engine = _sqlite_engine(url)
    try:
        _switch_to_wal(engine)
        if found != newest:
            _migrate(engine, file, found, migrations, newest)
    except BaseException:
        engine.dispose()
        raise
    return engine


def _as_url(path_or_url: str | Path) -> str:
    if isinstance(path_or_url, str) and "://" in path_or_url:
        return path_or_url
    return f"sqlite:///{Path(path_or_url)}"


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
        head = stream.read(len(SQLITE_HEAD))
    if not head:
        return None
    if head != SQLITE_HEAD:
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
    damaged = "nothing was written to it; put back the last good copy"
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
    if version != newest and version not in _known_versions(migrations):
        raise RecordError(
            f"the database is of version {version}, newer than this program ({newest})",
            where=where,
            remedy="nothing was written to it; use the newer program",
        )
    return version


def _sqlite_engine(url: str) -> Engine:
    engine = create_engine(url, json_serializer=_to_json, json_deserializer=json.loads)

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


def _to_json(value: Any) -> str:
    return json.dumps(value, allow_nan=False, ensure_ascii=False, sort_keys=False)


def _switch_to_wal(engine: Engine) -> None:
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


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A transaction that will write: it holds the only writing lock from its first moment."""
    with engine.connect().execution_options(writing=True) as connection, connection.begin():
        yield connection


def _config(migrations: Path) -> Any:
    # Alembic takes most of a second to import; only a new or an older database needs it.
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(migrations).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config


def _known_versions(migrations: Path) -> list[str]:
    from alembic.script import ScriptDirectory

    scripts = ScriptDirectory.from_config(_config(migrations))
    return [script.revision for script in scripts.walk_revisions()]


def _migrate(engine: Engine, file: Path, found: str | None, migrations: Path, newest: str) -> None:
    """Bring a database up to date, one migration to a transaction, after copying what was `found` in it.

    Raises
    ------
    RecordError : a migration failed; it left nothing behind, and the copy is untouched.
    """
    from alembic import command
    from alembic.util import CommandError

    copy: Path | None = None
    before = found
    while True:
        try:
            with writing(engine) as connection:
                before = _current_version(connection)
                if before == newest:
                    return
                if found is not None and copy is None:
                    copy = back_up(file, _unused_name(file, found))
                config = _config(migrations)
                config.attributes["connection"] = connection
                command.upgrade(config, "+1")
        except (SQLAlchemyError, sqlite3.Error, CommandError) as error:
            kept = f"it stands at version {before}" if before else "nothing was kept"
            kept += "" if copy is None else f", and as it was before in {copy.name}"
            raise RecordError(
                f"the database could not be brought up to date, {_short(error)}", where=str(file), remedy=kept
            ) from error


def _current_version(connection: Connection) -> str | None:
    known = connection.exec_driver_sql(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name = 'alembic_version'"
    ).first()
    if known is None:
        return None
    row = connection.exec_driver_sql("SELECT version_num FROM alembic_version").first()
    return None if row is None else str(row[0])


def _unused_name(file: Path, version: str) -> Path:
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


def _short(error: Exception) -> str:
    return str((isinstance(error, DBAPIError) and error.orig) or error).splitlines()[0]
