"""What is measured before a part comes off counts in the diagnosis too, once, and may not be passed by."""

from __future__ import annotations

import pytest

from bellhousing.errors import BellhousingError, FindingError, RecordError
from bellhousing.tasks import ledger_parts, stripping
from bellhousing.tasks.before_off import need_measured, take_baseline
from bellhousing.tasks.measuring import measure_on_job, measured_on_job
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.work_book import read_book


def step(shop: Shop, job: int, part: str) -> tuple[bool, ...]:
    """Whether what is asked before a part is done."""
    found = next(step for step in stripping.strip_of_job(shop, job).steps if step.part == part)
    return tuple(row.done for row in found.measure_before)


def test_a_figure_a_look_and_a_reading_are_kept_once_and_count(shop: Shop, job: int) -> None:
    """Sent twice under one key each; a bare figure takes the usual unit."""
    stripping.choose_aims(shop, job, ["front pump", "pan"])
    for _ in range(2):
        take_baseline(shop, job, "front-pump", "front-end-play", "0.024", key="a")
        take_baseline(shop, job, "pan", "fluid-level", "low", key="b")
        take_baseline(shop, job, "vacuum-pipe", "modulator-vacuum-idle", "18", key="c")
    (measured,) = measured_on_job(shop, job)
    assert (measured.measure, measured.value, measured.unit) == ("front-end-play", 0.024, "in")
    found = {entry.finding: entry for entry in shop.store.current_findings(job) if entry.finding}
    assert found["fluid-level"].states == ("low",)
    assert found["modulator-vacuum-idle"].unit == "inHg"
    assert [step(shop, job, part) for part in ("front-pump", "pan", "vacuum-pipe")] == [(True,)] * 3
    assert len(read_book(shop, job).entries) == 4


@pytest.mark.parametrize(("part", "measure", "value"), [
    ("front-pump", "front-end-play", "loose"),
    ("front-pump", "front-end-play", ""),
    ("front-pump", "front-end-play", "12 psi"),
    ("pan", "fluid-level", "sideways"),
    ("vacuum-pipe", "modulator-vacuum-idle", "900"),
])  # fmt: skip
def test_what_is_no_answer_is_refused(shop: Shop, job: int, part: str, measure: str, value: str) -> None:
    """And nothing is written."""
    with pytest.raises(BellhousingError):
        take_baseline(shop, job, part, measure, value)
    assert read_book(shop, job).entries == ()


def test_the_strip_stops_until_it_is_known_declined_or_was_measured_before(shop: Shop, job: int) -> None:
    """What was measured at the bench beforehand is enough."""
    parts = read_book(shop, job).need_tree().parts
    pump, pan = parts["front-pump"], parts["pan"]
    with pytest.raises(RecordError, match="cannot be known"):
        need_measured(read_book(shop, job), (pan, pump))
    ledger_parts.note_baseline(shop, job, "pan", "fluid-level", declined="already-apart")
    measure_on_job(shop, job, "front end play 0.021 in")
    need_measured(read_book(shop, job), (pan, pump))
    stripping.choose_aims(shop, job, ["front pump"])
    assert step(shop, job, "front-pump") == (True,)


def test_the_parts_chosen_last_hold(shop: Shop, job: int) -> None:
    """Until others are chosen; one that the box does not have changes nothing."""
    stripping.choose_aims(shop, job, ["front pump"])
    stripping.choose_aims(shop, job, ["pan", "governor"])
    with pytest.raises(FindingError, match="warp"):
        stripping.choose_aims(shop, job, ["warp core"])
    assert {target.part for target in stripping.strip_of_job(shop, job).targets} == {"pan", "governor"}
