"""The complaint as evidence: read at opening, weaker than what the shop finds, and each part withdrawable."""

from __future__ import annotations

import pytest

from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.likelihood import state_weights
from bellhousing.tasks import noting, opening
from bellhousing.tasks.answers import JobAnswer
from bellhousing.tasks.hearing import OWNER, OWNER_WRONG
from bellhousing.tasks.on_job import on_job
from bellhousing.tasks.ranking import rank
from bellhousing.tasks.shop import Shop

SAID = "slips in third, blue smoke, worse when hot, fluid brown, and the parrot swears"


@pytest.fixture
def told(shop: Shop) -> JobAnswer:
    """A job opened with plenty in the complaint."""
    opening.open_car(shop, "Grey saloon", box="A", axle_ratio="3.08", tyre_radius="0.345 m")
    return opening.open_job(shop, "grey-saloon", SAID, key="k")


def test_the_complaint_is_read_when_the_job_is_opened(shop: Shop, told: JobAnswer) -> None:
    """What is understood is kept as the owner's, what is not is said; sending it twice keeps it once."""
    found = {entry.finding: entry for entry in told.heard if entry.finding}
    assert {"slip-third", "blue-smoke", "complaint-temperature"} <= set(found)
    assert all(entry.source == OWNER and entry.number for entry in told.heard)
    assert "parrot" in " ".join(told.problems)
    opening.open_job(shop, "grey-saloon", SAID, key="k")
    assert len(shop.store.current_findings(told.number)) == len(told.heard)


def test_when_it_happens_is_kept_beside_what_happens(shop: Shop) -> None:
    """ "When hot" is the condition of the finding it stands with, shown and kept with it."""
    opening.open_car(shop, "Grey saloon", box="A")
    job = opening.open_job(shop, "grey-saloon", "Slips in second when hot")
    (kept,) = noting.heard_on_job(shop, job.number)
    shown = [(entry.name, entry.text, entry.source) for entry in kept.answer.conditions]
    assert shown == [("temperature", "hot", "said")]
    assert job.problems == ()


def test_what_only_owners_tell_counts_as_such_and_all_else_for_less(shop: Shop, told: JobAnswer) -> None:
    """The talk findings have the owner's errors in their own tables already."""
    heard = {entry.evidence.finding: entry.evidence for entry in noting.heard_on_job(shop, told.number)
             if entry.evidence is not None}  # fmt: skip
    assert heard["complaint-temperature"].hearsay == 0.0
    assert heard["blue-smoke"].hearsay == heard["slip-third"].hearsay == OWNER_WRONG
    finding = shop.catalogue.finding("blue-smoke")
    weights = state_weights(finding, Evidence("blue-smoke", ("puff",), hearsay=OWNER_WRONG)).tolist()
    assert weights == pytest.approx([0.15, 0.85])


def test_what_was_told_is_looked_at_again_and_the_look_stands_for_it(shop: Shop, told: JobAnswer) -> None:
    """The same thing seen by the shop says more, and the owner's word then counts no more."""
    job = on_job(shop, told.number)
    answer = rank(job.prepared, job.heard, reckoning=job.reckoning)
    assert "fluid-condition" in {test.finding for test in answer.next}
    before = next(cause.probability for cause in answer.causes if cause.cause == "modulator-diaphragm-torn")
    noting.note(shop, told.number, "blue smoke when pulling away")
    noting.note(shop, told.number, "fluid brown")
    job = on_job(shop, told.number)
    answer = rank(job.prepared, job.heard, reckoning=job.reckoning)
    assert "fluid-condition" not in {test.finding for test in answer.next}
    after = next(cause.probability for cause in answer.causes if cause.cause == "modulator-diaphragm-torn")
    assert after > before
    assert [entry.counts for entry in answer.findings if entry.finding == "blue-smoke"] == [False, True]


def test_each_part_of_the_complaint_can_be_withdrawn(shop: Shop, told: JobAnswer) -> None:
    """As any other entry."""
    number = next(entry.number for entry in told.heard if entry.finding == "blue-smoke")
    assert number is not None
    noting.withdraw(shop, told.number, number, "exhaust was only steaming")
    assert "blue-smoke" not in {entry.finding for entry in shop.store.current_findings(told.number)}


def test_a_complaint_that_says_nothing_is_kept_as_it_is(shop: Shop) -> None:
    """No entry, and a sentence that says so."""
    opening.open_car(shop, "Grey saloon", box="A")
    job = opening.open_job(shop, "grey-saloon", "It is not what it was")
    assert job.heard == ()
    assert "nothing of the complaint was understood" in job.problems[0]
    assert shop.store.current_findings(job.number) == ()
