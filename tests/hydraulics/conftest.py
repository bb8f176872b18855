"""Random plausible cars for the tests of this room."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.hydraulics.arrays import Array
from bellhousing.hydraulics.governor import GovernorCurve
from bellhousing.hydraulics.modulator import ThrottleSignal
from bellhousing.hydraulics.pump import Pump
from bellhousing.hydraulics.regulator import Regulator
from bellhousing.hydraulics.shift_valve import ShiftValve
from bellhousing.hydraulics.system import Hydraulics

PSI = 6894.757293168
INHG = 3386.389


def random_system(n: int, seed: int) -> Hydraulics:
    """Hydraulics of n cars scattered widely about a usual three-speed."""
    rng = np.random.default_rng(seed)

    def around(value: float, low: float = 0.7, high: float = 1.3) -> Array:
        return value * rng.uniform(low, high, n)

    def valve(gain: float, offset: float, down_gain: float, down_offset: float) -> ShiftValve:
        return ShiftValve(
            gain=around(gain),
            offset=around(offset * PSI),
            down_gain=around(down_gain),
            down_offset=around(down_offset * PSI),
            detent_gain=around(gain),
            friction=rng.uniform(0.0, 2.0 * PSI, n),
        )

    return Hydraulics(
        governor=GovernorCurve(
            low=around(20.0),
            stop=around(18.0 * PSI),
            high=around(4.0),
            scale=rng.uniform(0.4, 1.1, n),
            residual=rng.choice([0.0, 3.0 * PSI], n),
            friction=rng.uniform(0.0, 2.0 * PSI, n),
        ),
        signal=ThrottleSignal(
            full=around(80.0 * PSI),
            slope=around(9.5),
            cutback=around(0.5, 0.0, 1.5),
            stuck=rng.choice([0.0, 0.0, 0.0, 1.0], n),
            stuck_at=rng.uniform(0.0, 80.0 * PSI, n),
            ceiling=rng.choice([np.inf, 40.0 * PSI], n),
        ),
        regulator=Regulator(
            base=around(65.0 * PSI),
            gain=around(1.0),
            reverse_ratio=around(1.6, 0.9, 1.1),
            second_floor=140.0 * PSI,
            low_floor=150.0 * PSI,
            highest=around(200.0 * PSI),
            droop=around(1.0e8, 0.0, 2.0),
        ),
        first_second=valve(0.49, 7.0, 0.3, 2.0),
        second_third=valve(1.14, 18.0, 0.76, 9.3),
        pump=Pump(around(22e-6), around(0.92, 0.9, 1.05), around(6e-11, 0.1, 8.0), 4.0e-4),
        detent_pressure=around(70.0 * PSI),
        laminar_conductance=around(1.0e-10, 0.0, 2.0),
        orifice_conductance=around(1.5e-7, 0.0, 2.0),
    )


@pytest.fixture(scope="session")
def cars() -> Hydraulics:
    """Four hundred cars, with sticking, stuck and weak parts among them."""
    return random_system(400, seed=20)
