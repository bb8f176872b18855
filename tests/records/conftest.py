"""A store in a new file, with one car and one open job."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bellhousing.records.entries import Car
from bellhousing.records.store import Store, open_store


@pytest.fixture
def at() -> datetime:
    """A moment to note things at."""
    return datetime(2026, 5, 1, 9, 30, 0, 123456, tzinfo=UTC)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """Where the records are kept."""
    return tmp_path / "shop.sqlite"


@pytest.fixture
def store(file: Path, at: datetime) -> Iterator[Store]:
    """Records with the car grey-saloon and its open job 1."""
    with open_store(file) as opened:
        opened.add_car(Car(slug="grey-saloon", name="Grey saloon", box="box-a"))
        opened.open_job("grey-saloon", complaint="shifts late and hard, some blue smoke", at=at)
        yield opened
