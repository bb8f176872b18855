"""Noting: what is understood counts, what is not is kept and says so, nothing is lost or overwritten."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from bellhousing.errors import FindingError, RecordError
from bellhousing.tasks import noting, opening
from bellhousing.tasks.answers import NoteAnswer
from bellhousing.tasks.shop import Shop


def test_an_understood_finding_is_kept_in_its_own_unit(shop: Shop, job: int) -> None:
    """The figure comes back as typed, with the sentence verbatim."""
    noted = noting.note(shop, job, "line pressure idle D 62 psi hot")
    (entry,) = noted.findings
    assert noted.problems == ()
    assert (entry.finding, entry.value, entry.unit) == ("line-drive-idle", 62.0, "psi")
    (kept,) = noting.heard_on_job(shop, job)
    assert kept.answer.said == "line pressure idle D 62 psi hot"
    assert (kept.answer.finding, kept.answer.value, kept.answer.unit) == ("line-drive-idle", 62.0, "psi")
    assert kept.answer.number == entry.number


def test_unknown_words_are_kept_as_a_note_and_say_so(shop: Shop, job: int) -> None:
    """Verbatim, without a finding."""
    noted = noting.note(shop, job, "the left door speaker crackles")
    assert noted.problems
    (kept,) = noting.heard_on_job(shop, job)
    assert kept.evidence is None
    assert kept.answer.said == "the left door speaker crackles"
    assert kept.answer.note


@pytest.mark.parametrize("text", ["manifold vacuum 40 inHg", "line pressure idle D -3 psi"])
def test_an_impossible_value_is_refused_and_kept_as_a_note(shop: Shop, job: int, text: str) -> None:
    """The reason stands beside it and it takes no part in the ranking."""
    noted = noting.note(shop, job, text)
    assert noted.problems
    (kept,) = noting.heard_on_job(shop, job)
    assert kept.evidence is None
    assert kept.answer.said == text
    assert kept.answer.note != "not understood"


def test_where_one_part_is_refused_the_others_are_kept(shop: Shop, job: int) -> None:
    """Nothing of a line is lost because of one bad figure in it."""
    noted = noting.note(shop, job, "blue smoke when pulling away; manifold vacuum 40 inHg")
    assert "blue-smoke" in [entry.finding for entry in noted.findings]
    assert len(noted.problems) == 1
    heard = noting.heard_on_job(shop, job)
    assert any(entry.answer.note and "40" in entry.answer.said for entry in heard)


@pytest.mark.parametrize("text", ["", "   ", "\n\t"])
def test_an_empty_note_is_refused(shop: Shop, job: int, text: str) -> None:
    """Nothing is kept, because nothing was said."""
    with pytest.raises(FindingError, match="empty"):
        noting.note(shop, job, text)
    assert noting.heard_on_job(shop, job) == ()


def test_a_note_on_a_missing_job_is_refused(shop: Shop) -> None:
    """By its number."""
    with pytest.raises(RecordError):
        noting.note(shop, 99, "blue smoke when pulling away")


def test_a_correction_replaces_and_the_book_keeps_both(shop: Shop, job: int) -> None:
    """The old entry stays in the records."""
    first = noting.note(shop, job, "line pressure idle D 62 psi").findings[0].number
    assert first is not None
    noting.correct(shop, job, first, "line pressure idle D 128 psi")
    (kept,) = noting.heard_on_job(shop, job)
    assert kept.answer.value == 128.0
    assert [entry.value_si is not None for entry in shop.store.findings(job)] == [True, True]
    with pytest.raises(RecordError):
        noting.correct(shop, job, first, "line pressure idle D 70 psi")


def test_a_withdrawn_finding_counts_no_more(shop: Shop, job: int) -> None:
    """It stays in the book."""
    number = noting.note(shop, job, "blue smoke when pulling away").findings[0].number
    assert number is not None
    answer = noting.withdraw(shop, job, number, "wrong car")
    assert answer.withdrawn is not None
    assert (answer.withdrawn.number, answer.withdrawn.finding) == (number, "blue-smoke")
    assert noting.heard_on_job(shop, job) == ()
    assert [entry.said for entry in shop.store.findings(job)] == ["blue smoke when pulling away", "wrong car"]


@pytest.mark.parametrize("reason", ["", "  \n"])
def test_a_withdrawal_needs_a_reason(shop: Shop, job: int, reason: str) -> None:
    """Without one the entry stands."""
    number = noting.note(shop, job, "blue smoke when pulling away").findings[0].number
    assert number is not None
    with pytest.raises(FindingError, match="say why"):
        noting.withdraw(shop, job, number, reason)
    assert len(noting.heard_on_job(shop, job)) == 1


def test_nothing_is_written_on_a_closed_job(shop: Shop, job: int) -> None:
    """Not a note, an answer, a correction or a withdrawal; opened again, it takes them."""
    number = noting.note(shop, job, "blue smoke when pulling away").findings[0].number
    assert number is not None
    opening.close_job(shop, job, "hose replaced")
    writes: tuple[Callable[[], NoteAnswer], ...] = (
        lambda: noting.note(shop, job, "line pressure idle D 62 psi"),
        lambda: noting.correct(shop, job, number, "no smoke"),
        lambda: noting.withdraw(shop, job, number, "wrong car"),
        lambda: noting.take_instead(shop, job, number, "blue-smoke", states=["puff"]),
        lambda: noting.answer_question(shop, job, "complaint-gear", "third"),
    )
    for write in writes:
        with pytest.raises(RecordError, match=r"is closed.*open it again"):
            write()
    assert len(shop.store.findings(job)) == 1
    assert noting.preview(shop, job, "no smoke").findings
    opening.reopen_job(shop, job, "came back")
    noting.note(shop, job, "line pressure idle D 62 psi")
    assert len(noting.heard_on_job(shop, job)) == 2


def test_an_entry_of_another_job_is_not_touched(shop: Shop, job: int) -> None:
    """Correcting and withdrawing ask for the right job."""
    other = opening.open_job(shop, "grey-saloon", "again").number
    number = noting.note(shop, other, "blue smoke when pulling away").findings[0].number
    assert number is not None
    with pytest.raises(RecordError):
        noting.withdraw(shop, job, number, "wrong job")
    with pytest.raises(RecordError):
        noting.correct(shop, job, number, "no smoke")


def test_the_same_note_sent_twice_is_kept_once(shop: Shop, job: int) -> None:
    """A dropped connection does not double a finding."""
    for _ in range(2):
        noting.note(shop, job, "blue smoke when pulling away", key="tablet-1")
    assert len(noting.heard_on_job(shop, job)) == 1


def test_a_preview_keeps_nothing(shop: Shop, job: int) -> None:
    """It only shows what would be understood."""
    shown = noting.preview(shop, job, "line pressure idle D 62 psi hot")
    assert shown.findings[0].finding == "line-drive-idle"
    assert noting.heard_on_job(shop, job) == ()


def test_another_meaning_can_be_taken_instead(shop: Shop, job: int) -> None:
    """The words and the figure stay, the finding changes."""
    number = noting.note(shop, job, "line pressure idle D 62 psi").findings[0].number
    assert number is not None
    noting.take_instead(shop, job, number, "line-neutral-idle")
    (kept,) = noting.heard_on_job(shop, job)
    assert (kept.answer.finding, kept.answer.value) == ("line-neutral-idle", 62.0)
    assert kept.answer.said == "line pressure idle D 62 psi"


def test_a_figure_is_not_taken_for_another_kind_of_thing(shop: Shop, job: int) -> None:
    """A pressure is no road speed."""
    number = noting.note(shop, job, "line pressure idle D 62 psi").findings[0].number
    assert number is not None
    with pytest.raises(FindingError):
        noting.take_instead(shop, job, number, "upshift-23-light")


def test_the_interview_is_a_handful_of_questions_each_a_finding(shop: Shop, job: int) -> None:
    """An answer is kept as a finding; answering again corrects it."""
    asked = noting.interview(shop, job)
    assert 5 <= len(asked) <= 10
    assert all(question.given is None for question in asked)
    gear = next(question for question in asked if question.finding == "complaint-gear")
    first, second = gear.choices[1].answer, gear.choices[2].answer
    noting.answer_question(shop, job, "complaint-gear", first)
    noting.answer_question(shop, job, "complaint-gear", second)
    noting.answer_question(shop, job, "complaint-gear", second)
    (kept,) = noting.heard_on_job(shop, job)
    assert kept.evidence is not None
    assert kept.evidence.states == (second,)
    assert len(shop.store.findings(job)) == 2
    given = {question.finding: question.given for question in noting.interview(shop, job)}
    assert given["complaint-gear"] == second


@pytest.mark.parametrize(
    ("question", "choice"), [("complaint-gear", "ninth"), ("blue-smoke", "puff"), ("", "")]
)
def test_an_answer_that_is_not_offered_is_refused(shop: Shop, job: int, question: str, choice: str) -> None:
    """Naming what is."""
    with pytest.raises(FindingError):
        noting.answer_question(shop, job, question, choice)
