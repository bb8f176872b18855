"""What is said range by range: the denial of one range is not that of the range beside it."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from bellhousing.words.model import FindingShape
from bellhousing.words.understand import understand
from bellhousing.words.vocabulary import Vocabulary

Shapes = Mapping[str, FindingShape]
RANGES = [
    ("no drive in reverse, forward fine", "no-reverse"),
    ("forward ok reverse dead", "no-reverse"),
    ("drives forward but not back", "no-reverse"),
    ("it'll drive forwards all day long but it won't go backwards", "no-reverse"),
    ("everything works except reverse", "no-reverse"),
    ("drives fine in all ranges but reverse", "no-reverse"),
    ("fwd ok, no rev", "no-reverse"),
    ("reverse fine, forward dead", "no-drive-forward"),
    ("drives only in reverse", "no-drive-forward"),
    ("the only gear that works is reverse", "no-drive-forward"),
    ("no gears except reverse", "no-drive-forward"),
    ("it drives in reverse but not in drive or low", "no-drive-forward"),
    ("rev ok, no D, L pulls", "no-drive-but-low-drives"),
    ("no drive in D but fine in L and R", "no-drive-but-low-drives"),
    ("reverse is perfect but it refuses to go forwards", "no-drive-forward"),
    ("won't move at all, forwards or back", "nothing-drives"),
    ("neither drive nor reverse works", "nothing-drives"),
]
SLIPS = [
    ("slips in 1 and 3", {"first": "slips", "third": "slips"}),
    ("slips 1 & 3", {"first": "slips", "third": "slips"}),
    ("no slip in first, slips in second", {"first": "none", "second": "slips"}),
    ("all gears but second", {"second": "slips"}),
    ("no drive in second, rest fine", {"second": "slips"}),
    ("no second, first and third fine", {"first": "none", "second": "slips", "third": "none"}),
    ("slips in third, reverse holds", {"third": "slips", "reverse": "none"}),
    ("reverse slips, third doesn't", {"third": "none", "reverse": "slips"}),
    ("only slips in reverse", {"reverse": "slips"}),
    ("slips in second no", {"second": "none"}),
    ("Slips in first? No. Slips in second: yes", {"first": "none", "second": "slips"}),
    ("slips in first, no, second, yes", {"first": "none", "second": "slips"}),
    ("slips in first no second yes", {"first": "none", "second": "slips"}),
]
FOUR = [
    ("slips in 2 & 4", {"second": "slips", "fourth": "slips"}),
    ("slips in first and third under load, second and fourth fine",
     {"first": "slips", "second": "none", "third": "slips", "fourth": "none"}),
    ("it lets go of second and fourth but first and third hold",
     {"first": "none", "second": "slips", "third": "none", "fourth": "slips"}),
]  # fmt: skip


def _states(text: str, findings: Shapes, vocabulary: Vocabulary) -> dict[str, str]:
    reading = understand(text, findings, vocabulary)
    assert not reading.notes
    return {item.finding: "|".join(item.states) or str(item.word) for item in reading.found}


@pytest.mark.parametrize(("text", "state"), RANGES)
def test_only_the_range_that_is_denied_is_dead(
    text: str, state: str, findings: Shapes, four_speed: Shapes, vocabulary: Vocabulary
) -> None:
    """Both kinds of box: the dead range is told from those that are said to be right."""
    assert _states(text, findings, vocabulary) == {"dead-ranges": state}
    assert _states(text, four_speed, vocabulary) == {"dead-ranges": state}


@pytest.mark.parametrize(("text", "gears"), SLIPS)
def test_each_gear_named_gets_its_own_answer(
    text: str, gears: Mapping[str, str], findings: Shapes, four_speed: Shapes, vocabulary: Vocabulary
) -> None:
    """Gears in figures and in words, and a gear that is not there."""
    wanted = {f"slip-{gear}": state for gear, state in gears.items()}
    assert _states(text, findings, vocabulary) == wanted
    assert _states(text, four_speed, vocabulary) == wanted


@pytest.mark.parametrize(("text", "gears"), FOUR)
def test_four_gears_are_told_apart(
    text: str, gears: Mapping[str, str], four_speed: Shapes, vocabulary: Vocabulary
) -> None:
    """Pairs of gears, and what is right beside them."""
    wanted = {f"slip-{gear}": state for gear, state in gears.items()}
    assert _states(text, four_speed, vocabulary) == wanted


@pytest.mark.parametrize(
    ("text", "state"),
    [("88 in 1st, 62 in 4th", "lower"), ("line 88 psi in first and 84 psi in fourth", "even"),
     ("6 bar in first, 4 bar in top", "lower")],
)  # fmt: skip
def test_line_pressure_in_two_gears_is_compared(
    text: str, state: str, four_speed: Shapes, vocabulary: Vocabulary
) -> None:
    """By more than the plan explains, or not; what was taken for granted is said."""
    (found,) = understand(text, four_speed, vocabulary).found
    assert (found.finding, found.states) == ("line-top-below-first", (state,))
    assert "taken as at one engine speed" in found.assumed


@pytest.mark.parametrize("text", ["slips 2-3", "slips 2/3"])
def test_a_change_of_gear_is_not_two_gears(text: str, findings: Shapes, vocabulary: Vocabulary) -> None:
    """A slip between two gears is of the change."""
    assert _states(text, findings, vocabulary) == {"shift-feel-23": "slides-or-flares"}


def test_what_stands_beside_is_still_read(findings: Shapes, vocabulary: Vocabulary) -> None:
    """A statement of ranges in the middle of a line takes nothing from its neighbours."""
    said = _states("fluid brown, no reverse, forward fine, hose dry", findings, vocabulary)
    assert said == {
        "fluid-condition": "brown", "dead-ranges": "no-reverse", "fluid-in-modulator-hose": "dry",
    }  # fmt: skip
