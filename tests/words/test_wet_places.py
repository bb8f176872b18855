"""Wet places and losses in plain words and in millimetres."""

from __future__ import annotations

import contextlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bellhousing.errors import BellhousingError, FindingError
from bellhousing.words.loss import MONTH, NIGHT, read_loss, read_use
from bellhousing.words.wet_places import PlaceName, is_measured_place, read_wet_place

PLACES = (
    PlaceName("front-face", ("front face",), 0.0, 0.0, None),
    PlaceName("pan-front", ("front of the pan",), 0.235, 0.0, 0.0),
    PlaceName("pan-gasket", ("pan gasket", "pan rail"), 0.235, 0.0, 0.0, 0.32),
    PlaceName("connector", ("electrical connector ring", "connector"), 0.44, -0.14, 0.018),
    PlaceName("bell", ("bottom of the bell", "bell"), 0.11, 0.0, -0.045),
)
PINT = 0.473176473e-3


@pytest.mark.parametrize(
    ("text", "kind", "along", "across", "height"),
    [
        ("spot 40 mm behind the front of the pan", "spot", 0.275, None, None),
        ("wet 1 1/2 in behind the connector", "wet", 0.4781, -0.14, 0.018),
        ("wet 2 inches in front of the connector", "wet", 0.3892, -0.14, 0.018),
        ("wet 380 mm from the front face and 20 mm above the pan rail", "wet", 0.38, None, 0.02),
        ("highest wet point 20 mm above the pan rail, left side", "top", None, -0.13, 0.02),
        ("damp 3 cm below the connector", "wet", 0.44, -0.14, -0.012),
        ("fluid 20 mm right of the connector", "wet", 0.44, -0.12, 0.018),
        ("dry 20 mm above the pan rail", "dry-above", None, None, 0.02),
        ("dry at the bell", "dry", 0.11, 0.0, -0.045),
        ("oil drips from the bell", "wet", 0.11, 0.0, -0.045),
        ("wet 10 mm behind the pan rail", "wet", 0.565, None, 0.0),
    ],
)
def test_a_place_is_read(
    text: str, kind: str, along: float | None, across: float | None, height: float | None
) -> None:
    """Kind and coordinates as meant; what was not said stays unknown."""
    found = read_wet_place(text, PLACES)
    assert found is not None
    assert found.kind == kind
    assert found.along == (None if along is None else pytest.approx(along, abs=1e-4))
    assert found.across == (None if across is None else pytest.approx(across, abs=1e-4))
    assert found.height == (None if height is None else pytest.approx(height, abs=1e-4))
    assert found.measured is is_measured_place(text)


@pytest.mark.parametrize(
    ("text", "when", "colour"),
    [
        ("wet at the connector, only parked", "parked-only", ""),
        ("the bell drips only when running", "running-only", ""),
        ("the bell drips parked and running", "both", ""),
        ("the bell drips, but not when parked", "running-only", ""),
        ("brown oil at the bell", "", "brown"),
        ("red fluid at the bell overnight", "parked", "red"),
        ("wet at the bell when hot", "hot", ""),
        ("wet at the bell only when driven", "driving-only", ""),
    ],
)
def test_state_and_colour_are_read(text: str, when: str, colour: str) -> None:
    """When it drips, and what colour it is."""
    found = read_wet_place(text, PLACES)
    assert found is not None
    assert (found.when, found.colour) == (when, colour)


@pytest.mark.parametrize(
    "text",
    [
        "2-3 at 26 mph light throttle",
        "line pressure idle D 62 psi hot",
        "wet seats",
        "the left door crackles",
    ],
)
def test_other_lines_tell_of_no_place(text: str) -> None:
    """Neither a place nor measured like one."""
    assert read_wet_place(text, PLACES) is None
    assert not is_measured_place(text)


def test_a_length_from_nowhere_is_refused() -> None:
    """Measured from a place the box does not name: the answer lists those it does."""
    with pytest.raises(FindingError, match="measure from front face, front of the pan"):
        read_wet_place("wet 20 mm behind the ashtray", PLACES)


@pytest.mark.parametrize(
    ("text", "kind", "amount", "seconds", "metres"),
    [
        ("6 drops a minute parked", "drops", 0.1, 60.0, 0.0),
        ("a drop every 20 seconds", "drops", 0.05, 20.0, 0.0),
        ("twenty drops overnight", "drops", 20 / NIGHT, NIGHT, 0.0),
        ("4 drips per hour", "drops", 4 / 3600, 3600.0, 0.0),
        ("card spot 60 mm across after a night", "spot", 0.06, NIGHT, 0.0),
        ("spot is 2 in wide after two nights", "spot", 0.0508, 2 * NIGHT, 0.0),
        ("lost half a pint in 300 miles", "volume", PINT / 2, 0.0, 300 * 1609.344),
        ("uses a pint a month", "volume", PINT, MONTH, 0.0),
        ("topped up 1/4 pint every two weeks", "volume", PINT / 4, 14 * 86400.0, 0.0),
    ],
)
def test_a_loss_is_read(text: str, kind: str, amount: float, seconds: float, metres: float) -> None:
    """Drops a second, a diameter, or a volume over a time or a distance."""
    found = read_loss(text)
    assert found is not None
    assert found.kind == kind
    assert found.amount == pytest.approx(amount, rel=1e-4)
    assert found.seconds == pytest.approx(seconds)
    assert found.metres == pytest.approx(metres)


def test_use_and_level_are_read() -> None:
    """Miles and hours by the month, the level by its mark or by what is missing."""
    driven, hours, low = (
        read_use(text)
        for text in ("driven 30 miles a week", "runs 10 hours a month", "level half a pint low")
    )
    assert driven is not None
    assert driven.metres == pytest.approx(30 * 1609.344 * 365.25 / 84)
    assert hours is not None
    assert hours.running == pytest.approx(36_000)
    assert low is not None
    assert low.low == pytest.approx(PINT / 2)
    marks = {"level at FULL": 1.0, "level at ADD": 0.0, "level half way": 0.5}
    for text, share in marks.items():
        found = read_use(text)
        assert found is not None
        assert found.level == share
    assert read_use("line pressure 62 psi") is None


@pytest.mark.parametrize("text", ["0 drops a minute", "a drop every 0 seconds", "lost 1/0 pint in a week"])
def test_noughts_do_no_harm(text: str) -> None:
    """Nothing counted is a loss of nothing or no loss told, never a division by nought."""
    found = read_loss(text)
    assert found is None or found.amount >= 0.0


SOME = (
    "wet dry spot 40 1/0 mm in behind above the connector bell a drops every 0 seconds night lost pint miles "
    "level per - ;"
)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.sampled_from(SOME.split()), max_size=14))
def test_any_words_are_read_or_refused(words: list[str]) -> None:
    """Whatever is strung together is a place, a loss, neither, or refused in words."""
    text = " ".join(words)
    with contextlib.suppress(BellhousingError):
        read_wet_place(text, PLACES)
    with contextlib.suppress(BellhousingError):
        read_loss(text)
    with contextlib.suppress(BellhousingError):
        read_use(text)
