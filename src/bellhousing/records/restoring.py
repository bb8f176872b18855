"""Putting a backup back: what is there now is kept beside it, and broken off it leaves one of the two."""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError

from bellhousing.errors import RecordError
from bellhousing.records.backup import FILES, RECORDS, STAMP, Generation, verify
from bellhousing.records.copying import copy_all
from bellhousing.records.database import address_of
from bellhousing.records.kept_files import KeptFiles, copy_whole, digest_of, safe_path, settle
from bellhousing.records.postgres import look_on_server, server_engine, where_is
from bellhousing.records.refusals import refused
from bellhousing.records.store import open_store
from bellhousing.records.tables import NEWEST
from bellhousing.records.upgrading import MIGRATIONS, config, writing

JOURNALS = ("-wal", "-shm", "-journal")


@dataclass(frozen=True)
class Restored:
    """What was put back, and where that which was there before is kept; None if there was nothing."""

    generation: str
    rows: int
    files: int
    kept: str | None


def restore(
    generation: Generation, backups: Path, shop: Path, records: str | None, *, at: datetime
) -> Restored:
    """Put a backup's records and files back into a shop; `records` is its database if not in its folder.

    Raises
    ------
    RecordError : the backup is not whole, the shop is in use, or the disk refuses.
    """
    problems = verify(generation, backups)
    if problems:
        raise RecordError(
            f"that backup is not whole, {'; '.join(problems)}",
            where=generation.name,
            remedy="nothing was changed; take another, see: bellhousing backup --list",
        )
    stamp = at.astimezone(UTC).strftime(STAMP)
    aside = _aside(shop, stamp)
    try:
        if records is None:
            kept = _into_file(generation.folder / RECORDS, shop / RECORDS, aside)
        else:
            kept = _onto_server(generation, backups, records, f"before_restore_{stamp.lower()}")
        files = _files_back(generation, KeptFiles(backups / FILES), shop, aside)
    except OSError as error:
        raise RecordError(
            f"the backup cannot be put back, {error.strerror or error}",
            where=str(shop),
            remedy=f"make room on the disk, then do it again; what was there is in {aside.name}",
        ) from error
    rows = sum(tally.rows for tally in generation.tables.values())
    return Restored(generation.name, rows, files, kept or (str(aside) if aside.exists() else None))


def _aside(shop: Path, stamp: str) -> Path:
    path, count = shop / f"before-restore-{stamp}", 2
    while path.exists():
        path, count = shop / f"before-restore-{stamp}-{count}", count + 1
    return path


def _into_file(source: Path, target: Path, aside: Path) -> str | None:
    coming = target.with_name(f"{target.name}.coming.part")
    coming.unlink(missing_ok=True)
    copy_whole(source, coming)
    kept = None
    if target.exists():
        _need_unused(target)
        aside.mkdir()
        # The old file stays under its name until the new one takes its place in one step.
        copy_whole(target, aside / target.name)
        for end in JOURNALS:
            journal = target.with_name(target.name + end)
            if journal.exists():
                shutil.move(journal, aside / journal.name)
        settle(aside)
        kept = str(aside)
    coming.replace(target)
    settle(target.parent)
    return kept


def _need_unused(file: Path) -> None:
    """Refuse a database that another program has open; a damaged one nobody can use."""
    try:
        with closing(sqlite3.connect(file, timeout=1.0)) as raw:
            raw.execute("PRAGMA journal_mode = DELETE").fetchone()
    except sqlite3.Error as error:
        if getattr(error, "sqlite_errorcode", 0) & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
            raise RecordError(
                "the shop is in use",
                where=str(file),
                remedy="nothing was changed; stop the program that has it open, then do it again",
            ) from error


def _onto_server(generation: Generation, backups: Path, records: str, kept: str) -> str | None:
    """Put the records back in one transaction; the tables that are there move to a schema of their own."""
    engine = server_engine(address_of(records))
    try:
        there = look_on_server(engine) is not None
        with tempfile.TemporaryDirectory(dir=backups, prefix="trial-", suffix=".part") as trial:
            copy_whole(generation.folder / RECORDS, Path(trial) / RECORDS)
            with (
                open_store(Path(trial) / RECORDS) as old,
                old.engine.connect() as source,
                source.begin(),
                writing(engine) as target,
            ):
                if there:
                    _put_aside(target, kept)
                _make_tables(target)
                copy_all(source, target, into=where_is(engine.url))
    except DBAPIError as error:
        raise refused(error, where_is(engine.url)) from error
    finally:
        engine.dispose()
    return f"the schema {kept} of {where_is(engine.url)}" if there else None


def _put_aside(connection: Connection, schema: str) -> None:
    connection.exec_driver_sql(f'CREATE SCHEMA "{schema}"')
    named = connection.exec_driver_sql("SELECT tablename FROM pg_tables WHERE schemaname = current_schema()")
    for (table,) in named.all():
        connection.exec_driver_sql(f'ALTER TABLE "{table}" SET SCHEMA "{schema}"')


def _make_tables(connection: Connection) -> None:
    from alembic import command

    settings = config(MIGRATIONS)
    settings.attributes["connection"] = connection
    command.upgrade(settings, NEWEST)


def _files_back(generation: Generation, files: KeptFiles, shop: Path, aside: Path) -> int:
    count = 0
    for one in generation.files:
        target = shop / safe_path(one.path)
        if target.is_file():
            if digest_of(target) == (one.size, one.digest):
                continue
            there = aside / one.path
            there.parent.mkdir(parents=True, exist_ok=True)
            os.replace(target, there)
        copy_whole(files.path(one.digest), target)
        count += 1
    return count


def mend_file(backups: Path, generations: tuple[Generation, ...], path: str, shop: Path) -> bool:
    """Put one file back from the newest backup that holds it whole; whether there was one."""
    files = KeptFiles(backups / FILES)
    for generation in reversed(generations):
        for one in generation.files:
            if one.path == path and files.is_whole(one):
                copy_whole(files.path(one.digest), shop / safe_path(path))
                return True
    return False
