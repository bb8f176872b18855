"""What the database itself refuses, whatever program asks: changing or removing what is written once.

Used by the migrations, so what these functions make must stay what it is.
"""

from __future__ import annotations

from sqlalchemy import Connection

FUNCTION = "bellhousing_written_once"


def write_once(connection: Connection, table: str) -> None:
    """Let rows of a table be added, never changed or removed."""
    if connection.dialect.name == "sqlite":
        for change in ("UPDATE", "DELETE"):
            connection.exec_driver_sql(
                f"CREATE TRIGGER {table}_no_{change.lower()} BEFORE {change} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table} are written once'); END"
            )
        return
    connection.exec_driver_sql(
        f"CREATE OR REPLACE FUNCTION {FUNCTION}() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION USING MESSAGE = TG_TABLE_NAME || ' are written once', "
        "ERRCODE = 'integrity_constraint_violation'; END $$"
    )
    for change, each in (("UPDATE", "ROW"), ("DELETE", "ROW"), ("TRUNCATE", "STATEMENT")):
        connection.exec_driver_sql(
            f"CREATE TRIGGER {table}_no_{change.lower()} BEFORE {change} ON {table} "
            f"FOR EACH {each} EXECUTE FUNCTION {FUNCTION}()"
        )


def guarded(connection: Connection) -> dict[str, set[str]]:
    """The tables that are guarded, each with what is refused on it ("update", "delete", "truncate")."""
    if connection.dialect.name == "sqlite":
        asked = "SELECT tbl_name, name FROM sqlite_master WHERE type = 'trigger'"
    else:
        # A guard somebody has switched off guards nothing.
        asked = (
            "SELECT c.relname, t.tgname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
            "WHERE NOT t.tgisinternal AND t.tgenabled IN ('O', 'A') "
            "AND c.relnamespace = current_schema()::regnamespace"
        )
    found: dict[str, set[str]] = {}
    for table, name in connection.exec_driver_sql(asked):
        if str(name).startswith(f"{table}_no_"):
            found.setdefault(str(table), set()).add(str(name).removeprefix(f"{table}_no_"))
    return found
