"""Rings: which size belongs in a groove, what stretch and age do to it, and its limits."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bellhousing.errors import QuantityError
from bellhousing.fits.dash_sizes import INCH, dash_sizes
from bellhousing.fits.seals import (
    MOST_FILL,
    MOST_STRETCH,
    SQUEEZE,
    fitted,
    follows,
    gland_fill,
    remaining_squeeze,
    ring_volume,
    section_after,
    sizes_for,
    spring_back,
    squeeze,
    stretch,
    stretched_section,
)

SMALL = st.floats(0.001, 0.01)
SHARE = st.floats(0.0, 1.0)


@pytest.mark.beside("by hand", code="fits.seals.fitted:squeeze")
def test_the_groove_cut_for_a_ring_finds_it_again() -> None:
    """A groove of a -214 ring, measured, names -214 first, with nothing against it."""
    best = sizes_for(0.984 * INCH, 0.113 * INCH, 0.187 * INCH)[0]
    assert best.size.dash == "-214"
    assert best.fits
    assert best.squeeze == pytest.approx((0.139 - 0.113) / 0.139, abs=1e-9)


def test_every_standard_ring_is_found_from_its_own_groove() -> None:
    """For every size a groove of 20 % squeeze at 2 % stretch leads back to a ring that fits in all."""
    for size in dash_sizes().values():
        if size.tube:
            continue
        floor = size.inside_diameter * 1.02
        thin = stretched_section(size.section, size.inside_diameter, floor)
        best = sizes_for(floor, 0.8 * thin, 1.45 * size.section)[0]
        assert best.fits, size.dash
        assert best.size.section == size.section


def test_what_speaks_against_a_ring_is_said() -> None:
    """Too deep, too shallow, too tight, loose, too thick for the groove: each in words."""
    ring = dash_sizes()["-214"]
    cases = {
        "does not reach": fitted(ring, 0.984 * INCH, 0.150 * INCH, 0.187 * INCH),
        "less than 15 %": fitted(ring, 0.984 * INCH, 0.130 * INCH, 0.187 * INCH),
        "more than 30 %": fitted(ring, 0.984 * INCH, 0.080 * INCH, 0.250 * INCH),
        "stretched by": fitted(ring, 1.100 * INCH, 0.110 * INCH, 0.187 * INCH),
        "loose by": fitted(ring, 0.900 * INCH, 0.113 * INCH, 0.187 * INCH),
        "thicker than the groove": fitted(ring, 0.984 * INCH, 0.113 * INCH, 0.130 * INCH),
        "fills": fitted(ring, 0.984 * INCH, 0.113 * INCH, 0.145 * INCH),
    }
    for words, case in cases.items():
        assert any(words in problem for problem in case.problems), (words, case.problems)
        assert not case.fits


def test_a_sliding_ring_takes_less_squeeze_than_a_standing_one() -> None:
    """The same groove is right for a ring that stands still and too tight for one that slides."""
    ring = dash_sizes()["-214"]
    assert fitted(ring, 0.984 * INCH, 0.110 * INCH, 0.187 * INCH, "static").fits
    sliding = fitted(ring, 0.984 * INCH, 0.110 * INCH, 0.187 * INCH, "dynamic")
    assert any("more than 16 %" in problem for problem in sliding.problems)


@given(section=SMALL, inside=st.floats(0.01, 0.3), pulled=st.floats(0.0, 0.05))
def test_a_stretched_ring_keeps_its_volume(section: float, inside: float, pulled: float) -> None:
    """To first order in section over diameter, which the formula leaves out."""
    wide = inside * (1.0 + pulled)
    thin = stretched_section(section, inside, wide)
    assert thin**2 * wide == pytest.approx(section**2 * inside, rel=1e-9)
    assert stretch(inside, wide) == pytest.approx(pulled, abs=1e-9)


def test_a_square_ring_fills_more_than_a_round_one() -> None:
    """By 4/π, with the same section and groove; the same squeeze formula holds for both."""
    round_one = gland_fill(0.003, 0.05, 0.004, 0.0025)
    square = gland_fill(0.003, 0.05, 0.004, 0.0025, shape="square")
    assert square / round_one == pytest.approx(4.0 / math.pi, rel=1e-12)
    assert ring_volume(0.003, 0.05, "square") == pytest.approx(math.pi * 0.003**2 * 0.053, rel=1e-12)


@given(section=SMALL, tight=st.floats(0.05, 0.3), lasting=SHARE, shrink=st.floats(0.0, 0.1))
def test_age_only_takes_squeeze_away(section: float, tight: float, lasting: float, shrink: float) -> None:
    """Set and shrinking never add; with a full set and no shrinking nothing but contact is left."""
    depth = section * (1.0 - tight)
    new = squeeze(section, depth)
    old = remaining_squeeze(section, depth, set_share=lasting, shrink=shrink)
    assert old <= new + 1e-12
    assert remaining_squeeze(section, depth, set_share=1.0) == pytest.approx(0.0, abs=1e-12)
    assert section_after(section, depth) == section


def test_a_set_and_shrunk_ring_stands_clear() -> None:
    """Four fifths set and five in a hundred shrunk: a ring of 20 % squeeze no longer touches."""
    assert remaining_squeeze(0.00353, 0.00353 * 0.8, set_share=0.8, shrink=0.05) < 0.0
    # By hand: (1 - 0.8·0.2)·0.95 - 0.8 = -0.002 of the section.
    assert remaining_squeeze(1.0, 0.8, set_share=0.8, shrink=0.05) == pytest.approx(-0.002, abs=1e-12)


def test_hard_rubber_does_not_follow() -> None:
    """Of the same squeeze a soft ring gives all back, a hard one part, one like stone nothing."""
    assert spring_back(75.0) == 1.0
    assert spring_back(87.5) == pytest.approx(0.5)
    assert spring_back(98.0) == 0.0
    assert follows(0.0035, 0.0028, hardness=75.0) == pytest.approx(0.0007)
    assert follows(0.0035, 0.0028, hardness=90.0) < 0.0003
    # One that stands clear already stands as clear whatever its hardness.
    assert follows(0.0035, 0.0035, shrink=0.1, hardness=95.0) == pytest.approx(-0.00035)


@pytest.mark.parametrize(("section", "depth"), [(0.0, 0.001), (0.001, 0.0), (-0.001, 0.001)])
def test_impossible_sizes_are_refused(section: float, depth: float) -> None:
    """Nothing is squeezed by a ring or a gland of no size."""
    with pytest.raises(QuantityError):
        squeeze(section, depth)


def test_limits_are_what_the_guides_say() -> None:
    """A standing ring may be squeezed more than one that slides."""
    assert SQUEEZE["dynamic"][1] < SQUEEZE["static"][1]
    assert 0.0 < MOST_STRETCH < 1.0
    assert 0.0 < MOST_FILL < 1.0
