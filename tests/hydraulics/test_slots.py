"""Leaks of parts added up from the speed of the fluid in their slots."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from bellhousing.hydraulics.leakage import RING_TILT, SEAT_FILM, sealing_ring_flow
from bellhousing.hydraulics.pump import pump_leakage


def slot(width: float, gap: float, pressure: float, viscosity: float, length: float) -> float:
    """Flow through a slot from its laminar speed u = p y (h − y) / (2 μ L), added up over the gap [m³/s]."""
    steep = pressure / (2.0 * viscosity * length)
    return width * float(quad(lambda y: steep * y * (gap - y), 0.0, gap, epsabs=0.0)[0])


@pytest.mark.beside(
    "added up from the speed in each slot by scipy", code="hydraulics.leakage.sealing_ring_flow"
)
def test_a_sealing_ring_passes_what_its_two_slots_pass() -> None:
    """The film under its face all round, and its open gap."""
    seat = slot(np.pi * 0.05, SEAT_FILM + RING_TILT * 2e-4, 5e5, 0.02, 2.0e-3)
    gap = slot(4e-4, 1.0e-4, 5e5, 0.02, 2.4e-3)
    assert sealing_ring_flow(0.05, 2e-4, 4e-4, 5e5, 0.02) == pytest.approx(seat + gap, rel=1e-9, abs=0.0)
    assert seat > 0.05 * gap


@pytest.mark.beside("added up from the speed in each slot by scipy", code="hydraulics.pump.pump_leakage")
def test_a_pump_loses_what_its_three_slots_pass() -> None:
    """Both faces of the gears, and the tips at the crescent."""
    faces = 2.0 * slot(0.03, 4e-5, 1.0, 0.02, 0.012)
    tips = slot(0.018, 9e-5, 1.0, 0.02, 0.004)
    found = pump_leakage(
        4e-5, 9e-5, seal_length=0.012, seal_width=0.03, gear_width=0.018, tip_length=0.004, viscosity=0.02
    )
    assert found == pytest.approx(faces + tips, rel=1e-9, abs=0.0)
