"""Threads and bolts against figures printed elsewhere; the source stands beside each."""

from __future__ import annotations

import math

import pytest

from bellhousing.fits.fasteners import (
    GRADES,
    KSI,
    NUT_FACTORS,
    nut_factors,
    proof_preload,
    torque_for,
    turn_angle,
)
from bellhousing.fits.retorque import joint_shortening
from bellhousing.fits.threads import (
    INCH,
    LeastMaterial,
    Thread,
    basic_sizes,
    engagement_for_bolt,
    engagement_needed,
    find_thread,
    hole_shear_area,
    least_material,
)
from tests.published.sources import B1_1, DEALER, ENGAGEMENT, GRADE_FIVE, HANGING_RODS, TORQUE_CHART, WENTZELL

published = pytest.mark.published

POUND = 4.4482216152605
LB_IN = POUND * INCH
LB_FT = 12.0 * LB_IN


@published(
    quantity="tensile stress area of a thread",
    source=B1_1,
    place="table of tensile stress areas",
    code="fits.threads.Thread.stress_area",
)
@pytest.mark.parametrize(
    ("name", "area", "within"),
    [
        ("1/4-20", 0.0318, 6e-5),
        ("5/16-18", 0.0524, 6e-5),
        ("3/8-16", 0.0775, 6e-5),
        ("7/16-14", 0.1063, 6e-5),
        ("1/4-28", 0.0364, 1e-4),
        ("5/16-24", 0.0580, 1e-4),
        ("3/8-24", 0.0878, 1e-4),
        ("7/16-20", 0.1187, 1e-4),
        ("1/2-20", 0.1599, 1e-4),
    ],
)
def test_stress_areas(name: str, area: float, within: float) -> None:
    """ASME B1.1, table of tensile stress areas as fastener makers reprint it [in²]."""
    assert find_thread(name).stress_area / INCH**2 == pytest.approx(area, abs=within)


@published(
    quantity="basic diameters of a thread",
    source=B1_1,
    place="basic dimensions of fine threads",
    code="fits.threads.Thread.pitch_diameter",
)
@pytest.mark.parametrize(
    ("name", "pitch", "external", "internal"),
    [("3/8-24", 0.3479, 0.3254, 0.3299), ("5/16-24", 0.2854, 0.2629, 0.2674)],
)
def test_basic_diameters(name: str, pitch: float, external: float, internal: float) -> None:
    """ASME B1.1, basic pitch and minor diameters of fine threads [in]."""
    thread = find_thread(name)
    found = (thread.pitch_diameter, thread.external_minor, thread.internal_minor)
    assert [length / INCH for length in found] == pytest.approx([pitch, external, internal], abs=1e-4)


@pytest.mark.from_memory("limits of size of FED-STD-H28")
@pytest.mark.parametrize(
    ("name", "area"), [("1/4-20", 0.539), ("5/16-18", 0.682), ("3/8-16", 0.828), ("1/2-13", 1.12)]
)
def test_shear_area_of_the_hole(name: str, area: float) -> None:
    """FED-STD-H28, table of internal thread stripping areas [in² per in]; limits of 2A and 2B from memory."""
    assert hole_shear_area(find_thread(name), 1.0) / INCH == pytest.approx(area, abs=0.006)


@pytest.mark.from_memory("ASME B1.1, classes 2A and 2B")
def test_limits_of_a_three_eighths_coarse_thread() -> None:
    """ASME B1.1, 3/8-16 in classes 2A and 2B [in], from memory."""
    found = least_material(find_thread("3/8-16"))
    sizes = (found.major, found.pitch, found.hole_pitch, found.hole_minor)
    assert [size / INCH for size in sizes] == pytest.approx([0.3643, 0.3287, 0.3401, 0.321], abs=5e-4)


@published(
    quantity="tightening torque of a bolt",
    source=WENTZELL,
    place="ex. 6.1, p. 120",
    code="fits.fasteners.torque_for",
    figures=(0,),
)
@published(
    quantity="turn of a nut for a preload",
    source=WENTZELL,
    place="ex. 6.2, p. 120",
    code="fits.fasteners.turn_angle",
    figures=(1,),
)
def test_torque_and_turn_of_a_wheel_bolt() -> None:
    """Wentzell, *Machine Design*, ch. 6, ex. 6.1 and 6.2, p. 120: 3/4-10: 3619.7 lb·in, 43.35°."""
    area = 0.334 * INCH**2
    preload = 0.85 * 85.0 * KSI * area
    assert torque_for(preload, 0.75 * INCH, 0.2) / LB_IN == pytest.approx(3619.7, abs=0.5)
    angle = turn_angle(preload, 5.0 * INCH, area, 30e6 * 6894.757, 0.1 * INCH)
    assert math.degrees(angle) == pytest.approx(43.35, abs=0.01)


@published(
    quantity="preload of a bolt from its proof stress",
    source=GRADE_FIVE,
    place="3/8-16, grade 5",
    code="fits.fasteners.proof_preload",
    figures=(0,),
)
def test_a_grade_five_bolt() -> None:
    """SAE J429 grade 5, 3/8-16 at three quarters of proof, in print: 4940 lb, 23 and 30 lb·ft."""
    preload = proof_preload(find_thread("3/8-16"), "5")
    assert preload / POUND == pytest.approx(4940, abs=1)
    assert torque_for(preload, 0.375 * INCH, 0.15) / LB_FT == pytest.approx(23, abs=1)
    assert torque_for(preload, 0.375 * INCH, 0.20) / LB_FT == pytest.approx(30, abs=1)


@published(
    quantity="preload of a bolt from its proof stress",
    source=DEALER,
    place="grade 2, clamping force",
    code="fits.fasteners.proof_preload",
)
@pytest.mark.parametrize(("name", "pounds"), [("1/4-20", 1312), ("5/16-18", 2162), ("3/8-16", 3197)])
def test_grade_two_bolts(name: str, pounds: float) -> None:
    """SAE J429 grade 2 (55 ksi) at three quarters of proof, as printed by a fastener maker.

    Printed from areas of four digits, so one pound in a thousand is theirs.
    """
    assert proof_preload(find_thread(name), "2") / POUND == pytest.approx(pounds, abs=1)


@published(
    quantity="tightening torque of a bolt",
    source=DEALER,
    place="grade 5, dry torque",
    code="fits.fasteners.torque_for",
)
@pytest.mark.parametrize(
    ("name", "diameter", "printed"),
    [("3/8-16", 0.375, 30.9), ("7/16-14", 0.4375, 49.4), ("1/2-13", 0.5, 75.4)],
)
def test_dry_torques_of_grade_five_bolts(name: str, diameter: float, printed: float) -> None:
    """A hardware dealer's table: coarse threads, nut factor 0.2 [lb·ft], to half the last digit."""
    preload = proof_preload(find_thread(name), "5")
    assert torque_for(preload, diameter * INCH, 0.2) / LB_FT == pytest.approx(printed, abs=0.05)


@pytest.mark.beside("the same table of a dealer, to one figure in forty")
def test_torque_of_a_grade_two_bolt() -> None:
    """The same table: 3/8-16 at 20 lb·ft, nut factor 0.2."""
    preload = proof_preload(find_thread("3/8-16"), "2")
    assert torque_for(preload, 0.375 * INCH, 0.2) / LB_FT == pytest.approx(20, abs=0.5)


@published(
    quantity="preload of a bolt from its proof stress",
    source=TORQUE_CHART,
    place="clamp load",
    code="fits.fasteners.proof_preload",
)
@pytest.mark.parametrize(
    ("name", "grade", "pounds"),
    [("3/8-16", "2", 3196), ("7/16-14", "2", 4385), ("3/8-16", "5", 4940), ("3/8-16", "8", 6974)],
)
def test_clamp_loads_of_a_chart(name: str, grade: str, pounds: float) -> None:
    """A chart of torque against tension: clamp load at three quarters of proof, from areas of four digits."""
    assert proof_preload(find_thread(name), grade) / POUND == pytest.approx(pounds, abs=1.5)


@published(
    quantity="tightening torque of a bolt",
    source=TORQUE_CHART,
    place="tightening torque at K 0.15, 0.18 and 0.20",
    code="fits.fasteners.torque_for",
)
@pytest.mark.parametrize(
    ("grade", "nut_factor", "printed"),
    [
        ("5", 0.15, 76),
        ("5", 0.18, 91),
        ("5", 0.20, 101),
        ("8", 0.15, 107),
        ("8", 0.18, 129),
        ("8", 0.20, 143),
    ],
)
def test_torques_of_a_chart(grade: str, nut_factor: float, printed: float) -> None:
    """The same chart: 1/4-20 in inch-pounds, printed to whole ones."""
    preload = proof_preload(find_thread("1/4-20"), grade)
    assert torque_for(preload, 0.25 * INCH, nut_factor) / LB_IN == pytest.approx(printed, abs=0.75)


@pytest.mark.beside("a look-up")
@pytest.mark.parametrize(("grade", "proof", "tensile"), [("2", 55, 74), ("5", 85, 120), ("8", 120, 150)])
def test_grades(grade: str, proof: float, tensile: float) -> None:
    """SAE J429, sizes up to 3/4 in [ksi]; grade 8 and the 74 of grade 2 from memory."""
    assert GRADES[grade].proof / KSI == pytest.approx(proof, abs=1e-9)
    assert GRADES[grade].tensile / KSI == pytest.approx(tensile, abs=1e-9)


@published(
    quantity="thread engagement against stripping",
    source=ENGAGEMENT,
    place="M10 × 1.5 in wrought aluminium",
    code="fits.threads.engagement_needed",
    figures=(1,),
)
def test_stripping_in_wrought_aluminium() -> None:
    """A thread calculator in print: M10 × 1.5, 830 MPa, aluminium 310 MPa at 0.6, basic sizes: 9.4 mm."""
    thread = find_thread("M10 × 1.5")
    assert thread.stress_area * 1e6 == pytest.approx(58.0, abs=0.05)
    needed = engagement_needed(830e6 * thread.stress_area, thread, 0.6 * 310e6, basic_sizes(thread))
    assert needed * 1e3 == pytest.approx(9.414, abs=0.05)


@pytest.mark.from_memory("limits of size of FED-STD-H28")
def test_engagement_for_a_steel_hole() -> None:
    """FED-STD-H28/2B: 3/8-16 with Es 0.3287 and Kn 0.321 in (limits from memory): 0.269 in."""
    sizes = LeastMaterial(0.3643 * INCH, 0.3287 * INCH, 0.3401 * INCH, 0.321 * INCH)
    thread = Thread("3/8-16", 0.375 * INCH, INCH / 16)
    assert engagement_for_bolt(thread, sizes) / INCH == pytest.approx(0.269, abs=0.005)


@pytest.mark.beside("a look-up", code="fits.fasteners.nut_factors")
def test_nut_factor_bands() -> None:
    """Fastener makers' engineering data: nut factors of steel bolts by finish."""
    assert {finish: nut_factors(finish) for finish in NUT_FACTORS} == {
        "dry": (0.18, 0.27),
        "oiled": (0.10, 0.26),
        "zinc plated": (0.17, 0.35),
        "phosphated and oiled": (0.15, 0.22),
    }


@published(
    quantity="change of length under a force",
    source=HANGING_RODS,
    place="stretch with the ride at rest",
    code="fits.retorque.joint_shortening",
)
def test_stretch_of_a_rod() -> None:
    """A worked exercise: 1900 N on a rod of 15 m and 8 cm², modulus 2e11 Pa: 1.78e-4 m."""
    assert joint_shortening(1900.0, 15.0, 8e-4, 2e11) == pytest.approx(1.78e-4, abs=0.01e-4)
