"""Figures that cannot be used: refused by name or shown as not read, and never dropped or turned round."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping

import pytest

from bellhousing.errors import CatalogueError, QuantityError
from bellhousing.words.model import FindingShape
from bellhousing.words.understand import understand
from bellhousing.words.vocabulary import Vocabulary, made_of

Shapes = Mapping[str, FindingShape]


@pytest.mark.parametrize(
    ("text", "finding"),
    [
        ("line pressure minus 3 psi", "line-drive-idle"),
        ("line pressure -3 psi", "line-drive-idle"),
        ("line pressure −0.2 bar", "line-drive-idle"),
        ("governor -3 psi at 10 mph", "governor-10"),
        ("stall -2000 rpm", "stall-drive"),
        ("idle -650 rpm", "idle-speed"),
        ("end play -0.02", "input-end-play"),
        ("engagement -1 s", "engagement-drive-hot"),
    ],
)
def test_a_reading_below_zero_is_refused_by_name(
    text: str, finding: str, findings: Shapes, vocabulary: Vocabulary
) -> None:
    """No pressure, speed, length or time is below zero, and none is read as if the minus were not there."""
    with pytest.raises(QuantityError, match="below zero") as refused:
        understand(text, findings, vocabulary)
    assert refused.value.where == findings[finding].name
    assert refused.value.remedy


def test_a_minus_on_a_vacuum_gauge_is_owned_up_to(findings: Shapes, vocabulary: Vocabulary) -> None:
    """A vacuum gauge counts down from nought: -17 inHg is 17 inHg of vacuum, and that is said."""
    (item,) = understand("engine vacuum -17 inHg", findings, vocabulary).found
    assert "a minus on a vacuum gauge taken as vacuum" in item.assumed
    (plain,) = understand("engine vacuum 17 inHg", findings, vocabulary).found
    assert plain.value is not None
    assert item.value is not None
    assert item.value.value == plain.value.value
    assert "a minus on a vacuum gauge taken as vacuum" not in plain.assumed
    (cold,) = understand("sump minus 5 degrees C", findings, vocabulary).found
    assert cold.assumed == ()


@pytest.mark.parametrize("text", ["minus 3 psi", "-17 inHg"])
def test_a_bare_negative_stays_a_note_with_its_sign(
    text: str, findings: Shapes, vocabulary: Vocabulary
) -> None:
    """What belongs to no finding is kept as it was written, the minus too."""
    read = understand(text, findings, vocabulary)
    assert read.found == ()
    assert [note.text for note in read.notes] == [text]


@pytest.mark.parametrize(
    "text",
    [
        "shifts late at 99999 mph",
        "1-2 at 99999 mph",
        "slips in third at 500 mph",
        "governor 5 psi at -10 mph",
        "slips in third at 40000 rpm",
    ],
)
def test_a_condition_no_car_has_is_refused(text: str, findings: Shapes, vocabulary: Vocabulary) -> None:
    """A speed beyond every car is an error that quotes it, not a figure left out."""
    with pytest.raises(QuantityError, match="impossible") as refused:
        understand(text, findings, vocabulary)
    assert refused.value.where


@pytest.mark.parametrize(
    ("text", "left"),
    [("shifts late at 30 mph", "30 mph"), ("2-3 never, even at 60 mph", "60 mph")],
)
def test_a_figure_that_could_be_the_reading_is_shown_where_it_is_not_used(
    text: str, left: str, findings: Shapes, vocabulary: Vocabulary
) -> None:
    """Where words answer for a reading, a figure of its kind that was not taken stays as a note."""
    read = understand(text, findings, vocabulary)
    assert {item.word for item in read.found if item.finding.startswith("upshift")} <= {"late", "never"}
    assert left in [note.text for note in read.notes]


@pytest.mark.parametrize("text", ["vacuum 62 psi at idle", "vacuum 400 kPa at idle", "manifold vacuum 4 bar"])
def test_a_vacuum_deeper_than_the_atmosphere_is_refused(
    text: str, findings: Shapes, vocabulary: Vocabulary
) -> None:
    """What is said to be a vacuum is never taken for line pressure, even where only that could be."""
    with pytest.raises(QuantityError, match="impossible") as refused:
        understand(text, findings, vocabulary)
    assert refused.value.where == findings["manifold-vacuum-idle"].name


@pytest.mark.parametrize(
    "text",
    [
        "comes up with revs", "noise comes up with revs", "vacuum recovers with revs", "fine at 1000 rpm",
        "manifold pressure 30 kPa", "D 62", "weak to 60 mph", "better with revs",
    ],
)  # fmt: skip
def test_what_has_no_subject_is_not_given_one(text: str, findings: Shapes, vocabulary: Vocabulary) -> None:
    """Where nothing says whose figure or word it is, it stays a note."""
    assert understand(text, findings, vocabulary).found == ()


def test_hot_over_cold_is_refused_where_it_cannot_be(findings: Shapes, vocabulary: Vocabulary) -> None:
    """Two figures whose share is beyond the finding name it."""
    with pytest.raises(QuantityError) as refused:
        understand("60 psi cold, 0.4 psi hot", findings, vocabulary)
    assert refused.value.where == findings["line-hot-against-cold"].name
    with pytest.raises(QuantityError, match="share of nothing"):
        understand("line pressure 0 psi cold, 40 psi hot", findings, vocabulary)


def test_the_two_figures_are_named(findings: Shapes, vocabulary: Vocabulary) -> None:
    """What was taken as hot and as cold is said with the share."""
    share = next(
        item
        for item in understand("60 psi but drops to 40 when hot", findings, vocabulary).found
        if item.finding == "line-hot-against-cold"
    )
    assert share.assumed == ("40 hot, 60 psi cold",)


def test_a_phrase_that_gives_nothing_is_refused() -> None:
    """An entry of several findings must say what it gives."""
    with pytest.raises(CatalogueError, match="wanted"):
        made_of({"bare.yaml": "together: [{gives: [{finding: a}], phrases: [b]}]"})


@pytest.mark.parametrize(
    "text", ["box=1e-320+1: box-a", "front end play 1e-320- line pressure in D at idle 62 psi"]
)
def test_a_small_power_of_ten_is_no_range(text: str, findings: Shapes, vocabulary: Vocabulary) -> None:
    """The minus belongs to the exponent: the line is answered, or refused in words."""
    with contextlib.suppress(QuantityError):
        understand(text, findings, vocabulary)
