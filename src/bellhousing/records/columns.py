"""Text that is too long for its column, or holds what no database keeps: refused by every database alike.

A file would take any text and a server would not; what is kept in the one must fit into the other.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, Table

from bellhousing.errors import RecordError


def fits_its_columns(
    connection: Connection, cursor: Any, statement: str, parameters: Any, context: Any, many: bool
) -> None:
    """Looks at what is about to be written, row by row."""
    if context is None or context.compiled is None or not (context.isinsert or context.isupdate):
        return
    table = context.compiled.statement.table
    for values in context.compiled_parameters:
        check_row(table, values)


def check_row(table: Table, values: Mapping[str, Any]) -> None:
    """Refuse a row that would not come back as it went in.

    Raises
    ------
    RecordError : a text is longer than its column, or holds the letter NUL.
    """
    for column in table.columns:
        value = values.get(column.key)
        if not isinstance(value, str):
            continue
        longest = getattr(column.type, "length", None)
        if longest is not None and len(value) > longest:
            raise RecordError(
                f"the {column.name} is too long", where=table.name, remedy=f"at most {longest} letters"
            )
        if "\x00" in value:
            raise RecordError(
                f"the {column.name} holds a letter that cannot be kept",
                where=table.name,
                remedy="leave it out",
            )
