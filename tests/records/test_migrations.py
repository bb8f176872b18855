"""Migrations go forward only, each in one transaction, after a copy was made."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory

from bellhousing.errors import RecordError
from bellhousing.records.database import open_engine
from bellhousing.records.sqlite_file import look_at
from bellhousing.records.store import open_store
from bellhousing.records.tables import APPLICATION_ID, NEWEST, metadata
from bellhousing.records.upgrading import MIGRATIONS, config
from tests.records.conftest import old_records

NEXT = f"{int(NEWEST) + 1:04d}"
BROKEN = f'''
"""Makes a table, changes the data, then fails."""

from alembic import op

revision = "{NEXT}"
down_revision = "{NEWEST}"


def upgrade() -> None:
    op.execute("CREATE TABLE half_done (id INTEGER)")
    op.execute("UPDATE cars SET name = 'spoilt'")
    op.execute("SELECT nonsense FROM nowhere")
'''


@pytest.fixture
def scripts() -> ScriptDirectory:
    """The migrations as shipped."""
    return ScriptDirectory.from_config(config(MIGRATIONS))


@pytest.fixture
def old_file(file: Path, at: datetime) -> Path:
    """A database of the first version, with a car, a job and an entry in it."""
    old_records(file, at)
    return file


def test_the_version_the_program_expects_is_the_last_script(scripts: ScriptDirectory) -> None:
    """One line of migrations, without branches, none of which can be undone."""
    assert scripts.get_heads() == [NEWEST]
    assert len(scripts.get_bases()) == 1
    for script in scripts.walk_revisions():
        assert not hasattr(script.module, "downgrade")


def test_the_migrations_make_the_tables_the_program_uses(file: Path) -> None:
    """Nothing missing, nothing left over, no type or index different."""
    engine = open_engine(file)
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []
        named = {row[0] for row in connection.exec_driver_sql("SELECT name FROM sqlite_master")}
    engine.dispose()
    for table in metadata.tables.values():
        assert table.name in named
        assert {index.name for index in table.indexes} <= named
    with closing(sqlite3.connect(file)) as raw:
        assert raw.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)
        assert raw.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        for check in ("ck_findings_supersedes_earlier", "ck_findings_withdrawn_is_of_something"):
            found = raw.execute("SELECT count(*) FROM sqlite_master WHERE sql LIKE ?", (f"%{check}%",))
            assert found.fetchone() == (1,)


def test_an_older_database_is_copied_then_brought_up_to_date(old_file: Path) -> None:
    """The copy is of the old version, the file of the new one, and both hold what was noted."""
    with open_store(old_file) as store:
        assert [entry.said for entry in store.findings(1)] == ["64 psi"]
        assert [change.who for change in store.status_changes(1)] == [""]
    assert look_at(old_file) == NEWEST
    copies = list(old_file.parent.glob("*before-migration-from-0001"))
    assert len(copies) == 1
    assert look_at(copies[0]) == "0001"
    with closing(sqlite3.connect(copies[0])) as raw:
        assert raw.execute("SELECT said FROM findings").fetchall() == [("64 psi",)]
    with open_store(old_file):
        assert list(old_file.parent.glob("*before-migration*")) == copies


def test_an_earlier_copy_is_never_overwritten(old_file: Path) -> None:
    """A second copy of the same version gets a name of its own."""
    taken = old_file.with_name(f"{old_file.name}.before-migration-from-0001")
    taken.write_text("kept for good reason")
    open_store(old_file).close()
    assert taken.read_text() == "kept for good reason"
    assert look_at(taken.with_name(f"{taken.name}.2")) == "0001"


def test_a_new_database_needs_no_copy(file: Path) -> None:
    """There is nothing yet to lose."""
    open_store(file).close()
    assert list(file.parent.glob("*before-migration*")) == []


def test_a_migration_that_fails_leaves_nothing_behind(old_file: Path, tmp_path: Path) -> None:
    """The one before it stands, its own table and changes are gone, the refusal names the copy."""
    broken = tmp_path / "migrations"
    shutil.copytree(MIGRATIONS, broken, ignore=shutil.ignore_patterns("__pycache__"))
    (broken / "versions" / f"m{NEXT}_broken.py").write_text(BROKEN)
    with pytest.raises(
        RecordError, match=rf"brought up to date.*stands at version {NEWEST}, .*migration-from-0001"
    ):
        open_engine(old_file, migrations=broken, newest=NEXT)
    assert look_at(old_file) == NEWEST
    with open_store(old_file) as store:
        assert store.car("car").name == "Car"
        store.check()
    with closing(sqlite3.connect(old_file)) as raw:
        assert raw.execute("SELECT count(*) FROM sqlite_master WHERE name = 'half_done'").fetchone() == (0,)
