"""Records in a new database with one car and one open job: in a file, and on a server of the tests' own."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import bindparam, text

from bellhousing.records.database import open_engine
from bellhousing.records.entries import Car
from bellhousing.records.store import Store, open_store
from bellhousing.records.tables import UtcDateTime
from bellhousing.records.upgrading import writing
from tests.servers import Server

BOTH = ("file", pytest.param("server", marks=pytest.mark.postgresql))
NewPlace = Callable[[], str]


def shop_with_files(folder: Path, log: str, data: bytes) -> Path:
    """A shop's folder with a photo, a copy of it, and a log; each holds the data and its own path."""
    for path in ("photos/originals/ab/photo.jpg", "photos/copies/ab/small.jpg", log):
        (folder / path).parent.mkdir(parents=True)
        (folder / path).write_bytes(data + path.encode())
    return folder


@pytest.fixture
def at() -> datetime:
    """A moment to note things at."""
    return datetime(2026, 5, 1, 9, 30, 0, 123456, tzinfo=UTC)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A file to keep records in."""
    return tmp_path / "shop.sqlite"


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """A PostgreSQL server; a test that needs one where there is none is an error, never a pass."""
    with Server() as started:
        yield started


@pytest.fixture(scope="session")
def new_on_server(server: Server) -> NewPlace:
    """Makes the address of a database that is up to date and empty."""
    template = server.new_database()
    open_store(server.address(template)).close()
    return lambda: server.address(server.new_database(template))


@pytest.fixture(params=BOTH)
def new_place(request: pytest.FixtureRequest, tmp_path: Path) -> NewPlace:
    """Makes the address of a new database, of each kind in turn."""
    if request.param == "server":
        made: NewPlace = request.getfixturevalue("new_on_server")
        return made
    files = (str(tmp_path / f"shop{number}.sqlite") for number in range(1000))
    return lambda: next(files)


@pytest.fixture
def place(new_place: NewPlace) -> str:
    """Where the records are kept: in a file, then on a server."""
    return new_place()


def filled(place: str | Path, at: datetime) -> Store:
    """Records with the car grey-saloon and its open job 1."""
    opened = open_store(place)
    opened.add_car(Car(slug="grey-saloon", name="Grey saloon", box="box-a"))
    opened.open_job("grey-saloon", complaint="shifts late and hard, some blue smoke", at=at, who="m")
    return opened


@pytest.fixture
def store(place: str, at: datetime) -> Iterator[Store]:
    """Records with the car grey-saloon and its open job 1, in a file, then on a server."""
    with filled(place, at) as opened:
        yield opened


def old_records(place: str | Path, at: datetime) -> None:
    """Make a database as the first version of the program left it: a car, an open job, an entry."""
    engine = open_engine(place, newest="0001")
    moment = bindparam("at", at, type_=UtcDateTime)
    with writing(engine) as connection:
        connection.execute(
            text("INSERT INTO cars (slug, name, box, note) VALUES ('car', 'Car', 'box-a', '')")
        )
        for statement in (
            "INSERT INTO jobs (car, opened_at, complaint) VALUES ('car', :at, 'late')",
            "INSERT INTO job_status (job, at, status, note) VALUES (1, :at, 'open', '')",
            "INSERT INTO findings (job, at, who, said, states, unit_assumed, conditions, withdrawn) "
            "VALUES (1, :at, 'm', '64 psi', '[]', false, '{}', false)",
        ):
            connection.execute(text(statement).bindparams(moment))
    engine.dispose()
