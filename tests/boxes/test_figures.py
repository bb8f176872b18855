"""Reading one figure: number, unit, scatter, source."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bellhousing.boxes.figures import Figure, Spec
from bellhousing.boxes.schema import sections, specs
from bellhousing.quantities.units import unit

PRESSURE = Spec("psi", "pressure", 0, 450, "2 %", "a pressure")
PSI = unit("psi").factor


def read(raw: object) -> Figure:
    """Return what is read of a pressure."""
    figure = PRESSURE.read(raw)
    assert figure is not None
    return figure


@pytest.mark.parametrize(
    ("raw", "value", "scatter"),
    [
        ("65 psi", 65, 0.02 * 65),
        ("62,5 psi", 62.5, 0.02 * 62.5),
        ({"value": "65 psi", "scatter": "5 %"}, 65, 3.25),
        ({"value": "65 psi", "scatter": "±5 %"}, 65, 1.625),
        ({"value": "65 psi", "scatter": "±3 psi"}, 65, 1.5),
        ({"value": "65 psi", "scatter": "+/-3 psi"}, 65, 1.5),
        ({"value": "65 psi", "scatter": "3 psi"}, 65, 3),
        ("65 ± 5 psi", 65, 2.5),
        ("60-70 psi", 65, 10 / 12**0.5),
        ({"value": "60-70 psi", "scatter": "1 psi"}, 65, 1),
    ],
)
def test_value_and_standard_deviation(raw: object, value: float, scatter: float) -> None:
    """Per cent and bare figures are one standard deviation; a ± holds 95 of 100 and is two of them."""
    figure = read(raw)
    assert figure.value == pytest.approx(value * PSI)
    assert figure.scatter == pytest.approx(scatter * PSI)


@pytest.mark.parametrize("raw", ["unknown", "Unknown", "", {"value": "unknown"}, {"source": "x"}, {}])
def test_unknown_stays_unknown(raw: object) -> None:
    """What is not known has no value and no scatter."""
    assert (read(raw).value, read(raw).scatter) == (None, 0.0)


def test_the_unit_written_is_obeyed_and_kept() -> None:
    """Another unit of the same kind is converted, and remembered."""
    figure = read("4.5 bar")
    assert figure.value == pytest.approx(4.5e5)
    assert (figure.unit, figure.text) == ("bar", "4.5 bar")


@given(st.floats(0.0, 450.0))
def test_any_possible_pressure_comes_back(value: float) -> None:
    """Every possible figure is read as it was written, ends included."""
    assert read(f"{value!r} psi").value == pytest.approx(value * PSI)


def test_every_spec_is_sound() -> None:
    """Every figure has a unit of its dimension, a window, a scatter that can be read, and a sentence."""
    for key, spec in specs().items():
        assert unit(spec.unit).dimension == spec.dimension, key
        assert spec.low < spec.high, key
        figure = spec.read(spec.example())
        assert figure is not None, key
        assert spec.whole or figure.scatter > 0, key
        assert spec.says, key


def test_every_section_says_what_is_lost_without_it() -> None:
    """Every group of figures says what an empty one costs."""
    for name, model in sections().items():
        assert model.without, name
