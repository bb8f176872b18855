"""The list of jobs: pages, looking for one, and what each waits for; counting follows what changes."""

from __future__ import annotations

from datetime import timedelta

import pytest

from bellhousing.tasks import accounting, noting, opening, ordering
from bellhousing.tasks.ahead import prepare_ahead
from bellhousing.tasks.car_history import car_history
from bellhousing.tasks.counting import OwnCount, decided
from bellhousing.tasks.job_list import car_page, job_page
from bellhousing.tasks.shop import Shop
from tests.tasks.conftest import MOMENT


def waits(shop: Shop, job: int) -> list[tuple[str, str]]:
    """What the list says a job waits for."""
    line = next(line for line in job_page(shop).jobs if line.number == job)
    return [(wait.what, wait.text) for wait in line.waits]


def test_the_list_says_what_each_job_waits_for(shop: Shop, job: int) -> None:
    """First the owner, then the next test; parts with their day and how late; money beyond the yes."""
    assert waits(shop, job) == [("look", "Nothing noted yet: ask the owner, then look at the fluid")]
    noting.note(shop, job, "line pressure idle D 128 psi hot")
    prepare_ahead(shop)
    (kind, text), *_ = waits(shop, job)
    assert (kind, text) == ("look", shop.store.verdicts(job)[-1].details["next"]["text"]) or kind == "test"
    ordering.note_number(shop, job, "casting", "8 624 117")
    ordering.note_number(shop, job, "tag", "K 104")
    ordering.note_number(shop, job, "engine", "6.6 l, 1964")
    ordering.add_line(shop, job, "converter")
    assert waits(shop, job)[0] == ("parts", "To order: converter")
    ordering.set_status(shop, job, "converter", "ordered", promised="in 2 weeks", price="£300")
    shop.clock = lambda: MOMENT + timedelta(days=15)
    assert waits(shop, job)[0] == ("parts", "Parts awaited: converter (promised for 18 May, 1 day late)")
    accounting.set_terms(shop, job, rate="£80/h")
    accounting.authorise(shop, job, "diagnose", "£250", by="the owner", how="by telephone")
    assert ("owner", "The owner’s yes: £50 beyond what was authorised") in waits(shop, job)
    opening.close_job(shop, job, despite="only to see the list")
    assert job_page(shop).jobs == ()
    assert job_page(shop, all=True).jobs[0].waits == ()


def test_jobs_are_paged_found_and_followed(shop: Shop, job: int) -> None:
    """Closing takes a job off the bench, opening it again puts it back; words, numbers and cars find it."""
    more = [opening.open_job(shop, "grey-saloon", f"Whines, {n}th try").number for n in range(24)]
    first, last = job_page(shop), job_page(shop, page=99)
    assert (first.open, first.pages, len(first.jobs), len(last.jobs)) == (25, 2, 20, 5)
    assert last.jobs[-1].number == job
    opening.close_job(shop, more[-1])
    assert job_page(shop).jobs[0].number == more[-2]
    opening.reopen_job(shop, more[-1])
    assert job_page(shop).jobs[0].number == more[-1]
    assert [line.number for line in job_page(shop, asked="WHINES 23th").jobs] == [more[-1]]
    assert job in [line.number for line in job_page(shop, asked=str(job)).jobs]
    assert job_page(shop, asked="100% _").found == 0
    assert car_page(shop, asked="grey").found == 1


def test_counting_follows_a_job_closed_opened_again_and_closed_otherwise(shop: Shop, job: int) -> None:
    """What was followed step by step is what a fresh count of everything gives."""

    def counted() -> object:
        state = decided(shop.store.learning_events())
        fresh = OwnCount(shop.catalogue, shop.kind_of_box).tally(shop.store, state)
        followed = shop.own_count.tally(shop.store, state)
        assert followed == fresh
        return followed

    assert counted() == {}
    noting.note(shop, job, "fluid in the vacuum hose")
    opening.close_job(shop, job, causes=("modulator-diaphragm-torn",))
    once = counted()
    assert once != {}
    opening.reopen_job(shop, job)
    assert counted() == {}
    opening.close_job(shop, job, causes=("vacuum-hose-off",))
    assert counted() not in ({}, once)


@pytest.mark.parametrize("days", [[63.0, 67.0, 74.0]])
def test_a_car_shows_its_readings_over_the_years(shop: Shop, job: int, days: list[float]) -> None:
    """Each year's reading with its job, its window, the way it drifts, and the odometer."""
    numbers = [job]
    for year, psi in enumerate(days):
        shop.clock = lambda year=year: MOMENT + timedelta(days=365 * year)  # type: ignore[misc]
        number = opening.open_job(
            shop, "grey-saloon", "Looked over", odometer=f"{50 + year},000 miles"
        ).number
        noting.note(shop, number, f"line pressure idle D {psi} psi hot")
        numbers.append(number)
    found = car_history(shop, "grey-saloon")
    series = found.readings[0]
    assert [round(point.value) for point in series.points] == [63, 67, 74]
    assert [point.job for point in series.points] == numbers[1:]
    assert series.low is not None
    assert series.high is not None
    assert series.low < 63 < series.high
    assert series.drift.startswith("up 11 psi since the first; leaves its window")
    assert [one.miles for one in found.odometer] == [50_000, 51_000, 52_000]
    assert [line.number for line in found.jobs] == numbers[::-1]
