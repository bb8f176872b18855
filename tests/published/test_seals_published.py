"""Rings and grooves against figures printed elsewhere; the source stands beside each."""

from __future__ import annotations

import pytest

from bellhousing.fits.dash_sizes import INCH, SERIES, dash_sizes
from bellhousing.fits.seals import (
    HARDNESS,
    MOST_FILL,
    MOST_STRETCH,
    SQUEEZE,
    compression_set,
    piston_groove,
    spring_back,
    squeeze,
    squeeze_budget,
    squeeze_span,
    stretch,
    stretched_section,
)
from tests.published.sources import GLANDS, NAVEDTRA, RING_CALCULATOR, SULLIVAN

published = pytest.mark.published

DYNAMIC = {
    0.070: ((0.055, 0.057), (15.0, 25.0)),
    0.103: ((0.087, 0.090), (10.0, 18.0)),
    0.139: ((0.119, 0.123), (9.0, 17.0)),
    0.210: ((0.183, 0.188), (8.5, 15.0)),
    0.275: ((0.234, 0.240), (10.5, 17.0)),
}
STATIC = {0.070: ((0.050, 0.055), (18.0, 32.0)), 0.139: ((0.110, 0.116), (14.0, 23.0))}
TOLERANCE = {series.section: series.tolerance for series in SERIES}


@pytest.mark.beside("a look-up")
@pytest.mark.parametrize(
    ("section", "first", "last", "smallest", "largest"),
    [
        (0.070, 1, 50, 0.029, 5.239),
        (0.103, 102, 178, 0.049, 9.737),
        (0.139, 201, 284, 0.171, 17.955),
        (0.210, 309, 395, 0.412, 25.940),
        (0.275, 425, 475, 4.475, 25.940),
    ],
)
def test_sections_and_ends_of_each_series(
    section: float, first: int, last: int, smallest: float, largest: float
) -> None:
    """SAE AS568, size chart: sections by hundreds and the range of inside diameters [in].

    The chart seen begins its fourth hundred with makers' extra sizes from 1.350 in; the standard's own begin
    at -425, 4.475 in (from memory).
    """
    rings = [dash_sizes()[f"-{number:03d}"] for number in range(first, last + 1)]
    assert all(ring.section / INCH == pytest.approx(section) for ring in rings)
    inside = [ring.inside_diameter / INCH for ring in rings]
    assert inside == sorted(inside)
    assert (inside[0], inside[-1]) == pytest.approx((smallest, largest), abs=1e-9)


@published(
    quantity="outside diameter of a ring",
    source=NAVEDTRA,
    place="p. 118, ring -429",
    code="fits.dash_sizes.DashSize.outside_diameter",
    figures=(2,),
)
def test_a_large_ring_and_a_boss_ring() -> None:
    """NAVEDTRA 14105, p. 118: -429 is 4.975 by 0.275 in, 5.525 outside; -904 belongs to a 1/4 in tube."""
    large = dash_sizes()["-429"]
    assert large.inside_diameter / INCH == pytest.approx(4.975, abs=1e-9)
    assert large.section / INCH == pytest.approx(0.275, abs=1e-9)
    assert large.outside_diameter / INCH == pytest.approx(5.525, abs=1e-9)
    assert dash_sizes()["-904"].tube / INCH == pytest.approx(0.25, abs=1e-12)


@pytest.mark.from_memory("SAE AS568")
def test_single_rows() -> None:
    """SAE AS568, single rows, from memory: inside diameters [in]."""
    rows = {
        "-010": 0.239, "-012": 0.364, "-014": 0.489, "-016": 0.614, "-020": 0.864, "-024": 1.114,
        "-028": 1.364, "-110": 0.362, "-112": 0.487, "-116": 0.737, "-210": 0.734, "-214": 0.984,
        "-218": 1.234, "-222": 1.484, "-325": 1.475,
    }  # fmt: skip
    for dash, inside in rows.items():
        assert dash_sizes()[dash].inside_diameter / INCH == pytest.approx(inside, abs=1e-9), dash


@published(
    quantity="diameter of a piston's groove",
    source=SULLIVAN,
    place="ex. 11.1, p. 269",
    code="fits.seals.piston_groove:diameter",
    figures=(0,),
)
@published(
    quantity="width of a piston's groove",
    source=SULLIVAN,
    place="ex. 11.1, p. 269",
    code="fits.seals.piston_groove:width",
    figures=(1,),
)
def test_groove_of_a_piston() -> None:
    """Sullivan, *Fluid Power*, 4th ed., ch. 11, ex. 11.1, p. 269: 4 in, ring 0.140, 20 %: 3.776, 0.196."""
    groove = piston_groove(4.0 * INCH, 0.140 * INCH, 0.20)
    assert groove.diameter / INCH == pytest.approx(3.776, abs=1e-3)
    assert groove.width / INCH == pytest.approx(0.196, abs=1e-3)


@published(
    quantity="squeeze of a ring, least and most",
    source=GLANDS,
    place="sliding rings",
    code="fits.seals.squeeze_span",
)
@pytest.mark.parametrize("section", DYNAMIC)
def test_squeeze_of_sliding_rings(section: float) -> None:
    """Seal maker's gland table for sliding rings: depth of gland [in] and squeeze [%], to half a point."""
    depth, printed = DYNAMIC[section]
    span = squeeze_span(section, TOLERANCE[section], *depth)
    assert [100.0 * end for end in span] == pytest.approx(printed, abs=0.5)


@published(
    quantity="squeeze of a ring, least and most",
    source=GLANDS,
    place="standing radial rings",
    code="fits.seals.squeeze_span",
)
@pytest.mark.parametrize("section", STATIC)
def test_squeeze_of_standing_rings(section: float) -> None:
    """Seal maker's gland table for radial rings that stand still: depth [in] and squeeze [%]."""
    depth, printed = STATIC[section]
    span = squeeze_span(section, TOLERANCE[section], *depth)
    assert [100.0 * end for end in span] == pytest.approx(printed, abs=0.5)


@published(
    quantity="squeeze after swelling and setting",
    source=SULLIVAN,
    place="ex. 11.3",
    code="fits.seals.squeeze_budget",
)
def test_squeeze_after_swelling_and_setting() -> None:
    """Sullivan, *Fluid Power*, 4th ed., ch. 11, ex. 11.3: 15 % new, 20 % swell, 8 % lost: 27 %."""
    assert squeeze_budget(0.15, 0.20, 0.08) == pytest.approx(0.27, abs=1e-12)


@published(
    quantity="stretch of a ring in its groove",
    source=RING_CALCULATOR,
    place="the case it opens with, ratio of diameters",
    code="fits.seals.stretch",
    figures=(0,),
)
@published(
    quantity="section lost by a stretched ring",
    source=RING_CALCULATOR,
    place="the case it opens with, shrinking of the section",
    code="fits.seals.stretched_section",
    figures=(1,),
)
def test_a_ring_stretched_on_its_floor() -> None:
    """A ring of 0.984 by 0.139 in on 1.000 in: diameters as 1.0163 to 1, the section shrinks by 0.8 %."""
    assert 1.0 + stretch(0.984 * INCH, 1.000 * INCH) == pytest.approx(1.0163, abs=0.00005)
    thin = stretched_section(0.139 * INCH, 0.984 * INCH, 1.000 * INCH)
    assert 100.0 * (1.0 - thin / (0.139 * INCH)) == pytest.approx(0.8, abs=0.05)


@pytest.mark.beside("a look-up")
def test_limits_of_the_guides() -> None:
    """Seal makers' guides: (W - depth)/W, at most 30 % standing and 16 % sliding, fill 85 %, stretch 5 %."""
    assert squeeze(0.139, 0.116) == pytest.approx((0.139 - 0.116) / 0.139, abs=1e-12)
    assert SQUEEZE["static"][1] == 0.30
    assert SQUEEZE["dynamic"] == (0.10, 0.16)
    assert (MOST_FILL, MOST_STRETCH) == (0.85, 0.05)


@pytest.mark.beside("a definition with figures of our own", code="fits.seals.compression_set")
def test_compression_set_at_constant_deflection() -> None:
    """ASTM D395-16, method B (definition); 12.5 mm pressed to 9.375 mm, back to 12.0 mm: 16 % (own)."""
    assert compression_set(12.5e-3, 9.375e-3, 12.0e-3) == pytest.approx(0.16, abs=1e-12)
    # The standard's own sample and deflection give the spacer of the example.
    assert 12.5 * (1 - 0.25) == 9.375


@pytest.mark.beside("a look-up", code="fits.seals.spring_back")
def test_usual_hardness() -> None:
    """*Mechanical Engineer's Handbook*, vol. 3, p. 290: 70 to 80 Shore A, which springs back wholly."""
    assert HARDNESS == (70.0, 80.0)
    assert spring_back(HARDNESS[0]) == spring_back(HARDNESS[1]) == 1.0
    assert spring_back(90.0) < 1.0
