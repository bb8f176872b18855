"""The rule that says whether parts explain a reading, at its edges."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.road.explained import explained, explained_state

SOUND = 65.0 + 2.0 * np.random.default_rng(1).standard_normal(4000)


@pytest.mark.parametrize(
    ("value", "shift", "outcome"),
    [
        (65.0, 0.0, "nothing to explain"),  # a sound box shows it, and so does this one
        (40.0, -25.0, "explains it"),
        (40.0, -10.0, "explains part"),
        (40.0, -5.0, "does not"),  # a fifth of the way is less than a quarter
        (40.0, 0.0, "does not"),
        (40.0, +10.0, "does not"),  # the other way
        (40.0, -45.0, "does not"),  # these parts ask for more than was read
        (65.0, -25.0, "does not"),  # these parts should have been seen
    ],
)
def test_the_rule(value: float, shift: float, outcome: str) -> None:
    """One reading of 40 psi where 65 is sound, and parts that move it this far."""
    assert explained(value, 1.0, SOUND + shift, SOUND).outcome == outcome


def test_the_band_holds_the_reading_error_too() -> None:
    """A coarser reading widens the band."""
    fine = explained(40.0, 0.1, SOUND - 25.0, SOUND)
    coarse = explained(40.0, 5.0, SOUND - 25.0, SOUND)
    assert coarse.high - coarse.low > 2.0 * (fine.high - fine.low)
    assert fine.high - fine.low == pytest.approx(2 * 1.96 * 2.0, rel=0.08)


def test_never_is_explained_by_never() -> None:
    """Cars that never engage explain a reading of never, and sound ones do not."""
    never = np.full(4000, np.inf)
    assert explained(np.inf, 0.1, never, SOUND).outcome == "explains it"
    assert explained(np.inf, 0.1, SOUND, SOUND).outcome == "does not"
    assert explained(40.0, 0.1, never, SOUND).outcome == "does not"


@pytest.mark.parametrize(
    ("parts", "sound", "outcome"),
    [
        (0.9, 0.05, "explains it"),
        (0.3, 0.05, "explains part"),
        (0.12, 0.1, "does not"),
        (0.9, 0.8, "nothing to explain"),
        (0.1, 0.8, "does not"),
    ],
)
def test_states(parts: float, sound: float, outcome: str) -> None:
    """The chance of what was seen with these parts against sound ones."""
    assert explained_state(parts, sound) == outcome
