"""Opening a database, in a file or on a server: looked at first, then brought up to date."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from sqlalchemy import URL, Connection, Engine, event, make_url
from sqlalchemy.exc import ArgumentError

from bellhousing.errors import RecordError
from bellhousing.records.columns import fits_its_columns
from bellhousing.records.postgres import look_on_server, server_engine, where_is
from bellhousing.records.sqlite_file import back_up, file_engine, look_at, switch_to_wal, unused_name
from bellhousing.records.tables import NEWEST
from bellhousing.records.upgrading import MIGRATIONS, migrate

SERVERS = ("postgresql", "postgres")


def open_engine(
    path_or_url: str | Path,
    *,
    migrations: Path = MIGRATIONS,
    newest: str = NEWEST,
    copies: Path | None = None,
) -> Engine:
    """Open a database that is whole, this program's and of the newest version, making it if it is new.

    One on a server that is of an older version is copied into the folder `copies` before it is changed.

    Raises
    ------
    RecordError : the database is damaged, another program's, of a newer version or cannot be written.
    """
    address = address_of(path_or_url)
    if address.get_backend_name() == "sqlite":
        return _open_file(address, migrations, newest)
    return _open_on_server(address, migrations, newest, copies)


def address_of(path_or_url: str | Path) -> URL:
    """The address of a database: a file, or a PostgreSQL server.

    Raises
    ------
    RecordError : it is neither.
    """
    text = str(path_or_url)
    if isinstance(path_or_url, Path) or "://" not in path_or_url:
        return make_url(f"sqlite:///{Path(path_or_url)}")
    try:
        address = make_url(text)
    except ArgumentError as error:
        raise RecordError(
            "that is not a database address", where=text[:200], remedy="give a file, or an address"
        ) from error
    kind = address.drivername.partition("+")[0]
    if kind in SERVERS:
        if not address.database:
            raise RecordError(
                "that address names no database",
                where=where_is(address),
                remedy="like postgresql://shop@server/bellhousing",
            )
        return address.set(drivername="postgresql+psycopg")
    if kind != "sqlite":
        raise RecordError(
            f"records cannot be kept in {kind}",
            where=address.render_as_string(),
            remedy="give a file, or a postgresql:// address",
        )
    if not address.database or address.database == ":memory:":
        raise RecordError("records need a file to live in", where=text, remedy="give a file")
    return address


def where_of(engine: Engine) -> str:
    """A database as it may be shown: its file, or its address without the pass word."""
    return str(engine.url.database) if engine.dialect.name == "sqlite" else where_is(engine.url)


def where_at(path_or_url: str | Path) -> str:
    """The same of an address that is not open; raises as `address_of`."""
    address = address_of(path_or_url)
    return str(address.database) if address.get_backend_name() == "sqlite" else where_is(address)


def _open_file(address: URL, migrations: Path, newest: str) -> Engine:
    file = Path(str(address.database))
    found = look_at(file, newest=newest, migrations=migrations)
    engine = file_engine(address)
    event.listen(engine, "before_cursor_execute", fits_its_columns)

    def copy(connection: Connection, version: str) -> Path:
        return back_up(file, unused_name(file, version))

    try:
        switch_to_wal(engine)
        if found != newest:
            migrate(engine, found, migrations, newest, where=str(file), copy=copy)
    except BaseException:
        engine.dispose()
        raise
    return engine


def _open_on_server(address: URL, migrations: Path, newest: str, copies: Path | None) -> Engine:
    engine = server_engine(address)
    event.listen(engine, "before_cursor_execute", fits_its_columns)
    try:
        found = look_on_server(engine, newest=newest, migrations=migrations)
        if found != newest:
            copy = partial(_copy_into, copies, migrations)
            migrate(engine, found, migrations, newest, where=where_is(address), copy=copy)
    except BaseException:
        engine.dispose()
        raise
    return engine


def _copy_into(folder: Path | None, migrations: Path, connection: Connection, version: str) -> Path:
    from bellhousing.records.copying import copy_to_file

    if folder is None:
        raise RecordError(
            f"the database is of version {version} and must be copied before it is changed",
            where=where_is(connection.engine.url),
            remedy="open the shop with --shop, so that there is a folder for the copy",
        )
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise RecordError(
            f"the copy could not be made, {error.strerror}", where=str(folder), remedy="nothing was changed"
        ) from error
    target = unused_name(folder / "records", version)
    copy_to_file(connection, target, version=version, migrations=migrations)
    return target
