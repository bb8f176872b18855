"""Rows of shift speeds: one figure for each change up, at the throttle that is said beside them."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from bellhousing.quantities.units import from_si
from bellhousing.words.model import FindingShape
from bellhousing.words.understand import understand
from bellhousing.words.vocabulary import Vocabulary

Shapes = Mapping[str, FindingShape]
FOUR = [
    ("light throttle 9, 17 and 24", {"light": (9, 17, 24)}),
    ("ups at 9, 17, 24 mph with a light foot", {"light": (9, 17, 24)}),
    ("upshifts 9/17/24 light, 16/27/37 half throttle", {"light": (9, 17, 24), "medium": (16, 27, 37)}),
    ("half throttle 16-27-37 and floored 20-34-64", {"medium": (16, 27, 37), "full": (20, 34, 64)}),
    ("changes come late: 13, 24 and 33 light throttle", {"light": (13, 24, 33)}),
    ("will not change up until 19 / 33 / 61 however gentle", {"light": (19, 33, 61)}),
    ("full throttle: nineteen, thirty two and sixty", {"full": (19, 32, 60)}),
    ("shift points on light throttle 14, 27 and 39 km/h", {"light": (8.7, 16.8, 24.2)}),
]
THREE = [
    ("light throttle changes at 12 and 20", {"light": (12, 20)}),
    ("upshifts 12/20 with a light foot, floored 44/72", {"light": (12, 20), "full": (44, 72)}),
]


def _speeds(text: str, findings: Shapes, vocabulary: Vocabulary) -> dict[str, tuple[float, ...]]:
    found: dict[str, tuple[float, ...]] = {}
    for item in understand(text, findings, vocabulary).found:
        if item.finding.startswith("upshift") and item.value is not None:
            throttle = item.finding.rsplit("-", 1)[1]
            found[throttle] = (*found.get(throttle, ()), float(from_si(item.value.value, "mph")))
    return found


@pytest.mark.parametrize(("text", "wanted"), FOUR, ids=lambda value: str(value)[:40])
def test_three_figures_are_the_three_changes_of_a_four_speed(
    text: str, wanted: dict[str, tuple[float, ...]], four_speed: Shapes, vocabulary: Vocabulary
) -> None:
    """Each figure belongs to its change, at the throttle said beside the row."""
    found = _speeds(text, four_speed, vocabulary)
    assert found.keys() == wanted.keys()
    for throttle, speeds in wanted.items():
        assert found[throttle] == pytest.approx(speeds, abs=0.1)


@pytest.mark.parametrize(("text", "wanted"), THREE, ids=lambda value: str(value)[:40])
def test_two_figures_are_the_two_changes_of_a_three_speed(
    text: str, wanted: dict[str, tuple[float, ...]], findings: Shapes, vocabulary: Vocabulary
) -> None:
    """A three-speed box changes up twice."""
    assert _speeds(text, findings, vocabulary) == {
        throttle: pytest.approx(speeds) for throttle, speeds in wanted.items()
    }


@pytest.mark.parametrize(
    "text",
    [
        "upshifts at 9, 17, 24 and 31", "upshifts at 24, 17 and 9", "upshifts at 9 and 17",
        "G1 at light throttle 9, 17 and 24 psi", "governor 9, 17, 24", "three quarter throttle 9, 17, 24",
        "no upshift at 9, 17, 24", "coasting down 9, 17, 24", "9, 17 and 24",
    ],
)  # fmt: skip
def test_what_is_no_row_of_shift_speeds_is_not_taken_for_one(
    text: str, four_speed: Shapes, vocabulary: Vocabulary
) -> None:
    """Too many or too few figures, falling ones, or figures of another thing give no three shift speeds."""
    found = _speeds(text, four_speed, vocabulary)
    assert all(len(speeds) < 3 for speeds in found.values())


def test_a_row_without_a_throttle_is_owned_up_to(four_speed: Shapes, vocabulary: Vocabulary) -> None:
    """Where no throttle is said, light is assumed and said so."""
    found = understand("upshifts at 9, 17 and 24", four_speed, vocabulary).found
    assert [item.finding for item in found] == [f"upshift-{step}-light" for step in ("12", "23", "34")]
    assert all(item.assumed == ("taken as light throttle", "taken as mph") for item in found)


def test_a_harsh_change_keeps_its_speed(findings: Shapes, vocabulary: Vocabulary) -> None:
    """How a change feels and at what speed it comes are two findings."""
    found = understand("1-2 late and harsh at 27 mph", findings, vocabulary).found
    assert {item.finding for item in found} == {"upshift-12-light", "shift-feel-12"}
    full = understand("full throttle 2-3 flares at 58 mph", findings, vocabulary).found
    assert {item.finding for item in full} == {"upshift-23-full", "shift-feel-23"}
