"""Units: names, conversions and the table they come from."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bellhousing.errors import QuantityError
from bellhousing.quantities.unit_table import EVERYDAY, ROWS
from bellhousing.quantities.units import from_si, spelled, to_si, unit, units_of

NAMES = [row.name for row in ROWS]


@given(name=st.sampled_from(NAMES), value=st.floats(min_value=-1e9, max_value=1e9, allow_nan=False, width=32))
def test_there_and_back(name: str, value: float) -> None:
    """Each unit's two conversions undo each other; the zero point of a scale costs a few digits."""
    found = unit(name)
    noise = 1e-12 * (abs(value) + abs(found.offset / found.factor))
    assert from_si(to_si(value, name), name) == pytest.approx(value, rel=1e-12, abs=noise)


@pytest.mark.parametrize("name", NAMES)
def test_arrays_as_numbers(name: str) -> None:
    """An array is converted as its numbers are."""
    values = np.array([0.0, 1.5, -3.0])
    assert to_si(values, name).tolist() == [to_si(float(value), name) for value in values]
    assert from_si(values, name).tolist() == [from_si(float(value), name) for value in values]


@pytest.mark.parametrize("name", NAMES)
def test_name_and_symbol_are_understood(name: str) -> None:
    """What is shown can be typed again and means a unit of the same dimension."""
    found = unit(name)
    assert found in spelled(name)
    assert found in spelled(found.symbol)


def test_names_are_not_used_twice() -> None:
    """No two rows share a name."""
    assert len(set(NAMES)) == len(NAMES)


def test_two_meanings_of_a_spelling_never_share_a_dimension() -> None:
    """A spelling may be a length or a vacuum, never two lengths; bare degrees take the usual scale."""
    for row in ROWS:
        for spelling in row.spellings.split("|"):
            dimensions = [found.dimension for found in spelled(spelling)]
            bare_degrees = spelling in {"deg", "degree", "degrees"}
            assert bare_degrees or len(set(dimensions)) == len(dimensions), spelling


@pytest.mark.parametrize("dimension", sorted({row.dimension for row in ROWS}))
def test_each_dimension_has_units_to_offer(dimension: str) -> None:
    """What is offered instead of a wrong unit is of the right dimension."""
    assert units_of(dimension)
    assert {found.dimension for found in units_of(dimension)} == {dimension}
    assert set(EVERYDAY) <= {row.dimension for row in ROWS}


@pytest.mark.parametrize("name", NAMES)
def test_every_dimension_has_one_si_unit(name: str) -> None:
    """Factors are positive, and each dimension has a unit of factor one without offset to anchor it."""
    found = unit(name)
    assert found.factor > 0
    anchored = [
        row for row in ROWS if row.dimension == found.dimension and row.factor == 1 and not row.offset
    ]
    assert anchored


@pytest.mark.parametrize(("typed", "nearest"), [("pis", "psi"), ("milimetres", "mm"), ("mhp", "mph")])
def test_an_unknown_unit_names_the_nearest(typed: str, nearest: str) -> None:
    """A slip of the key is met with what was perhaps meant."""
    with pytest.raises(QuantityError, match=nearest):
        unit(typed)


def test_temperature_and_its_difference_are_kept_apart() -> None:
    """Ten degrees of warming are no temperature of ten degrees."""
    assert to_si(10.0, "degC") == pytest.approx(283.15)
    assert to_si(10.0, "degC difference") == pytest.approx(10.0)
    assert to_si(18.0, "degF difference") == pytest.approx(10.0)
    assert unit("degF").dimension != unit("degF difference").dimension
