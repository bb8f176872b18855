"""Adjustments in plain words."""

from __future__ import annotations

import pytest

from bellhousing.words.turns import Turned, read_turn


@pytest.mark.parametrize(
    ("text", "amount"),
    [
        ("modulator screw in 1 turn", 1.0),
        ("screw turned out one and a half turns", -1.5),
        ("Screw in a turn and a half", 1.5),
        ("screw half a turn in", 0.5),
        ("screw a quarter turn out", -0.25),
        ("screw in 1 1/2 turns", 1.5),
        ("screw clockwise three quarters of a turn", 0.75),
        ("screw 2 turns anti-clockwise", -2.0),
        ("screw in 1,5 turns", 1.5),
        ("screw in two and three quarter turns", 2.75),
    ],
)
def test_turns_of_the_screw(text: str, amount: float) -> None:
    """Whole, broken and spoken turns, in positive and out negative."""
    assert read_turn(text) == Turned("screw", amount)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("rod 1/16 in longer", 0.0015875),
        ("TV rod lengthened 2 mm", 0.002),
        ("linkage rod shortened 0.5 mm", -0.0005),
    ],
)
def test_changes_of_the_rod(text: str, metres: float) -> None:
    """A length and which way, longer positive."""
    found = read_turn(text)
    assert found is not None
    assert found.thing == "rod"
    assert found.amount == pytest.approx(metres)


@pytest.mark.parametrize(
    "text",
    [
        "screw in",
        "screw turned 2 turns",
        "set screw stripped",
        "screw in 900 turns",
        "screw in 1/0 turn",
        "rod 5 m longer",
        "2-3 late",
        "screw turned in 1 turn and out 1 turn",
        "rod bent 2 mm",
    ],
)
def test_what_tells_no_adjustment(text: str) -> None:
    """Without a way, an amount, or with one nobody makes, it is no adjustment."""
    assert read_turn(text) is None
