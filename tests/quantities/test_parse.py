"""Readings, ranges and tolerances as a workshop writes them."""

from __future__ import annotations

from collections.abc import Callable
from math import inf, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bellhousing.errors import AmbiguousUnitError, QuantityError
from bellhousing.quantities.measured import Interval, Measured
from bellhousing.quantities.parse import parse_interval, parse_measured, parse_tolerance
from bellhousing.quantities.units import from_si, to_si

CLEARANCE = (0.0, to_si(0.1, "in"))

READINGS = [
    ("0.021", "in", 0.021, "in"),
    (".021 in", "in", 0.021, "in"),
    ("0.021in.", "mm", 0.021, "in"),
    ("21 thou", "in", 21, "thou"),
    ("31 thou", "in", 0.031, "in"),
    ('2 1/8"', "in", 2.125, "in"),
    ("2⅛ in", "in", 2.125, "in"),
    ("1-1/2 in", "in", 1.5, "in"),
    ("1–1/2 in", "in", 1.5, "in"),
    ("1½″", "in", 1.5, "in"),
    ("½ in", "mm", 0.5, "in"),
    ("3/8''", "in", 0.375, "in"),
    ("0,53 mm", "in", 0.53, "mm"),
    ("0,530 mm", "mm", 0.53, "mm"),
    ("62 psi", "psi", 62, "psi"),
    ("62 PSI", "psi", 62, "psi"),
    ("62 p.s.i.", "psi", 62, "psi"),
    ("62 lbs/sq in", "psi", 62, "psi"),
    ("60 pounds", "psi", 60, "psi"),
    ("4.3 bar", "psi", 4.3, "bar"),
    ("4,3 bar", "psi", 4.3, "bar"),
    ("430 kPa", "psi", 430, "kPa"),
    ("17 inHg", "inHg", 17, "inHg"),
    ("17 in. Hg", "inHg", 17, "inHg"),
    ('17" of vacuum', "inHg", 17, "inHg"),
    ("17 inches of vacuum", "psi", 17, "inHg"),
    ("17 in", "inHg", 17, "inHg"),
    ("46 mph", "mph", 46, "mph"),
    ("74 km/h", "mph", 74, "km/h"),
    ("1,250 rpm", "rpm", 1250, "rpm"),
    ("1250 revs per min", "rpm", 1250, "rpm"),
    ("18 lb ft", "lb ft", 18, "lb ft"),
    ("18 ft-lbs", "N m", 18, "lb ft"),
    ("25 N·m", "lb ft", 25, "N m"),
    ("180 °F", "degC", 180, "degF"),
    ("180 F", "degF", 180, "degF"),
    ("82℃", "degF", 82, "degC"),
    ("−10 °C", "degF", -10, "degC"),
    ("3 1/2 pints", "qt", 1.75, "qt"),
    ("10 US qt", "l", 10, "qt"),
    ("9,5 l", "qt", 9.5, "l"),
    ("1 turn", "turn", 360, "deg"),
    ("16.5 cm3/rev", "cm3/rev", 16.5, "cm3/rev"),
    ("0.2 cm³/s/psi", "cm3/s/psi", 0.2, "cm3/s/psi"),
    ("2 psi/(l/min)", "psi/(l/min)", 2, "psi/(l/min)"),
    ("118 rpm/√(lb ft)", "rpm/sqrt(lb ft)", 118, "rpm/sqrt(lb ft)"),
    ("865 kg/m³", "kg/m3", 865, "kg/m3"),
    ("0.15 kg m²", "kg m2", 0.15, "kg m2"),
    ("36 cSt", "cSt", 36, "cSt"),
    ("5 %", "", 0.05, ""),
    ("about 64 mph", "mph", 64, "mph"),
    ("  62   psi  ", "psi", 62, "psi"),
]


@pytest.mark.parametrize(("text", "usual", "value", "unit_name"), READINGS)
def test_a_reading_is_understood(text: str, usual: str, value: float, unit_name: str) -> None:
    """What a mechanic writes becomes the number he means, and his text is kept."""
    reading = parse_measured(text, usual_unit=usual)
    assert reading.value == pytest.approx(to_si(value, unit_name), rel=1e-12)
    assert reading.text == text


def test_a_bare_figure_takes_the_usual_unit_and_says_so() -> None:
    """The assumption is visible; a written unit is none, and a number without dimension needs none."""
    assert parse_measured("0.021", usual_unit="in").unit_assumed
    assert parse_measured("180 degrees", usual_unit="degC").unit_assumed
    assert parse_measured("180 degrees", usual_unit="degC").unit == "degC"
    assert not parse_measured("0.021 in", usual_unit="in").unit_assumed
    assert not parse_measured("0.92", usual_unit="").unit_assumed


def test_the_unit_as_entered_is_kept() -> None:
    """A reading in thou is shown in thou again."""
    assert parse_measured("31 thou", usual_unit="in").unit == "thou"
    assert parse_measured("17 inches", usual_unit="inHg").unit == "inHg"


def test_a_tolerance_is_half_its_width_as_standard_uncertainty() -> None:
    """The ± holds 95 of 100 readings; a difference of temperature has no zero point."""
    assert parse_measured("62 psi", usual_unit="psi").standard_uncertainty is None
    pressure = parse_measured("65 ± 5 psi", usual_unit="psi")
    assert pressure.standard_uncertainty == pytest.approx(to_si(2.5, "psi"))
    relative = parse_measured("65 psi +/- 10 %", usual_unit="psi")
    assert relative.standard_uncertainty == pytest.approx(to_si(3.25, "psi"))
    warm = parse_measured("180 ± 9 °F", usual_unit="degF")
    assert warm.value == pytest.approx(to_si(180.0, "degF"))
    assert warm.standard_uncertainty == pytest.approx(2.5)


def test_a_wandering_reading_is_its_middle() -> None:
    """Every value between the ends is equally likely (JCGM 100:2008, 4.3.7)."""
    reading = parse_measured("60-72 psi", usual_unit="psi")
    assert reading.value == pytest.approx(to_si(66.0, "psi"))
    assert reading.standard_uncertainty == pytest.approx(to_si(12.0, "psi") / sqrt(12))


@pytest.mark.parametrize(
    ("text", "usual", "low", "high", "unit_name"),
    [
        ("0.010–0.035 in", "in", 0.010, 0.035, "in"),
        ("5-30 psi", "psi", 5, 30, "psi"),
        ("1-2 in", "in", 1, 2, "in"),
        ("1/4-1/2 in", "in", 0.25, 0.5, "in"),
        ("1-1/2 - 2-1/4 in", "in", 1.5, 2.25, "in"),
        ("60 psi to 75 psi", "psi", 60, 75, "psi"),
        ("between 60 and 75 psi", "psi", 60, 75, "psi"),
        ("60-75", "psi", 60, 75, "psi"),
        ("65 ± 5 psi", "psi", 60, 70, "psi"),
        ("200 psi ± 5 %", "psi", 190, 210, "psi"),
        ("-10 to 5 °C", "degC", -10, 5, "degC"),
        ("4…5 qt", "qt", 4, 5, "qt"),
        ("17 inHg", "inHg", 17, 17, "inHg"),
    ],
)
def test_a_range_is_understood(text: str, usual: str, low: float, high: float, unit_name: str) -> None:
    """A dash parts two figures unless a whole number and a proper fraction touch it."""
    interval = parse_interval(text, usual_unit=usual)
    assert interval.low == pytest.approx(to_si(low, unit_name))
    assert interval.high == pytest.approx(to_si(high, unit_name))
    assert interval.text == text


@pytest.mark.parametrize(("text", "end"), [("up to 5 psi", 5), ("< 5 psi", 5), ("5 psi max", 5), ("≤5", 5)])
def test_an_upper_end_alone(text: str, end: float) -> None:
    """Only the upper end was given."""
    interval = parse_interval(text, usual_unit="psi")
    assert interval.low == -inf
    assert interval.high == pytest.approx(to_si(end, "psi"))
    assert interval.holds(0.0)
    assert not interval.holds(to_si(5.1, "psi"))


@pytest.mark.parametrize("text", ["over 130 psi", "> 130", "130 psi or more", "at least 130 psi"])
def test_a_lower_end_alone(text: str) -> None:
    """Only the lower end was given."""
    interval = parse_interval(text, usual_unit="psi")
    assert interval.low == pytest.approx(to_si(130.0, "psi"))
    assert interval.high == inf


def test_three_minutes_are_not_a_lower_end() -> None:
    """Behind a bare figure, min is the minute."""
    assert parse_interval("3 min", usual_unit="s").high == pytest.approx(180.0)


def test_an_impossible_bare_figure_is_asked_about() -> None:
    """0.53 cannot be inches here but can be millimetres: nobody guesses."""
    with pytest.raises(AmbiguousUnitError, match="no unit") as caught:
        parse_measured("0.53", usual_unit="in", possible=CLEARANCE)
    assert "mm" in caught.value.candidates
    with pytest.raises(AmbiguousUnitError) as caught:
        parse_measured("21", usual_unit="in", possible=CLEARANCE)
    assert caught.value.candidates == ("thou",)


@pytest.mark.parametrize("text", ["9 in", "500"])
def test_the_impossible_is_refused_with_the_range(text: str) -> None:
    """No unit makes it possible, or the unit was written: the message says what is possible, in that unit."""
    with pytest.raises(QuantityError, match=r"0–0\.1 in") as caught:
        parse_measured(text, usual_unit="in", possible=CLEARANCE)
    assert not isinstance(caught.value, AmbiguousUnitError)


def test_the_possible_range_is_told_in_the_unit_entered() -> None:
    """Whoever writes millimetres is answered in millimetres."""
    with pytest.raises(QuantityError, match=r"0–2\.54 mm"):
        parse_measured("21 mm", usual_unit="in", possible=CLEARANCE)


@pytest.mark.parametrize(
    ("text", "usual", "message"),
    [
        ("", "psi", "nothing was entered"),
        ("   ", "psi", "nothing was entered"),
        ("psi", "psi", "no figure"),
        ("nan", "psi", "no figure"),
        ("inf psi", "psi", "no figure"),
        ("1e999 psi", "psi", "too large"),
        ("1" * 190, "psi", "possible|large|unknown"),
        ("9" * 100_000, "psi", "characters"),
        ("46 mph", "psi", "speed.*pressure.*psi, bar"),
        ("5 furlongs", "psi", "unknown unit"),
        ("62 pis", "psi", "did you mean.*psi"),
        ("1/0 in", "in", "divides by nothing"),
        ("1-3/2 in", "in", "not a mixed number"),
        ("60/75 psi", "psi", "no usual fraction.*dash for a range"),
        ("70-60 psi", "psi", "low to high"),
        ("65 ± -5 psi", "psi", "positive"),
        ("1.2.3 in", "in", "unknown unit|no figure|not a number"),
        ("62 psi 3", "psi", "unknown unit"),
        ("twelve", "psi", "no figure"),
        ("5 psi - 3 mph", "psi", "speed"),
        ("17 mmHg", "in", "pressure"),
        ("80 °C", "psi", "temperature"),
    ],
)
def test_what_cannot_be_read_is_refused(text: str, usual: str, message: str) -> None:
    """Every refusal says what is wrong and what would be right."""
    with pytest.raises(QuantityError, match=message) as caught:
        parse_measured(text, usual_unit=usual, possible=(-1e9, 1e9))
    assert caught.value.remedy
    assert len(str(caught.value)) < 300


def test_a_limit_with_a_range_is_refused() -> None:
    """Over 60-70 psi says two things at once."""
    with pytest.raises(QuantityError, match="both a limit and a range"):
        parse_interval("over 60-70 psi", usual_unit="psi")


@pytest.mark.parametrize(
    ("text", "half"), [("±3 psi", 3), ("3 psi", 3), ("+/- 3", 3), ("5 %", 3.25), ("± 5 percent", 3.25)]
)
def test_a_tolerance_alone(text: str, half: float) -> None:
    """A tolerance stands in the unit of its value or in per cent of it."""
    found = parse_tolerance(text, usual_unit="psi", value=to_si(65.0, "psi"))
    assert found == pytest.approx(to_si(half, "psi"))


@pytest.mark.parametrize("text", ["-3 psi", "3-5 psi", "", "±3 mph"])
def test_a_bad_tolerance_is_refused(text: str) -> None:
    """A tolerance is one positive figure of the right dimension."""
    with pytest.raises(QuantityError):
        parse_tolerance(text, usual_unit="psi", value=1.0)


@given(
    value=st.floats(min_value=-1e6, max_value=1e6, allow_nan=False),
    unit_name=st.sampled_from(["psi", "in", "mm", "degF", "degC", "lb ft", "km/h", "cSt", "psi/(l/min)"]),
)
def test_a_written_number_comes_back(value: float, unit_name: str) -> None:
    """Any number written with a unit is read as itself."""
    reading = parse_measured(f"{value!r} {unit_name}", usual_unit=unit_name)
    assert from_si(reading.value, unit_name) == pytest.approx(value, rel=1e-9, abs=1e-9)


@given(
    whole=st.integers(0, 500),
    over=st.integers(1, 63),
    under=st.sampled_from([2, 3, 4, 8, 16, 32, 64]),
    dash=st.sampled_from(" -"),
)
def test_mixed_numbers(whole: int, over: int, under: int, dash: str) -> None:
    """A whole number and a proper fraction add up; an improper one is refused."""
    text = f"{whole}{dash}{over}/{under} in"
    if over < under:
        reading = parse_measured(text, usual_unit="in")
        assert from_si(reading.value, "in") == pytest.approx(whole + over / under)
    else:
        with pytest.raises(QuantityError):
            parse_measured(text, usual_unit="in")


def outcome(read: Callable[[], Measured | Interval]) -> Measured | Interval | QuantityError:
    """What reading gives: a quantity or a plain refusal, nothing else."""
    try:
        return read()
    except QuantityError as refusal:
        return refusal


@given(st.text(max_size=250))
def test_no_text_breaks_the_reader(text: str) -> None:
    """Whatever is typed gives a finite reading or a plain refusal."""
    found = outcome(lambda: parse_measured(text, usual_unit="psi"))
    assert found.what if isinstance(found, QuantityError) else isinstance(found, Measured)
    assert not isinstance(found, Measured) or abs(found.value) < inf


@given(st.text(alphabet="0123456789.,/-+±e %\"'inpsto½–", max_size=40))
def test_no_jumble_of_figures_breaks_the_reader(text: str) -> None:
    """Nor does a jumble of what quantities are made of, read as a range."""
    found = outcome(lambda: parse_interval(text, usual_unit="in"))
    assert found.what if isinstance(found, QuantityError) else isinstance(found, Interval)
    assert not isinstance(found, Interval) or found.low <= found.high
