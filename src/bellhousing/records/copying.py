"""Every row of one database into another, compared afterwards; whatever the tables are.

The tables are read off the database itself, so that a database of an older version is copied as well.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Date, DateTime, Engine, MetaData, Table, event, func, insert, select
from sqlalchemy.exc import DBAPIError

from bellhousing.errors import RecordError
from bellhousing.records.columns import check_row
from bellhousing.records.database import open_engine, where_of
from bellhousing.records.plain import to_json
from bellhousing.records.sqlite_file import back_up, into_one_file
from bellhousing.records.tables import UtcDateTime
from bellhousing.records.upgrading import MIGRATIONS, current_version, short, writing

Row = Mapping[Any, Any]

AT_ONCE = 500
"""Rows held in memory at once."""
OWN = frozenset({"alembic_version"})


@dataclass(frozen=True)
class Tally:
    """How many rows a table holds, and a digest of all of them that their order does not change."""

    rows: int
    digest: str


class Counting:
    """A tally as it grows, row by row."""

    def __init__(self) -> None:
        self.rows = 0
        self._sum = 0

    def add(self, line: str) -> None:
        """Count one row, as it is written in a line."""
        self.rows += 1
        self._sum += int.from_bytes(hashlib.sha256(line.encode("utf-8")).digest(), "big")

    @property
    def tally(self) -> Tally:
        """What was counted so far."""
        return Tally(self.rows, f"{self._sum % 2**256:064x}")


def tables_in(connection: Connection) -> tuple[Table, ...]:
    """The tables of a database, those that others point at first."""
    found = MetaData()

    @event.listens_for(found, "column_reflect")
    def _of_any_database(inspector: Any, table: Table, column: dict[str, Any]) -> None:
        kind = column["type"].as_generic()
        column["type"] = UtcDateTime() if isinstance(kind, DateTime) else kind

    found.reflect(bind=connection, resolve_fks=False)
    return tuple(table for table in found.sorted_tables if table.name not in OWN)


def rows_of(connection: Connection, table: Table) -> Iterator[Row]:
    """The rows of a table by its key, few of them in memory at once."""
    wanted = select(table).order_by(*table.primary_key.columns)
    with connection.execute(wanted, execution_options={"yield_per": AT_ONCE}) as found:
        for row in found:
            yield row._mapping


def line_of(row: Row) -> str:
    """A row as one line of JSON; the same row makes the same line, whatever database it came from."""
    plain = {str(name): _plain(value) for name, value in row.items()}
    return json.dumps(plain, allow_nan=False, ensure_ascii=False, separators=(",", ":"))


def row_from(line: str, table: Table) -> dict[str, Any]:
    """A row from its line.

    Raises
    ------
    ValueError : the line is no row of that table.
    """
    found = json.loads(line)
    if not isinstance(found, dict) or list(found) != [column.name for column in table.columns]:
        raise ValueError("its columns are not those of the table")
    return {column.name: _as_column(column, found[column.name]) for column in table.columns}


def tallies(connection: Connection, tables: Sequence[Table] | None = None) -> dict[str, Tally]:
    """Each table's rows counted and digested."""
    found = {}
    for table in tables_in(connection) if tables is None else tables:
        counting = Counting()
        for row in rows_of(connection, table):
            counting.add(line_of(row))
        found[table.name] = counting.tally
    return found


def need_empty(connection: Connection, tables: Sequence[Table], where: str) -> None:
    """Refuse a database that holds anything."""
    for table in tables:
        if connection.execute(select(func.count()).select_from(table)).scalar_one():
            raise RecordError(
                f"there are {table.name.replace('_', ' ')} in it already",
                where=where,
                remedy="nothing was changed; give a database that is new or empty",
            )


def put_rows(connection: Connection, table: Table, rows: Iterator[Row], *, at_once: int = AT_ONCE) -> None:
    """Put rows into a table under the numbers they have."""
    batch: list[dict[str, Any]] = []
    for row in rows:
        check_row(table, row)
        batch.append(dict(row))
        if len(batch) == at_once:
            connection.execute(insert(table), batch)
            batch.clear()
    if batch:
        connection.execute(insert(table), batch)
    _go_on_counting(connection, table)


def copy_all(
    source: Connection, target: Connection, *, into: str, leave: Collection[str] = ()
) -> dict[str, Tally]:
    """Copy every row into the empty tables of a database of the same version, and compare.

    Tables named in `leave` are neither looked at nor touched.

    Raises
    ------
    RecordError : the target holds anything, its tables differ, or a row did not arrive as it left.
    """
    tables = [table for table in tables_in(source) if table.name not in leave]
    theirs = {table.name: table for table in tables_in(target) if table.name not in leave}
    if {table.name: _shape(table) for table in tables} != {n: _shape(t) for n, t in theirs.items()}:
        raise RecordError("the two databases hold different tables", where=into)
    need_empty(target, tuple(theirs.values()), into)
    left = {}
    for table in tables:
        counting = Counting()

        def counted(table: Table = table, counting: Counting = counting) -> Iterator[Row]:
            for row in rows_of(source, table):
                counting.add(line_of(row))
                yield row

        put_rows(target, theirs[table.name], counted())
        left[table.name] = counting.tally
    need_same(left, tallies(target, tuple(theirs.values())), into)
    return left


def need_same(left: Mapping[str, Tally], arrived: Mapping[str, Tally], where: str) -> None:
    """Refuse a copy that is not the same, naming the table."""
    for name in sorted({*left, *arrived}):
        if left.get(name) != arrived.get(name):
            raise RecordError(
                f"the rows of {name} did not arrive as they left", where=where, remedy="nothing was kept"
            )


def move(source: Engine, target: Engine) -> dict[str, Tally]:
    """Copy one database into another that is empty, in one transaction; nobody writes meanwhile.

    One that holds every row already, and no other, was copied before the move was broken off: it is done.

    Raises
    ------
    RecordError : the target holds anything else, either refuses, or a row did not arrive as it left.
    """
    if source.url == target.url:
        raise RecordError("that is the same database", where=where_of(target))
    try:
        with writing(source) as left, writing(target) as right:
            there = tallies(right)
            if any(one.rows for one in there.values()):
                here = tallies(left)
                if here == there:
                    return here
            return copy_all(left, right, into=where_of(target))
    except DBAPIError as error:
        raise RecordError(
            f"the records could not be copied, {short(error)}",
            where=where_of(target),
            remedy="nothing was kept there, and nothing was changed here",
        ) from error


def copy_to_file(
    connection: Connection, target: Path, *, version: str, migrations: Path = MIGRATIONS
) -> dict[str, Tally]:
    """Copy a database, as it stands in a transaction, to a new file of the same version.

    Raises
    ------
    RecordError : the file is there already or cannot be written; nothing is left of it.
    """
    if target.exists():
        raise RecordError("a file of that name is there already", where=str(target))
    try:
        engine = open_engine(target, migrations=migrations, newest=version)
        try:
            with writing(engine) as copy:
                copied = copy_all(connection, copy, into=str(target))
        finally:
            engine.dispose()
        into_one_file(target)
        return copied
    except (DBAPIError, RecordError) as error:
        target.unlink(missing_ok=True)
        if isinstance(error, RecordError):
            raise
        raise RecordError(f"the copy could not be made, {short(error)}", where=str(target)) from error


def copy_database(engine: Engine, target: Path) -> None:
    """Copy a database that may be in use to a new file.

    Raises
    ------
    RecordError : the file is there already or cannot be written.
    """
    if engine.dialect.name == "sqlite":
        back_up(Path(str(engine.url.database)), target)
        return
    with engine.connect() as connection, connection.begin():
        copy_to_file(connection, target, version=str(current_version(connection)))


def _shape(table: Table) -> list[str]:
    return [column.name for column in table.columns]


def _plain(value: Any) -> Any:
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, bytes):
        return value.hex()
    return value


def _as_column(column: Any, value: Any) -> Any:
    if value is None:
        return None
    if isinstance(column.type, UtcDateTime):
        at = datetime.fromisoformat(value)
        if at.tzinfo is None:
            raise ValueError(f"{column.name} has no time zone")
        return at
    if isinstance(column.type, Date):
        return date.fromisoformat(value)
    if column.type.python_type is bytes:
        return bytes.fromhex(value)
    if column.type.python_type is float and isinstance(value, int):
        return float(value)
    if column.type.python_type in (int, float, bool, str) and type(value) is not column.type.python_type:
        raise ValueError(f"{column.name} is of another kind")
    to_json(value)
    return value


def _go_on_counting(connection: Connection, table: Table) -> None:
    """See to it that the next row gets the next number; a file does it by itself."""
    keys = list(table.primary_key.columns)
    if connection.dialect.name == "sqlite" or len(keys) != 1 or keys[0].type.python_type is not int:
        return
    last = connection.execute(select(func.max(keys[0]))).scalar()
    if last is not None:
        connection.exec_driver_sql(
            "SELECT setval(pg_get_serial_sequence(%s, %s), %s)", (table.name, keys[0].name, last)
        )
