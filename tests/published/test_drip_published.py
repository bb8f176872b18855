"""Drops, spots and standing fluid against published figures and against numbers worked out another way."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.hydraulics.drip import (
    drop_volume,
    falling_share,
    spot_volume,
    static_pressure,
    time_to_lose,
    volume_lost,
)
from bellhousing.hydraulics.leakage import slot_flow

# W. D. Harkins and F. E. Brown, J. Am. Chem. Soc. 41 (1919) 499, table of f against r / V^(1/3): from memory.
FALLING = {0.40: 0.6828, 0.50: 0.6515, 0.60: 0.6250, 0.70: 0.6093, 0.80: 0.6000, 0.90: 0.5998, 1.00: 0.6098}


@pytest.mark.from_memory("W. D. Harkins and F. E. Brown, J. Am. Chem. Soc. 41, 1919")
@pytest.mark.parametrize(("share", "falls"), FALLING.items())
def test_share_of_a_drop_that_falls(share: float, falls: float) -> None:
    """The fit agrees with the measured table within one and a half in a hundred."""
    assert float(falling_share(share)) == pytest.approx(falls, rel=0.015)


@pytest.mark.beside("worked out another way")
def test_a_share_outside_the_table_is_unknown() -> None:
    """Neither end is carried on beyond what was measured."""
    assert np.isnan(falling_share(np.array([0.29, 1.21]))).all()
    assert np.isnan(drop_volume(0.02, 0.03, 860.0))


@pytest.mark.beside("worked out another way", code="hydraulics.drip.drop_volume")
def test_a_drop_weighs_what_surface_tension_holds() -> None:
    """ρ g V equals 2π r γ times the share that falls at that very drop."""
    radius = np.linspace(0.8e-3, 4.8e-3, 30)
    volume = drop_volume(radius, 0.0728, 998.2)
    x = radius / np.cbrt(volume)
    known = np.isfinite(volume)
    assert known.sum() > 20
    held = 2 * np.pi * radius * 0.0728 * falling_share(x)
    np.testing.assert_allclose((998.2 * 9.80665 * volume)[known], held[known], rtol=1e-12)


@pytest.mark.beside("a band, U.S. Geological Survey")
def test_a_tap_drips_a_fifth_to_a_third_of_a_millilitre_and_oil_much_less() -> None:
    """A tap's drops are 0.2 to 0.33 ml of water (U.S. Geological Survey, drip accumulator).

    Tate's drop is 0.2 ml at a tip of 6.7 mm; its range ends there, so that the largest tip of the range must
    reach at least 0.19 ml; the same tip lets go less than half as much oil.
    """
    radius = np.linspace(3e-3, 7.2e-3, 200)
    water = drop_volume(radius, 0.0728, 998.2)
    assert 0.19e-6 < np.nanmax(water) < 0.33e-6
    both = np.isfinite(drop_volume(radius, 0.030, 850.0)) & np.isfinite(water)
    assert (drop_volume(radius, 0.030, 850.0)[both] < 0.55 * water[both]).all()


@pytest.mark.from_memory("a foot of water, 0.4335 psi")
def test_standing_fluid() -> None:
    """A foot of water presses with 0.4335 psi (from memory); above the surface nothing."""
    assert float(static_pressure(1000.0, 0.3048)) / 6894.757 == pytest.approx(0.4335, rel=1e-3)
    assert float(static_pressure(860.0, -0.01)) == 0.0


@pytest.mark.beside("worked out another way", code="hydraulics.drip.spot_volume")
def test_a_spot_holds_what_its_disc_holds() -> None:
    """A disc of 113 mm across in card 1 mm thick, half soaked, holds 5 ml (π 56.4² mm² is 10 000 mm²)."""
    assert float(spot_volume(0.11284, 1e-3, 0.5)) == pytest.approx(5e-6, rel=1e-3)


@pytest.mark.beside("worked out another way", code="hydraulics.drip.time_to_lose")
def test_time_under_a_falling_level_is_the_integral() -> None:
    """Stepping the level down through an annulus gives the time of the closed form."""
    surface, density, viscosity, head = 0.035, 865.0, 0.031, 0.03
    gap = {"width": np.pi * 0.02, "height": 20e-6, "viscosity": viscosity, "length": 0.006}
    lost, elapsed, step = 0.0, 0.0, 50.0
    wanted, steady = 0.0004, 2e-10

    def rate(gone: float) -> float:
        pressure = static_pressure(density, head - gone / surface)
        return steady + float(slot_flow(pressure_drop=pressure, **gap))

    while lost < wanted:
        middle = lost + 0.5 * step * rate(lost)
        lost += step * rate(middle)
        elapsed += step
    by_head = rate(0.0) - steady
    closed = float(time_to_lose(wanted, steady, by_head, head * surface))
    assert closed == pytest.approx(elapsed, rel=2e-3)


@pytest.mark.beside("worked out another way")
def test_a_level_never_falls_below_the_hole_it_leaves_by() -> None:
    """Without a steady leak the fluid above the gap goes and no more; with one the rest follows."""
    assert np.isinf(time_to_lose(2e-4, 0.0, 1e-9, 1e-4))
    assert float(time_to_lose(2e-4, 1e-9, 0.0, -1.0)) == pytest.approx(2e5)
    with_both = float(time_to_lose(2e-4, 1e-9, 1e-9, 1e-4))
    assert with_both == pytest.approx(float(time_to_lose(1e-4, 1e-9, 1e-9, 1e-4)) + 1e5)


@pytest.mark.beside("worked out another way", code="hydraulics.drip.volume_lost")
def test_volume_and_time_are_each_others_inverse() -> None:
    """What is lost in the time a volume takes is that volume, above the hole and below it."""
    wanted = np.array([2e-5, 9e-5, 1.5e-4, 3e-4])
    seconds = time_to_lose(wanted, 2e-10, 1e-9, 1e-4)
    np.testing.assert_allclose(volume_lost(seconds, 2e-10, 1e-9, 1e-4), wanted, rtol=1e-9)
    np.testing.assert_allclose(volume_lost(1e5, 2e-10, 0.0, -1.0), 2e-5)


@pytest.mark.beside("worked out another way")
def test_with_no_steady_leak_no_more_goes_than_stands_above() -> None:
    """After a very long time the fluid above the gap is gone and nothing else."""
    assert float(volume_lost(1e12, 0.0, 1e-9, 1e-4)) == pytest.approx(1e-4)
