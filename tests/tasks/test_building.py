"""The build of a job, from its book to the words and figures a mechanic sees."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from bellhousing.errors import BellhousingError
from bellhousing.tasks import building, ledger, ledger_parts, opening
from bellhousing.tasks.shop import Shop, open_shop


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """A shop with one car and one job on it, on a clock of its own."""
    moment = [datetime(2026, 3, 2, 9, 0, tzinfo=UTC)]

    def clock() -> datetime:
        moment[0] += timedelta(minutes=1)
        return moment[0]

    with open_shop(tmp_path / "shop", clock=clock) as found:
        opening.open_car(found, "grey saloon", box="box-a")
        opening.open_job(found, "grey-saloon", "leaks")
        yield found


def test_build_says_what_comes_next_until_all_is_back_torqued_and_proved(shop: Shop) -> None:
    """Filter before pan, the pan in two rounds, and nothing more for a job done in the car."""
    for part in ("pan", "filter"):
        ledger_parts.move_part(shop, 1, part, off=True)
    assert building.building(shop, 1).next == "Refit the filter."
    ledger_parts.move_part(shop, 1, "filter", off=False)
    ledger.tick(shop, 1, "bolts-out", "pan")
    ledger_parts.move_part(shop, 1, "pan", off=False)
    assert "Torque the pan" in building.building(shop, 1).next
    building.note_torque(shop, 1, "pan", 1)
    assert building.building(shop, 1).steps[1].torque_left == (2,)
    building.note_torque(shop, 1, "pan", key="k")
    after = building.note_gate(shop, 1, "level-after-heat", "-1/8 in")
    assert not after.binding
    assert "passes" in after.said


@pytest.mark.parametrize(
    ("gate", "text", "state"),
    [
        ("front-end-play-set", "0.015 in", "passed"),
        ("front-end-play-set", "0.381 mm", "passed"),
        ("front-end-play-set", "31 thou", "failed"),
        ("front end play", "no, the dial slips", "failed"),
        ("input-turns", "done", "passed"),
        ("input-turns", "no, it binds", "failed"),
    ],
)
def test_gate_is_passed_by_its_number_or_by_a_word_where_it_wants_none(
    shop: Shop, gate: str, text: str, state: str
) -> None:
    """Any unit of length does; a figure outside the window, or a no, does not pass."""
    for part in ("pan", "front pump"):
        ledger_parts.move_part(shop, 1, part, off=True)
    answer = building.note_gate(shop, 1, gate, text)
    told = {one.slug: one.state for step in answer.steps for one in step.gates}
    assert told["input-turns" if gate == "input-turns" else "front-end-play-set"] == state


@pytest.mark.parametrize(
    ("gate", "text", "says"),
    [
        ("front-end-plum", "0.015 in", "front-end-play-set"),
        ("front-end-play-set", "12 psi", "in"),
        ("front-end-play-set", "done", "figure"),
        ("input-turns", "perhaps", "done"),
    ],
)
def test_what_is_no_answer_to_a_gate_is_refused_with_what_would_be(
    shop: Shop, gate: str, text: str, says: str
) -> None:
    """A gate nobody knows, a pressure for a length, a word for a number: nothing is written."""
    with pytest.raises(BellhousingError) as refused:
        building.note_gate(shop, 1, gate, text)
    assert says in str(refused.value)
    assert not shop.store.work_entries(1)


def test_car_that_comes_back_is_met_with_what_the_earlier_work_may_have_left(shop: Shop) -> None:
    """The pump was out 40 days ago: faults that work on it leaves behind are named, others are not."""
    for part in ("pan", "front pump"):
        ledger_parts.move_part(shop, 1, part, off=True)
    assert building.returned(shop, 1) is None
    clock = shop.clock
    later = Shop(store=shop.store, folder=shop.folder, clock=lambda: clock() + timedelta(days=40))
    opening.open_job(later, "grey-saloon", "leaks again")
    found = building.returned(later, 2)
    assert found is not None
    assert (found.earlier, found.days) == (1, 39) or found.days == 40
    seats = {shop.catalogue.faults[name].name for name in ("pump-gasket-shrunk", "pump-drain-hole-blocked")}
    assert seats & set(found.faults)
    assert shop.catalogue.faults["check-ball-missing"].name not in found.faults
