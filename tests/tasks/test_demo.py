"""The invented shop: three cars, one of them mid-job, every line of it understood or meant as a note."""

from __future__ import annotations

from datetime import UTC, datetime
from importlib import resources
from pathlib import Path

from bellhousing.tasks import noting, opening, ranked_jobs
from bellhousing.tasks.demo import open_demo


def test_the_demo_shop_is_three_cars_one_mid_job(tmp_path: Path, prepared_folder: Path) -> None:
    """The mid-job car has findings, a leading cause and something to look at next."""
    moment = datetime(2026, 5, 4, tzinfo=UTC)
    with open_demo(tmp_path, clock=lambda: moment, cache=prepared_folder) as shop:
        assert len(opening.cars(shop)) == 3
        newest = opening.jobs(shop)[0]
        heard = noting.heard_on_job(shop, newest.number)
        assert sum(entry.evidence is not None for entry in heard) >= 5
        assert sum(entry.evidence is None for entry in heard) == 1
        answer = ranked_jobs.causes_of_job(shop, newest.number)
        assert answer.causes[0].cause == "modulator-diaphragm-torn"
        assert answer.next


def test_a_filled_demo_is_left_as_it_is(tmp_path: Path) -> None:
    """Opening it again adds nothing."""
    for _ in range(2):
        with open_demo(tmp_path) as shop:
            assert len(opening.cars(shop)) == 3
            assert len(opening.jobs(shop)) == 3


def test_the_data_say_that_they_are_invented() -> None:
    """In the first line of the file."""
    text = (resources.files("bellhousing.tasks") / "data" / "demo.yaml").read_text("utf-8")
    assert "invented" in text.splitlines()[0]
