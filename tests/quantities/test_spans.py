"""Finding figures in a sentence."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bellhousing.quantities.parse import find_quantity, parse_measured
from bellhousing.quantities.units import to_si


@pytest.mark.parametrize(
    ("sentence", "expected"),
    [
        ("line pressure idle D 128 psi hot", [("128 psi", "128", "psi")]),
        ("2-3 at 64 mph light throttle", [("2-3", "2-3", None), ("64 mph", "64", "mph")]),
        ("front end play 0.021 in", [("0.021 in", "0.021", "in")]),
        ("play .021 in front", [(".021 in", ".021", "in")]),
        ("17½″ of vacuum, hot.", [("17½″ of vacuum", "17½", "inHg")]),
        ("it was 62 psi.", [("62 psi", "62", "psi")]),
        ("slips in 2 in the cold", [("2", "2", None)]),
        ("fluid 1 in below the mark", [("1 in", "1", "in")]),
        ("delay 1.2 s into R", [("1.2 s", "1.2", "s")]),
        ("2 a day", [("2", "2", None)]),
        ("0.010–0.035 in, not 31 thou", [("0.010–0.035 in", "0.010–0.035", "in"), ("31 thou", "31", "thou")]),
        ("−5 °C at the start", [("−5 °C", "−5", "degC")]),
        ("torque 18 lb ft on the pan", [("18 lb ft", "18", "lb ft")]),
        ("1-1/2 turns", [("1-1/2 turns", "1-1/2", "turn")]),
        ("the box-a1 of lot 7b", []),
        ("no figure here", []),
        ("", []),
    ],
)
def test_figures_are_found_where_they_stand(
    sentence: str, expected: list[tuple[str, str, str | None]]
) -> None:
    """Each figure comes with its unit and its place in the text as typed."""
    found = [(sentence[at.start : at.end], at.value, at.unit) for at in find_quantity(sentence)]
    assert found == expected


def test_a_span_can_be_read_with_what_is_usual() -> None:
    """The inches of a vacuum gauge are no length."""
    sentence = 'pulls 17" at idle'
    (at,) = find_quantity(sentence)
    reading = parse_measured(sentence[at.start : at.end], usual_unit="inHg")
    assert reading.value == pytest.approx(to_si(17.0, "inHg"))


@given(st.text(max_size=120))
def test_any_text_may_be_searched(text: str) -> None:
    """Spans lie in the text, in order, and hold a digit."""
    end = 0
    for at in find_quantity(text):
        assert end <= at.start < at.end <= len(text)
        assert any(character.isnumeric() for character in text[at.start : at.end])
        end = at.end
