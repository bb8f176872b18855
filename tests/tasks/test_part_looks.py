"""What a part looks like off the car counts among the causes, where its words are known."""

from __future__ import annotations

import pytest

from bellhousing.errors import RecordError
from bellhousing.tasks import opening
from bellhousing.tasks.part_looks import look_at_part
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.work_book import read_book


def test_burnt_plates_are_a_finding_and_stand_in_the_ledger_once(shop: Shop, job: int) -> None:
    """Sent twice under one key; the answer tells what was understood."""
    for _ in range(2):
        told = look_at_part(
            shop, job, "direct-pack", "burnt, steels blue", "replace", number="0.055 in", key="a"
        )
    assert "counts among the causes: Direct clutch plates: burnt" in told.said
    (found,) = (entry for entry in shop.store.current_findings(job) if entry.finding == "direct-plates")
    assert found.states == ("burnt",)
    assert [entry.kind for entry in read_book(shop, job).entries] == ["part-finding"]


@pytest.mark.parametrize(("part", "condition"), [
    ("pan", "dented at the drain"),
    # Of the fluid and its level, which nobody judges on a part in the hand.
    ("modulator", "diaphragm torn, fluid inside"),
])  # fmt: skip
def test_words_the_causes_do_not_know_stay_in_the_ledger(
    shop: Shop, job: int, part: str, condition: str
) -> None:
    """And the answer says so."""
    told = look_at_part(shop, job, part, condition, "replace", reason="no good")
    assert "do not know these words" in told.said
    assert [entry for entry in shop.store.current_findings(job) if entry.said != "Shifts late"] == []
    (entry,) = read_book(shop, job).entries
    assert entry.data["condition"] == condition


def test_a_closed_job_takes_neither(shop: Shop, job: int) -> None:
    """Refused before anything is written."""
    opening.close_job(shop, job, "sold")
    with pytest.raises(RecordError, match="closed"):
        look_at_part(shop, job, "direct-pack", "burnt", "replace", reason="burnt")
    assert read_book(shop, job).entries == ()
