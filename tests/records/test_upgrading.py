"""Older databases, in a file and on a server: copied, brought up to date, and broken off in the middle."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from bellhousing.errors import RecordError
from bellhousing.records.database import open_engine
from bellhousing.records.entries import Entry
from bellhousing.records.sqlite_file import look_at
from bellhousing.records.store import Store, open_store
from bellhousing.records.tables import NEWEST, metadata
from bellhousing.records.upgrading import MIGRATIONS, current_version
from tests.records.conftest import BOTH, old_records
from tests.servers import Server

AFTER = [f"{int(NEWEST) + step:04d}" for step in (1, 2)]
GOOD = '''
"""Adds a column."""

import sqlalchemy as sa
from alembic import op

revision = "{revision}"
down_revision = "{before}"


def upgrade() -> None:
    op.execute("UPDATE cars SET name = name || ' {revision}'")
    op.execute("CREATE TABLE made_{revision} (id INTEGER PRIMARY KEY)")
{end}
'''
DIES = """    import os, signal
    os.kill(os.getpid(), signal.SIGKILL)
"""
UPGRADE = """
import sys
from pathlib import Path
from bellhousing.records.database import open_engine
place, migrations, newest, copies = sys.argv[1:]
open_engine(place, migrations=Path(migrations), newest=newest, copies=Path(copies)).dispose()
"""


@pytest.fixture(params=BOTH)
def bare_place(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a database in which nothing was made yet, of each kind in turn."""
    if request.param == "server":
        server: Server = request.getfixturevalue("server")
        return server.address(server.new_database())
    return str(tmp_path / "shop.sqlite")


@pytest.fixture
def old_place(bare_place: str, at: datetime) -> str:
    """A database of the first version, with a car, a job and an entry in it."""
    old_records(bare_place, at)
    return bare_place


@pytest.fixture
def two_more(tmp_path: Path) -> Callable[[str], Path]:
    """Makes a folder of migrations with two more, the last ending as said."""

    def made(end: str) -> Path:
        folder = tmp_path / "more"
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(MIGRATIONS, folder, ignore=shutil.ignore_patterns("__pycache__"))
        for before, revision, last in ((NEWEST, AFTER[0], ""), (AFTER[0], AFTER[1], end)):
            text = GOOD.format(revision=revision, before=before, end=last)
            (folder / "versions" / f"m{revision}_more.py").write_text(text)
        return folder

    return made


def test_the_migrations_make_the_tables_the_program_uses(bare_place: str) -> None:
    """Nothing missing, nothing left over, no type or index different, on either kind of database."""
    engine = open_engine(bare_place)
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []
        assert current_version(connection) == NEWEST
    engine.dispose()


def test_an_older_database_is_copied_then_brought_up_to_date(
    old_place: str, tmp_path: Path, at: datetime
) -> None:
    """The copy is of the old version, the database of the new one; both hold what was noted."""
    copies = tmp_path / "copies"
    with open_store(old_place, copies=copies) as store:
        assert [entry.said for entry in store.findings(1)] == ["64 psi"]
        assert store.add_finding(1, Entry(said="66 psi"), at=at, who="m").id == 2
        store.check()
    (copy,) = tmp_path.rglob("*before-migration-from-0001")
    assert look_at(copy) == "0001"
    with open_store(copy) as old:
        assert [entry.said for entry in old.findings(1)] == ["64 psi"]
    count = len(list(tmp_path.rglob("*before-migration*")))
    open_store(old_place, copies=copies).close()
    assert len(list(tmp_path.rglob("*before-migration*"))) == count


@pytest.mark.postgresql
def test_on_a_server_nothing_is_changed_without_a_place_for_the_copy(server: Server) -> None:
    """The program says what is missing."""
    place = server.address(server.new_database())
    open_engine(place, newest="0001").dispose()
    with pytest.raises(RecordError, match="must be copied before it is changed"):
        open_store(place)


def test_killed_in_the_middle_it_goes_on_the_next_time(
    old_place: str, tmp_path: Path, two_more: Callable[[str], Path]
) -> None:
    """What was finished stays, what was half done is gone, and the copy made before is whole."""
    copies = tmp_path / "copies"
    source = str(Path(__file__).parents[2] / "src")
    command = [sys.executable, "-c", UPGRADE, old_place, str(two_more(DIES)), AFTER[1], str(copies)]
    ran = subprocess.run(command, env={**os.environ, "PYTHONPATH": source}, check=False, timeout=600)
    assert ran.returncode == -signal.SIGKILL
    engine = open_engine(old_place, migrations=two_more(""), newest=AFTER[0], copies=copies)
    with Store(engine) as store:
        assert store.car("car").name == f"Car {AFTER[0]}"
    engine = open_engine(old_place, migrations=two_more(""), newest=AFTER[1], copies=copies)
    with Store(engine) as store:
        assert store.car("car").name == f"Car {AFTER[0]} {AFTER[1]}"
        assert [entry.said for entry in store.findings(1)] == ["64 psi"]
        store.check()
    assert {look_at(path, newest=AFTER[1], migrations=two_more("")) for path in
            tmp_path.rglob("*before-migration*")} == {"0001", AFTER[0]}  # fmt: skip
