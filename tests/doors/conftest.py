"""A shop behind the web app, shared by the tests of a worker; tests that write open a job of their own."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bellhousing.tasks import opening
from bellhousing.tasks.demo import open_demo
from bellhousing.tasks.shop import Shop, open_shop
from bellhousing.web.app import create_app

ADDRESS = "http://127.0.0.1:8350"


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory, prepared_folder: Path) -> Iterator[Shop]:
    """The invented shop."""
    with open_demo(tmp_path_factory.mktemp("shop"), cache=prepared_folder) as shop:
        yield shop


@pytest.fixture(scope="session")
def web(demo: Shop) -> Iterator[TestClient]:
    """A client that talks to the invented shop as a browser on this machine would."""
    with TestClient(create_app(demo), base_url=ADDRESS) as client:
        yield client


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[TestClient]:
    """A client of a shop with nothing in it."""
    with open_shop(tmp_path) as shop, TestClient(create_app(shop), base_url=ADDRESS) as client:
        yield client


@pytest.fixture
def new_job(demo: Shop) -> Callable[[], int]:
    """Opens a job on the grey saloon."""

    def opened(complaint: str = "Not what it was.") -> int:
        return opening.open_job(demo, "grey saloon", complaint).number

    return opened
