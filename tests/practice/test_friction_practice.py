"""Quantities of the holding elements that rest on common practice, no source: force balances and limits."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.friction.band import servo_force
from bellhousing.friction.capacity import capacity_margin
from bellhousing.friction.engagement import ramp_engagement
from bellhousing.friction.plate_clutch import apply_force, centrifugal_force


def test_apply_force_balance() -> None:
    """4 bar on 50 cm² less 600 N of springs is 1400 N; too little pressure gives no force, never a pull."""
    assert apply_force([4e5, 1e5], 50e-4, 600.0) == pytest.approx([1400.0, 0.0])
    assert apply_force(1e5, 50e-4, 600.0, centrifugal=300.0) == pytest.approx(200.0)


def test_centrifugal_force_is_the_integral_of_the_oil_pressure() -> None:
    """The closed form against a sum of ½·ρ·ω²·(r² − r0²) over rings of the piston."""
    density, speed, inner, outer, feed = 830.0, 400.0, 0.04, 0.07, 0.02
    edges = np.linspace(inner, outer, 20001)
    middle, width = (edges[1:] + edges[:-1]) / 2, np.diff(edges)
    pressure = 0.5 * density * speed**2 * (middle**2 - feed**2)
    summed = float(np.sum(pressure * 2 * np.pi * middle * width))
    assert centrifugal_force(density, speed, inner, outer, feed) == pytest.approx(summed, rel=1e-7)
    assert centrifugal_force(density, 0.0, inner, outer, feed) == 0.0


def test_servo_force_balance() -> None:
    """5 bar on 20 cm² less 200 N, levered three to one; never below zero."""
    assert servo_force([5e5, 0.5e5], 20e-4, 200.0, 3.0) == pytest.approx([2400.0, 0.0])


def test_margin_is_infinite_without_demand() -> None:
    """Capacity over the size of the demand, sample by sample."""
    assert capacity_margin([300.0, 300.0, 300.0], [150.0, -600.0, 0.0]).tolist() == [2.0, 0.5, np.inf]


def test_ordinary_shift_time() -> None:
    """A shift of an invented three-speed with its accumulator's ramp takes the ordinary 0.4 to 0.8 s."""
    found = ramp_engagement(
        130.0, 0.25, 20.0, start_torque=90.0, end_torque=190.0, ramp_time=0.6, drive_torque=75.0
    )
    assert 0.4 < found.time < 0.8
