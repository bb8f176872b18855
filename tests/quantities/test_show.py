"""How quantities are shown."""

from __future__ import annotations

from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bellhousing.errors import QuantityError
from bellhousing.quantities.parse import parse_measured
from bellhousing.quantities.show import show, show_interval
from bellhousing.quantities.units import to_si


@pytest.mark.parametrize(
    ("value", "name", "text"),
    [
        (62.0, "psi", "62 psi"),
        (0.021, "in", "0.021 in"),
        (4.3, "bar", "4.3 bar"),
        (17.0, "inHg", "17 inHg"),
        (17.46, "inHg", "17.5 inHg"),
        (180.0, "degF", "180 °F"),
        (0.0002, "in", "0.0002 in"),
        (-0.0, "psi", "0 psi"),
        (-0.2, "psi", "-0.2 psi"),
        (100.0, "psi", "100 psi"),
        (0.45, "", "0.45"),
        (45.0, "%", "45 %"),
        (90.0, "deg", "90°"),
        (inf, "psi", "∞ psi"),
        (-inf, "psi", "-∞ psi"),
        (1e-20, "in", "1.00e-20 in"),
    ],
)
def test_a_value_is_shown_as_people_write_it(value: float, name: str, text: str) -> None:
    """Usual decimals, no trailing zeros, the unit's symbol."""
    assert show(to_si(value, name), name) == text


def test_decimals_can_be_asked_for() -> None:
    """Then zeros are kept."""
    assert show(to_si(62.0, "psi"), "psi", digits=1) == "62.0 psi"
    assert show(to_si(-0.001, "psi"), "psi", digits=1) == "0.0 psi"


def test_what_is_not_known_says_so() -> None:
    """NaN is never shown as a number."""
    assert show(nan, "psi") == "not known"
    assert show_interval(nan, 1.0, "psi") == "not known"


@pytest.mark.parametrize(
    ("low", "high", "name", "text"),
    [
        (60.0, 75.0, "psi", "60–75 psi"),
        (0.010, 0.035, "in", "0.01–0.035 in"),
        (-inf, 5.0, "psi", "up to 5 psi"),
        (130.0, inf, "psi", "130 psi or more"),
        (-inf, inf, "psi", "any"),
        (-10.0, 5.0, "degC", "-10 to 5 °C"),
        (17.0, 17.0, "inHg", "17 inHg"),
    ],
)
def test_a_range_is_shown_as_people_write_it(low: float, high: float, name: str, text: str) -> None:
    """One unit for both ends, words where an end is missing."""
    assert show_interval(to_si(low, name), to_si(high, name), name) == text


def test_an_unknown_unit_is_refused() -> None:
    """Showing needs a known unit."""
    with pytest.raises(QuantityError):
        show(1.0, "furlong")


@given(tenths=st.integers(-5000, 5000), name=st.sampled_from(["psi", "mm", "inHg", "degF", "N m", "qt"]))
def test_what_is_shown_can_be_typed_again(tenths: int, name: str) -> None:
    """Reading back what was shown gives the value shown."""
    value = to_si(tenths / 10, name)
    read = parse_measured(show(value, name, digits=1), usual_unit=name)
    assert read.value == pytest.approx(value, rel=1e-9, abs=1e-9)
