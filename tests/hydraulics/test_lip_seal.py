"""The gap that a hardened lip leaves."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.hydraulics.leakage import slot_flow
from bellhousing.hydraulics.lip_seal import BENCH, gap_cubed, lip_leakage, reach_at


@pytest.mark.beside("added up degree by degree", code="hydraulics.lip_seal.gap_cubed")
@pytest.mark.parametrize("reach", [-8e-5, -4.1e-5, -4e-5, -2e-5, 0.0, 1e-5, 3.9e-5])
def test_the_integral_is_the_sum_round_the_wall(reach: float) -> None:
    """Added up degree by degree, with the lip clear all round, partly and hardly."""
    theta = np.linspace(0.0, 2.0 * np.pi, 200_001)[:-1]
    gap = np.maximum(4e-5 * np.cos(theta) - reach, 0.0)
    assert gap_cubed(reach, 4e-5) == pytest.approx(float((gap**3).mean() * 2.0 * np.pi), rel=1e-6, abs=0.0)


@pytest.mark.beside("a law that is held against print", code="hydraulics.lip_seal.lip_leakage")
def test_clear_all_round_it_is_an_eccentric_annulus() -> None:
    """The slot law along the circumference, which is checked against print elsewhere, and 1.5 e² more."""
    leak = lip_leakage(-1e-4, 5e-5, 0.15, 1e-3, 0.01)
    slot = float(slot_flow(np.pi * 0.15, 1e-4, 1.0, 0.01, 1e-3))
    assert leak == pytest.approx(slot * (1.0 + 1.5 * 0.5**2), rel=1e-12, abs=0.0)


def test_a_lip_that_reaches_everywhere_passes_nothing() -> None:
    """And the leak grows without a break as it draws back."""
    assert gap_cubed(4e-5, 4e-5) == 0.0
    drawn = gap_cubed(np.linspace(6e-5, -2e-4, 400), 4e-5)
    assert np.all(np.diff(drawn) >= 0.0)
    assert drawn[-1] > 0.0


@pytest.mark.beside("by hand", code="hydraulics.lip_seal.reach_at")
def test_rubber_draws_back_in_the_cold() -> None:
    """As measured at bench temperature, more when hot, less in frost."""
    assert reach_at(1e-5, 6e-3, BENCH) == pytest.approx(1e-5, abs=1e-18)
    assert reach_at(1e-5, 6e-3, 80.0) == pytest.approx(1e-5 + 6e-3 * 1.37e-4 * 60.0, rel=1e-9)
    assert reach_at(1e-5, 6e-3, -10.0) < 1e-5
