"""Ranking a job: the answer, the verdict kept with it, the sheet and the shift map."""

from __future__ import annotations

from pathlib import Path

import pytest

from bellhousing.errors import FindingError, RecordError
from bellhousing.tasks import noting, ranked_jobs
from bellhousing.tasks.shop import Shop, open_shop

TORN = (
    "blue smoke when pulling away after idling",
    "loses fluid but never a spot on the floor",
    "2-3 at 64 mph light throttle",
    "manifold vacuum 18 inHg",
)


def note_all(shop: Shop, job: int, *lines: str) -> None:
    """Note several lines."""
    for line in lines:
        noting.note(shop, job, line)


def test_a_torn_diaphragm_comes_first_and_says_why(shop: Shop, job: int) -> None:
    """With what each finding did to its odds."""
    note_all(shop, job, *TORN)
    answer = ranked_jobs.causes_of_job(shop, job)
    assert answer.causes[0].cause == "modulator-diaphragm-torn"
    assert max(item.factor for item in answer.causes[0].why if item.finding == "blue-smoke") > 1.0
    assert answer.box == "box-a"
    assert all(0.0 <= cause.probability <= 1.0 for cause in answer.causes)
    probabilities = [cause.probability for cause in answer.causes]
    assert probabilities == sorted(probabilities, reverse=True)
    assert "sound" in [cause.cause for cause in answer.causes]


def test_a_reading_stands_on_its_limit_line(shop: Shop, job: int) -> None:
    """In the unit as entered, with the source of the window and the verdict in words."""
    noting.note(shop, job, "line pressure idle D 128 psi hot")
    (entry,) = ranked_jobs.causes_of_job(shop, job).findings
    assert entry.limit is not None
    assert entry.limit.unit == "psi"
    assert 40.0 < entry.limit.low < entry.limit.high < 100.0
    assert entry.limit.inside < 0.05
    assert entry.limit.source


def test_each_verdict_is_kept_once_with_what_it_came_from(shop: Shop, job: int) -> None:
    """Findings, seed and box digest; asking again without news keeps nothing new."""
    note_all(shop, job, *TORN)
    answer = ranked_jobs.causes_of_job(shop, job)
    ranked_jobs.causes_of_job(shop, job)
    (verdict,) = shop.store.verdicts(job)
    assert verdict.box_digest == answer.box_digest == shop.box("A").digest
    assert verdict.seed == answer.seed
    assert sorted(verdict.findings) == sorted(entry.number or 0 for entry in answer.findings)
    assert verdict.causes[0]["cause"] == answer.causes[0].cause
    noting.note(shop, job, "no fluid in the hose")
    ranked_jobs.causes_of_job(shop, job)
    assert len(shop.store.verdicts(job)) == 2


def test_the_answer_is_the_same_bit_for_bit(shop: Shop, job: int, prepared_folder: Path) -> None:
    """Same findings, same seed, same answer, worked out anew in a shop opened again."""
    note_all(shop, job, *TORN)
    with open_shop(shop.folder, cache=prepared_folder) as again:
        assert ranked_jobs.causes_of_job(again, job) == ranked_jobs.causes_of_job(shop, job)


def test_of_two_readings_of_one_thing_the_last_counts(shop: Shop, job: int) -> None:
    """Both are shown, and which one counts."""
    note_all(shop, job, "line pressure idle D 128 psi hot", "line pressure idle D 66 psi hot")
    answer = ranked_jobs.causes_of_job(shop, job)
    assert [(entry.value, entry.counts) for entry in answer.findings] == [(128.0, False), (66.0, True)]
    assert {item.shown for cause in answer.causes for item in cause.why} == {"66 psi"}


def test_notes_take_no_part_but_are_shown(shop: Shop, job: int) -> None:
    """What was not understood is among the findings and the notes, never among the reasons."""
    note_all(shop, job, *TORN)
    before = ranked_jobs.causes_of_job(shop, job)
    noting.note(shop, job, "the left door speaker crackles")
    after = ranked_jobs.causes_of_job(shop, job)
    assert after.causes == before.causes
    assert after.notes == ("the left door speaker crackles",)


def test_an_empty_job_has_an_answer_and_something_to_do(shop: Shop, job: int) -> None:
    """Nothing noted: the priors, and the first tests."""
    answer = ranked_jobs.causes_of_job(shop, job)
    assert answer.findings == ()
    assert answer.next
    assert answer.not_looked_at


def test_a_forbidden_test_is_never_among_the_next(shop: Shop, job: int) -> None:
    """Doubtful brakes forbid what needs them, and each says why."""
    noting.note(shop, job, "brakes doubtful")
    answer = ranked_jobs.next_of_job(shop, job)
    forbidden = {entry.finding for entry in answer.forbidden}
    assert forbidden
    assert forbidden.isdisjoint(entry.finding for entry in answer.next)
    assert all(entry.why for entry in answer.forbidden)


def test_the_sheet_holds_the_whole_job(shop: Shop, job: int) -> None:
    """Car, complaint, questions and answer."""
    note_all(shop, job, *TORN)
    sheet = ranked_jobs.job_sheet(shop, job)
    assert sheet.job.number == job
    assert sheet.job.leading == sheet.answer.causes[0].name
    assert sheet.interview
    assert len(sheet.answer.findings) >= 4


def test_the_shift_map_shows_predicted_and_driven(shop: Shop, job: int) -> None:
    """The 2–3 at light throttle lies above a sound car's band and is marked as driven."""
    noting.note(shop, job, "2-3 at 64 mph light throttle")
    shown = ranked_jobs.shift_map_of_job(shop, job)
    (point,) = shown.driven
    assert (point.shift, point.speed) == ("2-3", 64.0)
    curve = next(band for band in shown.curves if band.shift == "2-3")
    place = min(range(len(shown.vacuum)), key=lambda index: abs(shown.vacuum[index] - point.vacuum))
    top = curve.high[place]
    assert top is not None
    assert top < 64.0
    ill = ranked_jobs.shift_map_of_job(shop, job, "modulator-diaphragm-torn")
    assert ill.fault_name
    assert ill.curves != shown.curves


def test_what_is_not_there_is_refused(shop: Shop, job: int) -> None:
    """A job and a fault by name."""
    with pytest.raises(RecordError):
        ranked_jobs.causes_of_job(shop, 99)
    with pytest.raises(FindingError, match="modulator-diaphragm-torn"):
        ranked_jobs.shift_map_of_job(shop, job, "modulator-diaphragm-tron")
