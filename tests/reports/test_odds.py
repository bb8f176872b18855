"""Probabilities and factors as they are worded."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bellhousing.quantities.odds import in_100
from bellhousing.reports.odds import bar_length, error_in_100, factor, factor_in_words, left_out


@pytest.mark.parametrize(
    ("probability", "text"),
    [(0.74, "74 in 100"), (1.0, "more than 99 in 100"), (0.0, "less than 1 in 100"), (0.01, "1 in 100")],
)
def test_odds_in_a_hundred(probability: float, text: str) -> None:
    """Never certain, never nothing."""
    assert in_100(probability) == text


@pytest.mark.parametrize(
    ("value", "text", "words"),
    [
        (9.0, "× 9", "makes it 9 times likelier"),
        (1.0 / 1.8, "÷ 1.8", "makes it 1.8 times less likely"),
        (1.62, "× 1.6", "makes it 1.6 times likelier"),
        (12.4, "× 12", "makes it 12 times likelier"),
        (1.02, "no change", "changes nothing"),
        (5e6, "× over 1000", "makes it over 1000 times likelier"),
        (0.0, "÷ over 1000", "makes it over 1000 times less likely"),
    ],
)
def test_factors_read_as_signs_and_as_words(value: float, text: str, words: str) -> None:
    """A factor for or against, by sign and in a sentence."""
    assert factor(value) == text
    assert factor_in_words(value) == words


def test_a_small_error_is_not_called_none() -> None:
    """Half in a hundred and more is rounded, less is said to be less."""
    assert error_in_100(0.74, 0.012) == "± 1"
    assert error_in_100(0.74, 0.0) == "± under 1"


@pytest.mark.parametrize(
    ("probability", "error", "text"),
    [
        (0.9999, 0.0001, "more than 99 in 100"),
        (0.9999, 0.01, "more than 97 in 100"),
        (1.0, 0.02, "more than 96 in 100"),
        (0.0001, 0.0001, "less than 1 in 100"),
        (0.0, 0.02, "less than 4 in 100"),
    ],
)
def test_at_the_ends_a_bound_stands_alone(probability: float, error: float, text: str) -> None:
    """No "more than 99 (± 1)": the error moves the bound and is not said again."""
    assert in_100(probability, error) == text
    assert error_in_100(probability, error) == ""


@given(st.floats(min_value=0.0, max_value=1e12))
def test_a_bar_stays_on_its_line_and_points_the_right_way(value: float) -> None:
    """For to the right, against to the left, never past the end."""
    length = bar_length(value)
    assert -1.0 <= length <= 1.0
    assert (length > 0.0) == (value > 1.0)


@given(st.floats(min_value=1e-3, max_value=1e3))
def test_a_factor_and_its_inverse_mirror_each_other(value: float) -> None:
    """The same strength for and against has the same length."""
    assert bar_length(value) == pytest.approx(-bar_length(1.0 / value), abs=1e-12)


def test_what_was_left_out() -> None:
    """Said from one in a hundred on, and not below."""
    assert left_out(0.004) == ""
    assert left_out(0.034) == "More causes at once than were counted: about 3 in 100."
