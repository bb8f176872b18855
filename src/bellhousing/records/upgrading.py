"""Bringing a database up to date: forward only, one migration to a transaction, after a copy was made."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from bellhousing.errors import RecordError

MIGRATIONS = Path(__file__).parent / "migrations"

Copy = Callable[[Connection, str], Path]
"""Makes a copy of a database as it stands in a transaction, told its version; says where the copy is."""


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A transaction that will write: it holds the only writing lock from its first moment."""
    with engine.connect().execution_options(writing=True) as connection, connection.begin():
        yield connection


def config(migrations: Path) -> Any:
    """The settings the migrations run with."""
    # Alembic takes most of a second to import; only a new or an older database needs it.
    from alembic.config import Config

    settings = Config()
    settings.set_main_option("script_location", str(migrations).replace("%", "%%"))
    settings.set_main_option("path_separator", "os")
    return settings


def need_known(version: str, newest: str, migrations: Path, where: str) -> None:
    """Refuse a version that no migration of this program makes."""
    if version == newest:
        return
    from alembic.script import ScriptDirectory

    scripts = ScriptDirectory.from_config(config(migrations))
    if version not in {script.revision for script in scripts.walk_revisions()}:
        raise RecordError(
            f"the database is of version {version}, newer than this program ({newest})",
            where=where,
            remedy="nothing was written to it; use the newer program",
        )


def migrate(
    engine: Engine, found: str | None, migrations: Path, newest: str, *, where: str, copy: Copy
) -> None:
    """Bring a database up to date, one migration to a transaction, after copying what was `found` in it.

    Broken off at any moment, it stands at the last version finished and goes on from there the next time.

    Raises
    ------
    RecordError : a migration failed; it left nothing behind, and the copy is untouched.
    """
    from alembic import command
    from alembic.util import CommandError

    kept_copy: Path | None = None
    before = found
    while True:
        try:
            with writing(engine) as connection:
                before = current_version(connection)
                if before == newest:
                    return
                if found is not None and before is not None and kept_copy is None:
                    kept_copy = copy(connection, before)
                settings = config(migrations)
                settings.attributes["connection"] = connection
                command.upgrade(settings, newest if before is None else "+1")
        except (SQLAlchemyError, CommandError) as error:
            kept = f"it stands at version {before}" if before else "nothing was kept"
            kept += "" if kept_copy is None else f", and as it was before in {kept_copy.name}"
            raise RecordError(
                f"the database could not be brought up to date, {short(error)}", where=where, remedy=kept
            ) from error


def current_version(connection: Connection) -> str | None:
    """The version a database says it is of, None for one that is yet to be made."""
    if connection.dialect.name == "sqlite":
        known = connection.exec_driver_sql(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name = 'alembic_version'"
        ).scalar()
    else:
        known = connection.exec_driver_sql(
            "SELECT to_regclass(quote_ident(current_schema()) || '.alembic_version')"
        ).scalar()
    if known is None:
        return None
    row = connection.exec_driver_sql("SELECT version_num FROM alembic_version").first()
    return None if row is None else str(row[0])


def short(error: Exception) -> str:
    """The first line of what went wrong, in the database's own words."""
    return str((isinstance(error, DBAPIError) and error.orig) or error).splitlines()[0]
