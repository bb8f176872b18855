"""Figures of the bench worked out another way: integrals, roots, extremes and an independent calculator."""

from __future__ import annotations

import math
from itertools import product

import GTC as gtc
import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from bellhousing.fits.fasteners import (
    KSI,
    NUT_FACTORS,
    TAPPED,
    WRENCH,
    Hole,
    insert_strip_force,
    preload_band,
    preload_of,
)
from bellhousing.fits.instruments import shipped_instruments
from bellhousing.fits.measurement import measure
from bellhousing.fits.parts import Place, Stack, base_of_measured
from bellhousing.fits.seals import (
    Shape,
    compression_set,
    follows,
    gland_fill,
    remaining_squeeze,
    ring_volume,
    section_after,
    squeeze,
    stretch,
    stretched_section,
)
from bellhousing.fits.threads import INCH, bolt_shear_area, find_thread, hole_shear_area, weaker_hole_factor

THOU = 25.4e-6


def turned(section: float, inside: float, shape: Shape) -> float:
    """Volume of a ring added up from thin tubes about its axis [m³]."""

    def tube(radius: float) -> float:
        off = radius - 0.5 * (inside + section)
        high = section if shape == "square" else 2.0 * math.sqrt(max(0.25 * section**2 - off**2, 0.0))
        return 2.0 * math.pi * radius * high

    return float(quad(tube, 0.5 * inside, 0.5 * inside + section, epsabs=0.0)[0])


@pytest.mark.beside(
    "added up from thin tubes by scipy", code=("fits.seals.ring_volume", "fits.seals.gland_fill")
)
@pytest.mark.parametrize("shape", ["round", "square"])
def test_volume_of_a_ring_and_its_share_of_the_groove(shape: Shape) -> None:
    """Ring and groove as bodies turned about the axis, each added up from thin tubes."""
    ring = turned(0.0035, 0.025, shape)
    assert ring_volume(0.0035, 0.025, shape) == pytest.approx(ring, rel=1e-6)
    groove = quad(lambda radius: 2.0 * math.pi * radius * 0.0048, 0.0125, 0.0125 + 0.0028)[0]
    assert gland_fill(0.0035, 0.025, 0.0048, 0.0028, shape=shape) == pytest.approx(ring / groove, rel=1e-6)


@pytest.mark.beside(
    "the section at which the volume is kept, by a root finder",
    code=("fits.seals.stretched_section", "fits.seals.stretch"),
)
def test_a_stretched_ring_by_the_root_of_its_volume() -> None:
    """As thin a ring as makes no matter: the section that keeps its volume on a wider floor."""
    section, inside = 1e-6, 0.03
    wide = inside * 1.05
    volume = turned(section, inside, "round")
    kept = brentq(lambda thin: turned(thin, wide, "round") / volume - 1.0, 0.5e-6, 1.5e-6, xtol=1e-12)
    assert stretched_section(section, inside, wide) == pytest.approx(kept, rel=1e-3)
    assert inside * (1.0 + stretch(inside, wide)) == pytest.approx(wide, rel=1e-12)


@pytest.mark.beside(
    "ASTM D395 read backwards, and the root where the ring lets go",
    code=("fits.seals.section_after", "fits.seals.remaining_squeeze", "fits.seals.follows"),
)
def test_an_old_ring_by_what_it_does_in_its_groove() -> None:
    """Its set is what the standard's sample would have, its squeeze that of the ring it has become."""
    section, depth = 0.0035, 0.0028
    recovered = section_after(section, depth, set_share=0.3)
    assert compression_set(section, depth, recovered) == pytest.approx(0.3, rel=1e-12)
    old = section_after(section, depth, set_share=0.3, shrink=0.02)
    pressed = old * squeeze(old, depth)
    assert remaining_squeeze(section, depth, set_share=0.3, shrink=0.02) * section == pytest.approx(pressed)
    gone = brentq(lambda apart: squeeze(old, depth + apart), 0.0, 1e-3)
    assert follows(section, depth, set_share=0.3, shrink=0.02) == pytest.approx(gone, rel=1e-9)


@pytest.mark.beside("least and greatest over a grid of what is not known", code="fits.fasteners.preload_band")
@pytest.mark.parametrize("finish", sorted(NUT_FACTORS))
def test_the_band_of_a_preload_holds_every_bolt(finish: str) -> None:
    """Over all nut factors of the finish and all errors of the wrench, none lies outside."""
    factors = np.linspace(*NUT_FACTORS[finish], 7)
    wrenches = np.linspace(1.0 - WRENCH, 1.0 + WRENCH, 5)
    pulled = [preload_of(25.0 * share, 0.0095, factor) for share, factor in product(wrenches, factors)]
    assert preload_band(25.0, 0.0095, finish) == pytest.approx((min(pulled), max(pulled)), rel=1e-12)


@pytest.mark.beside(
    "the length at which both threads strip at once, by a root finder", code="fits.threads.weaker_hole_factor"
)
def test_a_weak_hole_is_as_strong_as_its_bolt_on_the_length_told() -> None:
    """The hole's thread on so many times the length strips at the force of the bolt's."""
    thread, bolt, hole = find_thread("3/8-16"), 120 * KSI, 45 * KSI
    strips = bolt * bolt_shear_area(thread, 0.01)
    length = brentq(lambda long: hole * hole_shear_area(thread, long) - strips, 0.005, 0.2)
    assert weaker_hole_factor(thread, bolt, hole) == pytest.approx(length / 0.01, rel=1e-9)


@pytest.mark.beside(
    "counted thread by thread",
    code=("fits.fasteners.Hole.sound_engagement", "fits.fasteners.Hole.strip_force"),
)
def test_a_torn_hole_counted_thread_by_thread() -> None:
    """Sixteen threads to the inch: of eight, five are left, and each bears its share of a whole hole."""
    thread = find_thread("3/8-16")
    whole = Hole(thread, 0.5 * INCH, TAPPED["cast aluminium"])
    torn = Hole(thread, 0.5 * INCH, TAPPED["cast aluminium"], damaged=3.0)
    assert torn.sound_engagement == pytest.approx(5 * INCH / 16, rel=1e-12)
    one_thread = 0.6 * TAPPED["cast aluminium"] * hole_shear_area(thread, INCH / 16)
    assert whole.strip_force == pytest.approx(sum([one_thread] * 8), rel=1e-9)


@pytest.mark.beside(
    "the shear area is that of a cylinder somewhat within the tap", code="fits.fasteners.insert_strip_force"
)
def test_an_insert_shears_the_metal_at_its_own_diameter() -> None:
    """Per area of metal the insert's tap, 0.4562 in for 3/8-16, bears as the bare hole's 0.375 in does."""
    hole = Hole(find_thread("3/8-16"), 0.5 * INCH, TAPPED["cast aluminium"])
    grown = insert_strip_force(hole) / hole.strip_force
    assert grown == pytest.approx(0.4562 / 0.375, rel=0.009)


@pytest.mark.beside("the sum turned round", code="fits.parts.base_of_measured")
def test_a_stack_put_together_again_has_the_gap_that_was_measured() -> None:
    """Whatever sits in it, on either side."""
    places = (Place("washer", -1, 1, (0.0021,)), Place("plate", +1, 2, (0.004, 0.0042)))
    base = base_of_measured(0.0005, places)
    stack = Stack("play", "play", base, 0.0, 0.0, 0.001, 0.0005, places, 0.0005)
    assert stack.gap([place.fitted for place in places]) == pytest.approx(0.0005, rel=1e-9)


@pytest.mark.other_program(
    "GUM Tree Calculator",
    code=(
        "fits.measurement.measure:budget.standard_uncertainty",
        "fits.measurement.Measurement.value",
        "fits.measurement.Measurement.standard_uncertainty",
    ),
)
def test_a_reading_is_what_the_calculator_makes_of_it() -> None:
    """Four readings, half a step either way and what the instrument may be off, all with their freedom."""
    readings = [20 * THOU, 21 * THOU, 23 * THOU, 22 * THOU]
    dial = shipped_instruments()["dial-indicator"]
    step, off = dial.figure("resolution", 21 * THOU), dial.figure("permissible_error", 21 * THOU)
    wanted = (
        gtc.type_a.estimate(readings)
        + gtc.ureal(0.0, gtc.type_b.uniform(0.5 * step))
        + gtc.ureal(0.0, gtc.type_b.uniform(off))
    )
    found = measure(readings, dial, unit="in")
    assert found.value == pytest.approx(gtc.value(wanted), rel=1e-9)
    assert found.standard_uncertainty == pytest.approx(gtc.uncertainty(wanted), rel=1e-6)
    assert found.budget.standard_uncertainty == pytest.approx(gtc.uncertainty(wanted), rel=1e-6)
    assert found.budget.freedom == pytest.approx(gtc.dof(wanted), rel=1e-6)
