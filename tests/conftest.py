"""What every test shares: reproducible property tests and the browser that is on this machine."""

from __future__ import annotations

import gc
import os
import sqlite3
import sys
import threading
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, settings

from tests.truth.recorder import Recorder

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from bellhousing.records.upgrading import Copy


def pytest_addoption(parser: pytest.Parser) -> None:
    """`--truth FILE` has a run write down what its tests compare and which code they reach."""
    parser.addoption("--truth", metavar="FILE", help="write what the tests compare and reach here (-n 0)")


def pytest_configure(config: pytest.Config) -> None:
    """Load the recorder when it is asked for."""
    target = config.getoption("--truth", default=None)
    if target is not None:
        if getattr(config.option, "numprocesses", None):
            raise pytest.UsageError("--truth writes one file: give -n 0 with it")
        config.pluginmanager.register(Recorder(Path(str(target))), "truth-recorder")


# The same examples in every run, so that a check tells of a change and not of chance; for others there is
# `pytest --hypothesis-profile others`.
settings.register_profile(
    "others", deadline=None, max_examples=100, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile("same", settings.get_profile("others"), derandomize=True, database=None)
settings.load_profile("same")


# What is collected and loaded stays to the end: looked through for garbage again and again, as by default, it
# takes a fourth of the time in which the tests are collected.
gc.set_threshold(20_000, 20, 20)


def pytest_collection_finish() -> None:
    """Look for garbage only in what the tests themselves make."""
    gc.freeze()


@pytest.fixture(scope="session")
def repository() -> Path:
    """The repository's root."""
    return Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session", autouse=True)
def prepared_folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A cache for all workers of a run: each box and car is worked out once, and the user's own is let be."""
    from bellhousing.tasks import preparation

    own = tmp_path_factory.getbasetemp()
    folder = (own.parent if "PYTEST_XDIST_WORKER" in os.environ else own) / "prepared"
    folder.mkdir(exist_ok=True)
    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("BELLHOUSING_CACHE", str(folder))
        # Tests have more cars than a shop has at a time.
        patched.setattr(preparation, "MOST_FILES", 40)
        yield folder


def holds_tables(database: sqlite3.Connection) -> bool:
    """Whether a database has any table yet."""
    return database.execute("SELECT 1 FROM sqlite_master").fetchone() is not None


@pytest.fixture(scope="session", autouse=True)
def new_records() -> Iterator[None]:
    """New records in a file are a copy of the first that the migrations made for a worker."""
    database = sys.modules.get("bellhousing.records.database")
    if database is None:  # none of these tests has records
        yield
        return
    from bellhousing.records.tables import NEWEST
    from bellhousing.records.upgrading import MIGRATIONS, migrate

    made = sqlite3.connect(":memory:", check_same_thread=False)
    one_at_a_time = threading.Lock()

    def copied(
        engine: Engine, found: str | None, migrations: Path, newest: str, *, where: str, copy: Copy
    ) -> None:
        usual = found is None and (migrations, newest) == (MIGRATIONS, NEWEST)
        if not usual or engine.dialect.name != "sqlite":
            migrate(engine, found, migrations, newest, where=where, copy=copy)
            return
        with one_at_a_time, closing(engine.raw_connection()) as raw:
            file = raw.driver_connection
            assert isinstance(file, sqlite3.Connection)
            if holds_tables(made) and not holds_tables(file):
                made.backup(file)
                return
            migrate(engine, found, migrations, newest, where=where, copy=copy)
            if not holds_tables(made):
                file.backup(made)

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(database, "migrate", copied)
        yield
    made.close()


@pytest.fixture(scope="session")
def chromium() -> str:
    """The path of the browser on this machine; a browser test without one is an error, never a pass."""
    from tests.serving import chromium_here

    return chromium_here()
