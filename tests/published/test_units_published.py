"""Conversion factors against printed ones. The tolerance is half of the last digit printed."""

from __future__ import annotations

from decimal import Decimal

import pytest
import scipy.constants

from bellhousing.quantities.units import from_si, to_si
from tests.published.sources import ENERGY_OFFICE, POCKET_TABLE, STANDARD_ATMOSPHERE

published = pytest.mark.published


def half_of_last_digit(printed: str) -> float:
    """Half a unit of the last digit printed."""
    exponent = Decimal(printed).as_tuple().exponent
    assert isinstance(exponent, int)
    return 0.5 * 10.0**exponent


# NIST Special Publication 811 (2008), appendix B.8, "Factors for units listed alphabetically".
# The printed digits are from memory; the appendix itself was not at hand.
NIST = [
    ("in", "2.54E-02"),
    ("thou", "2.54E-05"),
    ("ft", "3.048E-01"),
    ("mile", "1.609344E+03"),
    ("in2", "6.4516E-04"),
    ("in3", "1.638706E-05"),
    ("qt", "9.463529E-04"),
    ("pint", "4.731765E-04"),
    ("gal", "3.785412E-03"),
    ("imp gal", "4.54609E-03"),
    ("fl oz", "2.957353E-05"),
    ("lb", "4.535924E-01"),
    ("oz", "2.834952E-02"),
    ("lbf", "4.448222E+00"),
    ("kgf", "9.80665E+00"),
    ("lb ft", "1.355818E+00"),
    ("lb in", "1.129848E-01"),
    ("kgf m", "9.80665E+00"),
    ("psi", "6.894757E+03"),
    ("bar", "1E+05"),
    ("inHg", "3.386389E+03"),
    ("mmHg", "1.333224E+02"),
    ("kgf/cm2", "9.80665E+04"),
    ("mph", "4.4704E-01"),
    ("km/h", "2.777778E-01"),
    ("rpm", "1.047198E-01"),
    ("deg", "1.745329E-02"),
    ("hp", "7.456999E+02"),
    ("cSt", "1.0E-06"),
    ("cP", "1.0E-03"),
    ("lb ft2", "4.214011E-02"),
    ("gal/min", "6.309020E-05"),
    ("lb/in", "1.751268E+02"),
    ("degF difference", "5.555556E-01"),
]


@pytest.mark.from_memory("NIST SP 811, appendix B.8")
@pytest.mark.parametrize(("name", "printed"), NIST)
def test_factors_of_the_national_standards_institute(name: str, printed: str) -> None:
    """Every factor agrees with the printed one to its last digit."""
    assert to_si(1.0, name) == pytest.approx(float(printed), rel=0, abs=half_of_last_digit(printed))


# The constants of the library scipy (module scipy.constants), read from the installed package.
@pytest.mark.other_program("scipy")
@pytest.mark.parametrize(
    ("name", "constant"),
    [
        ("in", "inch"),
        ("thou", "mil"),
        ("ft", "foot"),
        ("mile", "mile"),
        ("lb", "lb"),
        ("oz", "oz"),
        ("lbf", "lbf"),
        ("kgf", "kgf"),
        ("psi", "psi"),
        ("bar", "bar"),
        ("gal", "gallon"),
        ("imp gal", "gallon_imp"),
        ("fl oz", "fluid_ounce"),
        ("mph", "mph"),
        ("km/h", "kmh"),
        ("hp", "hp"),
        ("deg", "degree"),
        ("degF difference", "degree_Fahrenheit"),
    ],
)
def test_factors_of_a_science_library(name: str, constant: str) -> None:
    """Each factor agrees with an independently written table to the last bits."""
    assert to_si(1.0, name) == pytest.approx(float(getattr(scipy.constants, constant)), rel=1e-15)


# Nebraska Energy Office, table of conversion factors, letter P (neo.ne.gov/programs/stats/inf/79p.htm).
@published(quantity="factors of units", source=ENERGY_OFFICE, place="letter P", code="quantities.units.to_si")
@pytest.mark.parametrize(
    ("name", "printed", "into"),
    [
        ("pint", "0.4731765", "l"),
        ("lb", "0.45359237", "kg"),
        ("lb", "453.59", "g"),
        ("pint", "28.875", "in3"),
    ],
)
def test_factors_of_a_state_energy_office(name: str, printed: str, into: str) -> None:
    """A second printed table says the same."""
    found = from_si(to_si(1.0, name), into)
    assert found == pytest.approx(float(printed), rel=0, abs=half_of_last_digit(printed) * 1.0001)


# Engineering pocket table, netwasgroup.us/guide/conversion-factors-wpl.html, rows psi and inch of mercury.
@published(
    quantity="factors of units of pressure",
    source=POCKET_TABLE,
    place="rows psi, inch of mercury, bar",
    code="quantities.units.from_si",
)
@pytest.mark.parametrize(
    ("name", "printed", "into"),
    [
        ("psi", "6.895", "kPa"),
        ("psi", "68.95", "mbar"),
        ("psi", "2.036", "inHg"),
        ("psi", "51.71", "mmHg"),
        ("inHg", "3.386", "kPa"),
        ("inHg", "33.86", "mbar"),
        ("inHg", "25.4", "mmHg"),
        ("bar", "14.5", "psi"),
        ("bar", "29.53", "inHg"),
    ],
)
def test_pressures_of_a_pocket_table(name: str, printed: str, into: str) -> None:
    """Gauge and vacuum units agree with a table made for another trade."""
    found = from_si(to_si(1.0, name), into)
    assert found == pytest.approx(float(printed), rel=0, abs=half_of_last_digit(printed) * 1.01)


@published(
    quantity="inch of mercury",
    source=STANDARD_ATMOSPHERE,
    place="sea level, 29.921 inHg",
    code="quantities.units.from_si",
    figures=(0,),
)
def test_the_inch_of_mercury_against_the_standard_atmosphere() -> None:
    """29.921 inHg are 101 325 Pa (U.S. Standard Atmosphere 1976, sea level)."""
    assert from_si(101325.0, "inHg") == pytest.approx(29.921, abs=0.0005)
    assert to_si(1.0, "inHg") == pytest.approx(3386.389, abs=0.0005)


@pytest.mark.beside("a definition")
@pytest.mark.parametrize(("fahrenheit", "celsius"), [(32, 0), (212, 100), (-40, -40), (98.6, 37)])
def test_fixed_points_of_the_temperature_scales(fahrenheit: float, celsius: float) -> None:
    """Definition of the two scales: ice, steam, and where they cross."""
    assert to_si(fahrenheit, "degF") == pytest.approx(to_si(celsius, "degC"), abs=1e-9)
    assert to_si(0.0, "degC") == 273.15
