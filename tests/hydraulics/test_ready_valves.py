"""What is worked out once for a drive gives the same as what is worked out whole."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.hydraulics.modulator import ThrottleSignal
from bellhousing.hydraulics.shift_valve import ShiftValve, downshift_governor, thresholds, upshift_governor

CARS = 40


def _drawn(rng: np.random.Generator, low: float, high: float) -> np.ndarray:
    return rng.uniform(low, high, (2, CARS))


@pytest.mark.parametrize("ceiling", [np.inf, 3e5])
@pytest.mark.parametrize("stuck", [0.0, 1.0])
def test_thresholds_of_several_valves_are_those_of_each(ceiling: float, stuck: float) -> None:
    """To the last digit, with a modulator that ends or sticks or does neither."""
    rng = np.random.default_rng(3)
    valves = ShiftValve(
        gain=_drawn(rng, 0.3, 0.9),
        offset=_drawn(rng, 3e4, 2e5),
        down_gain=_drawn(rng, 0.1, 0.5),
        down_offset=_drawn(rng, 1e4, 1e5),
        detent_gain=_drawn(rng, 0.5, 1.0),
        friction=_drawn(rng, 0.0, 1e4),
    )
    signal = ThrottleSignal(
        full=rng.uniform(4e5, 6e5, CARS),
        slope=rng.uniform(5.0, 9.0, CARS),
        cutback=rng.uniform(0.2, 0.6, CARS),
        stuck=np.where(np.arange(CARS) % 2, stuck, 0.0),
        stuck_at=rng.uniform(0.0, 4e5, CARS),
        ceiling=ceiling,
    )
    vacuum, detent = rng.uniform(0.0, 7e4, CARS), rng.uniform(0.0, 5e5, CARS)
    ready = thresholds(valves, signal)
    up, down = ready.at(vacuum, ready.least(detent))
    assert np.array_equal(up, upshift_governor(valves, signal, vacuum, detent))
    assert np.array_equal(down, downshift_governor(valves, signal, vacuum, detent))
