"""Reading a whole database through: damaged pages, rows that point at nothing, guards that are gone."""

from __future__ import annotations

from sqlalchemy import Connection, and_, exists, func, select

from bellhousing.records.copying import rows_of, tables_in
from bellhousing.records.guards import guarded
from bellhousing.records.tables import CHANGEABLE, metadata

CHANGES = {"sqlite": {"update", "delete"}, "postgresql": {"update", "delete", "truncate"}}


def problems_of(connection: Connection) -> list[str]:
    """What is wrong with a database, nothing if all of it is sound."""
    found = _damage(connection)
    return found or [*_loose(connection), *_unguarded(connection), *_behind(connection)]


def _damage(connection: Connection) -> list[str]:
    if connection.dialect.name == "sqlite":
        said = [str(row[0]) for row in connection.exec_driver_sql("PRAGMA integrity_check(3)")]
        return [] if said == ["ok"] else said
    # A server has no such command for an ordinary account; reading every row meets what is damaged.
    for table in tables_in(connection):
        for _ in rows_of(connection, table):
            pass
    return []


def _loose(connection: Connection) -> list[str]:
    found = []
    for table in metadata.sorted_tables:
        for key in table.foreign_key_constraints:
            other = key.referred_table.alias()
            pairs = [(element.parent, other.c[element.column.name]) for element in key.elements]
            meant = exists(select(1).where(and_(*(left == right for left, right in pairs))))
            loose = select(func.count()).where(*(left.is_not(None) for left, _ in pairs), ~meant)
            count = connection.execute(loose).scalar_one()
            if count:
                found.append(
                    f"{'a row' if count == 1 else f'{count} rows'} of {table.name} points at nothing"
                )
    return found


def _unguarded(connection: Connection) -> list[str]:
    guards = guarded(connection)
    needed = CHANGES[connection.dialect.name]
    return [
        f"{table.name} can be rewritten, its guard is gone"
        for table in metadata.sorted_tables
        if table.name not in CHANGEABLE and not needed <= guards.get(table.name, set())
    ]


def _behind(connection: Connection) -> list[str]:
    """Counters of a server that would give a number out again."""
    if connection.dialect.name == "sqlite":
        return []
    found = []
    for table in metadata.sorted_tables:
        (key, *more) = table.primary_key.columns
        if more or key.type.python_type is not int:
            continue
        last = connection.execute(select(func.coalesce(func.max(key), 0))).scalar_one()
        counter = connection.exec_driver_sql(
            "SELECT pg_sequence_last_value(pg_get_serial_sequence(%s, %s)::regclass)", (table.name, key.name)
        ).scalar()
        if last > (counter or 0):
            found.append(f"the counter of {table.name} is behind its rows")
    return found
