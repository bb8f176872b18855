"""Behaviour of the holding elements beyond the printed examples."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bellhousing.errors import QuantityError
from bellhousing.friction.band import band_tension_ratio, band_torque, self_locking
from bellhousing.friction.engagement import effective_inertia, engagement_energy, ramp_engagement
from bellhousing.friction.plate_clutch import (
    mean_radius_uniform_pressure,
    mean_radius_uniform_wear,
    plate_clutch_force,
    plate_clutch_torque,
)

sizes = st.floats(0.01, 0.2)


@given(inner=sizes, width=st.floats(0.001, 0.1))
def test_new_faces_hold_a_little_more_than_worn(inner: float, width: float) -> None:
    """The uniform-pressure radius lies between the uniform-wear radius and the outer edge."""
    worn, new = (f(inner, inner + width) for f in (mean_radius_uniform_wear, mean_radius_uniform_pressure))
    assert worn < new < inner + width


def test_mean_radii_meet_for_a_thin_face() -> None:
    """For a face of no width both radii are the same."""
    assert mean_radius_uniform_pressure(0.1, 0.1 + 1e-6) == pytest.approx(
        float(mean_radius_uniform_wear(0.1, 0.1 + 1e-6)), rel=1e-9
    )


def test_force_and_torque_are_inverse() -> None:
    """The force for a torque gives that torque, for arrays of samples at once."""
    faces, friction = np.array([6.0, 8.0, 10.0]), np.array([0.10, 0.12, 0.14])
    force = plate_clutch_force(200.0, faces, friction, 0.06)
    assert plate_clutch_torque(faces, friction, force, 0.06) == pytest.approx(np.full(3, 200.0))


def test_impossible_radii_are_refused() -> None:
    """An outer radius within the inner one is an error, in any sample."""
    with pytest.raises(QuantityError):
        mean_radius_uniform_wear([0.05, 0.08], [0.07, 0.07])


@given(friction=st.floats(0.01, 0.3), wrap=st.floats(0.5, 6.0))
def test_energising_multiplies_by_the_tension_ratio(friction: float, wrap: float) -> None:
    """With the drum's turning a band holds e^(μθ) times what it holds against it."""
    energised, other = band_torque(1000, friction, wrap, 0.07, energising=[True, False])
    assert energised / other == pytest.approx(float(band_tension_ratio(friction, wrap)))


def test_self_locking_at_the_limit() -> None:
    """Arms in the tension ratio itself grip; a little more slack arm does not."""
    limit = float(band_tension_ratio(0.2, 4.0))
    assert self_locking(0.2, 4.0, 1.0, limit)
    assert not self_locking(0.2, 4.0, 1.0, limit * 1.001)


def test_a_flat_ramp_is_the_constant_torque_case() -> None:
    """Start and end torque equal: the closed formulas, whether the slip ends in the ramp or after it."""
    for ramp_time in (0.0, 0.05, 10.0):
        found = ramp_engagement(100.0, 0.2, 0.5, start_torque=60.0, end_torque=60.0, ramp_time=ramp_time)
        assert found.time == pytest.approx(100.0 * float(effective_inertia(0.2, 0.5)) / 60.0)
        assert found.energy == pytest.approx(float(engagement_energy(100.0, 0.2, 0.5)))


def test_free_inertias_cost_the_same_energy_however_the_torque_rises() -> None:
    """Without drive and load torque the heat depends on the slip alone, only the time on the ramp."""
    ramps = np.array([0.1, 0.4, 0.8, 5.0])
    found = ramp_engagement(120.0, 0.25, 1.5, start_torque=20.0, end_torque=150.0, ramp_time=ramps)
    assert found.energy == pytest.approx(np.full(4, float(engagement_energy(120.0, 0.25, 1.5))))
    assert np.all(np.diff(found.time) > 0)


@pytest.mark.parametrize("end_torque", [250.0, 180.0, 90.0])
def test_ramp_against_a_step_by_step_integration(end_torque: float) -> None:
    """Time and energy with drive and load torque agree with a fine step-by-step integration."""
    slip, first, second, start, ramp, drive, load = 150.0, 0.2, 2.0, 110.0, 0.4, 60.0, 25.0
    found = ramp_engagement(
        slip, first, second, start_torque=start, end_torque=end_torque, ramp_time=ramp,
        drive_torque=drive, load_torque=load,
    )  # fmt: skip
    step, now, time, energy = 1e-5, slip, 0.0, 0.0
    while now > 0.0:
        torque = start + (end_torque - start) * min(1.0, (time + step / 2) / ramp)
        change = ((drive - torque) / first - (torque - load) / second) * step
        energy += torque * (now + change / 2) * step
        now += change
        time += step
    assert found.time == pytest.approx(time, rel=1e-4)
    assert found.energy == pytest.approx(energy, rel=1e-4)


def test_a_clutch_too_weak_for_its_load_never_stops_slipping() -> None:
    """Torque below the drive torque: no end, and every sample keeps its own answer."""
    found = ramp_engagement(
        100.0, 0.2, 2.0, start_torque=10.0, end_torque=np.array([0.0, 40.0, 300.0]), ramp_time=0.5,
        drive_torque=80.0,
    )  # fmt: skip
    assert np.isinf(found.time).tolist() == [True, True, False]
    assert np.isinf(found.energy).tolist() == [True, True, False]


def test_slip_that_ends_before_the_torque_fades() -> None:
    """With a torque that fades the first meeting counts, not a later root of the parabola."""
    found = ramp_engagement(20.0, 0.2, 0.5, start_torque=100.0, end_torque=1.0, ramp_time=1.0)
    assert found.time < 0.1
    assert found.energy == pytest.approx(float(engagement_energy(20.0, 0.2, 0.5)))
