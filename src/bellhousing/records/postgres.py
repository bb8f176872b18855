"""A database on a PostgreSQL server: reaching it, whether it is ours, and behaving as a file does.

Writers wait for one another as they do on a file, so that numbers run in the order written and sums that are
looked at before they are added to stay true; readers see one moment and never wait.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError

from bellhousing.errors import RecordError
from bellhousing.records.plain import from_json, to_json
from bellhousing.records.tables import NEWEST
from bellhousing.records.upgrading import MIGRATIONS, current_version, need_known, short

MARK = "bellhousing records"
WRITERS = 0x42454C4C
"""The lock that writers hold; the server keeps it apart for each database."""
WAIT_SECONDS = 10
REACH_SECONDS = 5


def server_engine(url: URL) -> Engine:
    """An engine for an address on a server; nothing is reached yet.

    Raises
    ------
    RecordError : the driver is not installed.
    """
    try:
        import psycopg  # noqa: F401
    except ImportError as error:
        raise RecordError(
            "records on a PostgreSQL server need its driver, which is not installed",
            remedy="type: .venv/bin/pip install 'psycopg[binary]'",
        ) from error
    settings = {
        "lock_timeout": f"{WAIT_SECONDS}s",
        "synchronous_commit": "on",
        "client_min_messages": "warning",
        "timezone": "UTC",
    }
    asked: dict[str, Any] = {
        "options": " ".join(
            f"-c {name}={value.replace(' ', chr(92) + ' ')}" for name, value in settings.items()
        ),
        "connect_timeout": REACH_SECONDS,
        "application_name": "bellhousing",
        # Statements prepared on one connection are unknown on the next behind a pool of connections.
        "prepare_threshold": None,
    }
    engine = create_engine(
        url.set(drivername="postgresql+psycopg"),
        connect_args=asked,
        json_serializer=to_json,
        json_deserializer=from_json,
        pool_pre_ping=True,
    )

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        if connection.get_execution_options().get("writing", False):
            # Each statement after the wait must see what the writer before has written.
            connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL READ COMMITTED, READ WRITE")
            connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITERS})")
        else:
            connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")

    return engine


def where_is(url: URL) -> str:
    """An address as it may be shown: without its pass word."""
    return url.set(drivername="postgresql", password=None, query={}).render_as_string()


def look_on_server(engine: Engine, *, newest: str = NEWEST, migrations: Path = MIGRATIONS) -> str | None:
    """Look at a database on a server without writing to it; its version, None when it is yet to be made.

    Raises
    ------
    RecordError : it cannot be reached, is another program's, or of a newer version.
    """
    where = where_is(engine.url)
    try:
        with engine.connect() as connection, connection.begin():
            encoding = connection.exec_driver_sql("SHOW server_encoding").scalar_one()
            tables = connection.exec_driver_sql(
                "SELECT count(*) FROM pg_tables WHERE schemaname = current_schema()"
            ).scalar_one()
            version = current_version(connection)
            mark = connection.exec_driver_sql(
                "SELECT obj_description(to_regclass(quote_ident(current_schema()) || '.alembic_version'))"
            ).scalar()
    except DBAPIError as error:
        raise RecordError(
            f"the database cannot be reached, {short(error)}",
            where=where,
            remedy="is the server running, and are name, pass word and database right?",
        ) from error
    if encoding != "UTF8":
        raise RecordError(
            f"that database keeps its text as {encoding}",
            where=where,
            remedy="make one with: createdb --encoding=UTF8 --template=template0 NAME",
        )
    if not tables:
        return None
    if mark != MARK:
        raise RecordError(
            "that database belongs to another program",
            where=where,
            remedy="nothing was written to it; make one of its own with createdb",
        )
    if version is None:
        raise RecordError("the database does not say which version it is", where=where)
    need_known(version, newest, migrations, where)
    return version
