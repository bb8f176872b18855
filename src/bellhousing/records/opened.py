"""An open database: its transactions, its refusals in words, its check and its copy."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, Engine, func, select
from sqlalchemy.exc import DBAPIError

from bellhousing.errors import RecordError
from bellhousing.records import soundness
from bellhousing.records.closing import Closing
from bellhousing.records.copying import copy_database
from bellhousing.records.database import where_of
from bellhousing.records.refusals import refused
from bellhousing.records.sqlite_file import PUT_BACK
from bellhousing.records.tables import metadata
from bellhousing.records.upgrading import writing


class Database(Closing):
    """A database, in a file or on a server."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    @property
    def engine(self) -> Engine:
        """What copies, moves and restores it; everything else goes through the records."""
        return self._engine

    @property
    def where(self) -> str:
        """Where it is, as it may be shown."""
        return where_of(self._engine)

    def problems(self) -> list[str]:
        """Read the whole database through; what is wrong with it."""
        with self._reading() as connection:
            return soundness.problems_of(connection)

    def newest(self) -> datetime | None:
        """The newest moment anything was written down at; None where nothing is."""
        found = [table.c["at"] for table in metadata.sorted_tables if "at" in table.c]
        with self._reading() as connection:
            moments = [connection.execute(select(func.max(column))).scalar() for column in found]
        return max((at for at in moments if at is not None), default=None)

    def check(self) -> None:
        """Read the whole database through; raises RecordError if any of it is damaged."""
        problems = self.problems()
        if problems:
            raise RecordError(
                f"the database is damaged, {'; '.join(problems)}", where=self.where, remedy=PUT_BACK
            )

    def back_up(self, target: str | Path) -> Path:
        """Copy the database to a new file while it is in use; raises RecordError if the file exists."""
        copy_database(self._engine, Path(target))
        return Path(target)

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with self._refusals(), self._engine.connect() as connection, connection.begin():
            yield connection

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        with self._refusals(), writing(self._engine) as connection:
            yield connection

    @contextmanager
    def _refusals(self) -> Iterator[None]:
        try:
            yield
        except DBAPIError as error:
            raise refused(error, self.where) from error
