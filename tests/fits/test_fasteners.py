"""Bolts and tapped holes: bands, least material, inserts, and the order of tightening."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bellhousing.errors import QuantityError
from bellhousing.fits.fasteners import (
    KSI,
    NUT_FACTORS,
    TAPPED,
    Hole,
    insert_strip_force,
    middle_out,
    nut_factors,
    preload_band,
    preload_of,
    preload_text,
    proof_preload,
    star_pattern,
    thread_advice,
    torque_for,
)
from bellhousing.fits.threads import (
    INCH,
    basic_sizes,
    bolt_shear_area,
    engagement_for_bolt,
    engagement_needed,
    find_thread,
    hole_shear_area,
    least_material,
    threads,
    weaker_hole_factor,
)

LB_FT = 1.3558179483


@pytest.mark.parametrize("name", list(threads()))
def test_least_material_lies_inside_the_basic_sizes(name: str) -> None:
    """A bolt at its least is smaller, a hole at its greatest is larger; the thread still holds something."""
    thread = threads()[name]
    least, basic = least_material(thread), basic_sizes(thread)
    assert least.major < basic.major
    assert least.pitch < basic.pitch
    assert least.hole_pitch > basic.hole_pitch
    assert least.hole_minor > basic.hole_minor
    assert 0.7 < hole_shear_area(thread, 0.01) / hole_shear_area(thread, 0.01, basic) < 1.0
    assert bolt_shear_area(thread, 0.01) > 0.0


@pytest.mark.beside("the inverse of a law that is held against print", code="fits.fasteners.preload_of")
@given(torque=st.floats(1.0, 100.0), finish=st.sampled_from(sorted(NUT_FACTORS)))
def test_torque_and_preload_are_one_anothers_inverse(torque: float, finish: str) -> None:
    """And the band holds every nut factor of the finish, the wrench's error besides."""
    low, high = nut_factors(finish)
    assert torque_for(preload_of(torque, 0.01, low), 0.01, low) == pytest.approx(torque)
    least, greatest = preload_band(torque, 0.01, finish)
    assert least < preload_of(torque, 0.01, high) < preload_of(torque, 0.01, low) < greatest


def test_length_to_develop_a_grade_five_bolt_in_cast_aluminium() -> None:
    """3/8-16 to 120 ksi in metal of 45 ksi: 0.416 in, 1.11 diameters (own derivation)."""
    thread = find_thread("3/8-16")
    needed = engagement_needed(120 * KSI * thread.stress_area, thread, 0.6 * TAPPED["cast aluminium"])
    assert needed / INCH == pytest.approx(0.416, abs=0.01)
    assert needed / thread.diameter == pytest.approx(1.11, abs=0.02)


def test_a_softer_hole_asks_for_more_engagement() -> None:
    """Nothing less than 1; by the ratio of strengths once the metal is soft."""
    thread = find_thread("3/8-16")
    assert weaker_hole_factor(thread, 55 * KSI, 300 * KSI) == 1.0
    soft, softer = (weaker_hole_factor(thread, 120 * KSI, strength * KSI) for strength in (45, 30))
    assert softer / soft == pytest.approx(45 / 30)
    assert soft * engagement_for_bolt(thread) > engagement_for_bolt(thread)


@pytest.mark.parametrize(
    ("text", "name"), [("3/8-16", "3/8-16"), (" 3/8 - 16 UNC", "3/8-16"), ("m10 x 1.5", "M10"), ("M8", "M8")]
)
def test_threads_are_found_as_they_are_said(text: str, name: str) -> None:
    """With and without the series' letters, spaces and pitch."""
    assert find_thread(text).name == name


@pytest.mark.parametrize("text", ["", "3/8-17", "M10 x 1.25", "M10 x", "left-hand"])
def test_unknown_threads_are_refused_with_the_known_ones(text: str) -> None:
    """Including a pitch the size does not have."""
    if text == "M10 x":
        assert find_thread(text).name == "M10"
        return
    with pytest.raises(QuantityError, match="3/8-16"):
        find_thread(text)


def test_a_sound_hole_holds_and_a_torn_one_gets_an_insert() -> None:
    """Half an inch of 3/8-16 in cast aluminium bears 20 lb·ft dry; with five threads gone it does not."""
    thread = find_thread("3/8-16")
    sound = Hole(thread, 0.5 * INCH, TAPPED["cast aluminium"])
    good = thread_advice(sound, 20.0 * LB_FT, "dry")
    assert not good.insert
    assert good.margin > 1.5
    torn = Hole(thread, 0.5 * INCH, TAPPED["cast aluminium"], damaged=5.0)
    bad = thread_advice(torn, 20.0 * LB_FT, "dry")
    assert bad.insert
    assert "wire insert" in bad.text
    assert bad.margin == pytest.approx(good.margin * 0.375, rel=1e-9)


def test_oil_on_the_thread_pulls_harder() -> None:
    """The same torque and hole: oiled, less margin."""
    hole = Hole(find_thread("1/4-20"), 0.4 * INCH, TAPPED["cast aluminium"])
    assert thread_advice(hole, 8.0, "oiled").margin < thread_advice(hole, 8.0, "dry").margin


def test_an_insert_holds_more_than_the_bare_hole() -> None:
    """It shears further out, on every thread."""
    for thread in threads().values():
        hole = Hole(thread, 1.5 * thread.diameter, TAPPED["cast aluminium"])
        assert insert_strip_force(hole) > hole.strip_force, thread.name


def test_where_not_even_an_insert_is_enough_it_is_said() -> None:
    """A short hole and a high torque: less torque, a longer bolt or a bush."""
    hole = Hole(find_thread("1/4-20"), 0.15 * INCH, TAPPED["cast aluminium"])
    assert "even an insert" in thread_advice(hole, 20.0, "oiled").text


@pytest.mark.parametrize("bolts", range(1, 25))
def test_a_star_takes_every_bolt_once_and_goes_across(bolts: int) -> None:
    """The second is opposite the first; from four on the third is as far from both as can be."""
    order = star_pattern(bolts)
    assert sorted(order) == list(range(1, bolts + 1))
    if bolts >= 4 and bolts % 4 == 0:
        assert order[:4] == (1, 1 + bolts // 2, 1 + bolts // 4, 1 + 3 * bolts // 4)


def test_a_pan_is_tightened_from_the_middle() -> None:
    """Every bolt once, the corners last."""
    places = [(float(x), float(y)) for x in (0, 10, 20, 30, 40) for y in (0, 15)]
    order = middle_out(places)
    assert sorted(order) == list(range(1, 11))
    assert set(order[:2]) == {5, 6}
    assert set(order[-4:]) == {1, 2, 9, 10}


def test_unknown_finish_grade_and_no_bolts_are_refused() -> None:
    """Each by name."""
    thread = find_thread("3/8-16")
    with pytest.raises(QuantityError, match="wet"):
        nut_factors("wet")
    with pytest.raises(QuantityError, match="grade"):
        proof_preload(thread, "12")
    with pytest.raises(QuantityError, match="at least one bolt"):
        star_pattern(0)
    with pytest.raises(QuantityError, match="at least one bolt"):
        middle_out([])


def test_a_preload_in_words_names_both_ends() -> None:
    """Because a torque is no preload."""
    text = preload_text(20.0 * LB_FT, find_thread("3/8-16"), "dry")
    assert text.startswith("20 lb ft on 3/8-16, dry: ")
    low, high = preload_band(20.0 * LB_FT, 0.375 * INCH, "dry")
    assert math.isclose(high / low, 0.27 / 0.18 * 1.04 / 0.96)
    assert f"{float(f'{low:.3g}'):.0f}–{float(f'{high:.3g}'):.0f} N" in text
