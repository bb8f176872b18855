"""A dump made by the server's own program beside a backup, where that program is on this machine."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Mapping
from pathlib import Path
from secrets import token_hex

from sqlalchemy import URL, Connection
from sqlalchemy.exc import DBAPIError

from bellhousing.errors import RecordError
from bellhousing.records.copying import Tally, need_same, tallies
from bellhousing.records.postgres import server_engine
from bellhousing.records.upgrading import short

LONGEST = 3600


def dump_beside(connection: Connection, target: Path, counted: Mapping[str, Tally]) -> list[str]:
    """Dump a server's database as it stands in a transaction, and restore the dump once; what was done.

    Where the program is missing or of another age nothing is dumped: the backup stands without it. Where
    the account may not make a database, the dump is kept and said to be untried.

    Raises
    ------
    RecordError : the dump did not come back the same.
    """
    if shutil.which("pg_dump") is None or shutil.which("pg_restore") is None:
        return ["no dump: pg_dump is not on this machine"]
    url = connection.engine.url
    snapshot = connection.exec_driver_sql("SELECT pg_export_snapshot()").scalar_one()
    schema = connection.exec_driver_sql("SELECT current_schema()").scalar_one()
    ran = _run(url, "pg_dump", "--format=custom", "--no-owner", "--no-privileges", f"--schema={schema}",
               f"--snapshot={snapshot}", f"--file={target}")  # fmt: skip
    if ran is not None:
        target.unlink(missing_ok=True)
        return [f"no dump: {ran}"]
    return [_tried(url, target, counted)]


def _tried(url: URL, target: Path, counted: Mapping[str, Tally]) -> str:
    name = f"bellhousing_trial_{token_hex(6)}"
    engine = server_engine(url)
    try:
        with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as outside:
            try:
                outside.exec_driver_sql(f"CREATE DATABASE \"{name}\" TEMPLATE template0 ENCODING 'UTF8'")
            except DBAPIError as error:
                return f"dump kept but not restored, {short(error)}"
        try:
            trial = url.set(database=name)
            ran = _run(
                trial, "pg_restore", "--exit-on-error", "--no-owner", "--clean", "--if-exists", str(target)
            )
            if ran is not None:
                raise RecordError(f"the dump cannot be restored, {ran}", where=str(target))
            _compare(trial, target, counted)
        finally:
            with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as outside:
                outside.exec_driver_sql(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)')
    finally:
        engine.dispose()
    return "dump restored into a temporary database, every row compared"


def _compare(trial: URL, target: Path, counted: Mapping[str, Tally]) -> None:
    engine = server_engine(trial)
    try:
        with engine.connect() as connection, connection.begin():
            need_same(counted, tallies(connection), str(target))
    finally:
        engine.dispose()


def _run(url: URL, program: str, *arguments: str) -> str | None:
    """Run one of the server's programs; what it complained of, None if it was content."""
    environment = dict(os.environ)
    if url.password is not None:
        environment["PGPASSWORD"] = str(url.password)
    address = url.set(drivername="postgresql", password=None).render_as_string()
    ran = subprocess.run(
        [program, f"--dbname={address}", *arguments],
        env=environment, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False,
        timeout=LONGEST,
    )  # fmt: skip
    if ran.returncode == 0:
        return None
    return (ran.stderr.strip().splitlines() or [f"{program} ended with {ran.returncode}"])[-1]
