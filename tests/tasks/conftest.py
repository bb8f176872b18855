"""A shop to work in: its own folder, a clock that stands still, prepared models kept for the session."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bellhousing.tasks import opening
from bellhousing.tasks.shop import Shop, open_shop

MOMENT = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)


@pytest.fixture
def shop(tmp_path: Path, prepared_folder: Path) -> Iterator[Shop]:
    """An empty shop."""
    with open_shop(tmp_path / "shop", clock=lambda: MOMENT, cache=prepared_folder) as opened:
        yield opened


@pytest.fixture
def job(shop: Shop) -> int:
    """A job open on a car with box A."""
    opening.open_car(shop, "Grey saloon", box="A", axle_ratio="3.08", tyre_radius="0.345 m", altitude="0 ft")
    return opening.open_job(shop, "grey-saloon", "Not what it was").number
