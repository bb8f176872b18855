"""What a database refuses, in words, with what to do."""

from __future__ import annotations

import sqlite3
from typing import Any

from sqlalchemy.exc import DBAPIError

from bellhousing.errors import RecordError


class NotWritten(RecordError):
    """Nothing can be written at the moment, though what is there can be read."""


DISK_FULL = ("the disk is full", "nothing was written; make room on the disk, then say it again")
READ_ONLY = (
    "the database cannot be written to",
    "nothing was written; give yourself the right to write to it and to its folder",
)
DAMAGED = (
    "the database is damaged",
    "look at it with: bellhousing check; put back the last good copy with: bellhousing restore",
)
DISK = ("the disk refused", "nothing was written; make room on the disk or look at it, then say it again")
AWAY = (
    "the database cannot be reached",
    "what was said may not be written: look, then say it again; is the server running?",
)
OTHER = (
    "the database refused",
    "nothing was written; close what else holds it, or look at it with: bellhousing check",
)
NO_NUMBER = ("there is no such number", "look through what there is")

FILE_CODES = {
    sqlite3.SQLITE_FULL: DISK_FULL,
    sqlite3.SQLITE_READONLY: READ_ONLY,
    sqlite3.SQLITE_CANTOPEN: READ_ONLY,
    sqlite3.SQLITE_PERM: READ_ONLY,
    sqlite3.SQLITE_CORRUPT: DAMAGED,
    sqlite3.SQLITE_NOTADB: DAMAGED,
    sqlite3.SQLITE_IOERR: DISK,
}
SERVER_CODES = {"53100": DISK_FULL, "25006": READ_ONLY, "42501": READ_ONLY, "22003": NO_NUMBER}
SERVER_CLASSES = {"08": AWAY, "57": AWAY, "XX": DAMAGED, "58": DISK}


def refused(error: DBAPIError, where: str) -> RecordError:
    """The database's refusal as an error for people."""
    what, remedy = _words(error)
    kind = NotWritten if (what, remedy) in (DISK_FULL, READ_ONLY, DISK, OTHER) else RecordError
    return kind(f"{what}, {_said(error.orig)}", where=where, remedy=remedy)


def _words(error: DBAPIError) -> tuple[str, str]:
    code = getattr(error.orig, "sqlite_errorcode", None)
    if code is not None:
        return FILE_CODES.get(code & 0xFF, OTHER)
    state = getattr(error.orig, "sqlstate", None)
    if state is not None:
        return SERVER_CODES.get(state) or SERVER_CLASSES.get(state[:2], OTHER)
    return AWAY if error.connection_invalidated else OTHER


def _said(error: Any) -> str:
    return (str(error).strip().splitlines() or ["without a word"])[0]
