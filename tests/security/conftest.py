"""A shop open to the workshop, with a proprietor, a mechanic and a reader; its clock is moved by hand."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from shutil import copytree

import pytest
from starlette.testclient import TestClient

from bellhousing.tasks import opening, people
from bellhousing.tasks.shop import Shop, open_shop
from bellhousing.web.app import create_app
from tests.phrases import quick_phrases

ADDRESS = "https://bench.local"
ORIGIN = {"origin": ADDRESS}
PHRASES = {
    "Petra": "lime ox tarp dune",
    "Max": "blue kettle seven",
    "Rita": "nine wet hedgehogs",
}


@dataclass
class Hands:
    """A clock that goes only when it is moved."""

    at: datetime = field(default_factory=lambda: datetime(2026, 3, 2, 8, 0, tzinfo=UTC))

    def __call__(self) -> datetime:
        return self.at

    def move(self, **by: float) -> None:
        """Some time goes by."""
        self.at += timedelta(**by)


@pytest.fixture
def clock() -> Hands:
    """The shop's clock."""
    return Hands()


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a shop with three people and one job, made once."""
    folder = tmp_path_factory.mktemp("made")
    with open_shop(folder, clock=Hands()) as opened:
        # Real hashes are tested once; here they would only be slow.
        opened.__dict__["phrases"] = quick_phrases()
        for name, role in (("Petra", "proprietor"), ("Max", "mechanic"), ("Rita", "reader")):
            people.add(opened, name, role, phrase=PHRASES[name])
        opening.open_car(opened, "grey saloon")
        opening.open_job(opened, "grey saloon", "Not what it was.")
    return folder


@pytest.fixture
def shop(made: Path, tmp_path: Path, clock: Hands) -> Iterator[Shop]:
    """A shop with three people and one job."""
    copytree(made, tmp_path / "shop")
    with open_shop(tmp_path / "shop", clock=clock) as opened:
        opened.__dict__["phrases"] = quick_phrases()
        yield opened


@pytest.fixture
def door(shop: Shop) -> Iterator[TestClient]:
    """A browser that nobody has logged in with."""
    app = create_app(shop, hosts=("bench.local",), workshop=True)
    with TestClient(app, base_url=ADDRESS, headers=ORIGIN, follow_redirects=False) as client:
        yield client


Enter = Callable[[str], TestClient]


@pytest.fixture
def enter(door: TestClient) -> Enter:
    """Logs somebody in with the browser."""

    def entered(name: str) -> TestClient:
        answer = door.post("/login", data={"name": name, "phrase": PHRASES.get(name, PHRASES["Max"])})
        assert answer.status_code == 303
        return door

    return entered
