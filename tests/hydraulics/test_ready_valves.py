"""What is worked out once for a drive gives the same as what is worked out whole."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from bellhousing.hydraulics.modulator import ThrottleSignal
from bellhousing.hydraulics.shift_valve import (
    LEAST_HYSTERESIS,
    ShiftValve,
    downshift_governor,
    thresholds,
    upshift_governor,
)

CARS = 40


def _drawn(rng: np.random.Generator, low: float, high: float) -> np.ndarray:
    return rng.uniform(low, high, (2, CARS))


def parts(ceiling: float, stuck: float) -> tuple[ShiftValve, ThrottleSignal, np.ndarray, np.ndarray]:
    """Two valves on each of forty cars, their modulators, vacuum and detent pressure."""
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
    return valves, signal, rng.uniform(0.0, 7e4, CARS), rng.uniform(0.0, 5e5, CARS)


@pytest.mark.beside(
    "the balance of forces on each valve by a root finder",
    code=("hydraulics.shift_valve.Thresholds.at", "hydraulics.shift_valve.Thresholds.least"),
)
def test_thresholds_by_a_root_finder() -> None:
    """Governor against spring and signal, the governor itself cutting that back, or against the detent."""
    valves, signal, vacuum, detent = parts(np.inf, 0.0)
    ready = thresholds(valves, signal)
    up, down = ready.at(vacuum, ready.least(detent))
    of = {name: np.asarray(value) for name, value in vars(valves).items()}
    full, slope, cutback = (np.asarray(one) for one in (signal.full, signal.slope, signal.cutback))

    def moves(car: int, gain: float, spring: float, kick: float) -> float:
        def pushed(governor: float) -> float:
            free = full[car] - slope[car] * vacuum[car] - cutback[car] * governor
            return float(spring + gain * max(free, 0.0) - governor)

        return max(float(brentq(pushed, 0.0, 2e6)), float(spring + kick * detent[car]))

    for row in range(2):
        for car in range(0, CARS, 4):
            at = row, car
            rises = moves(car, of["gain"][at], of["offset"][at] + of["friction"][at], of["detent_gain"][at])
            gain = of["down_gain"][at]
            falls = moves(car, gain, of["down_offset"][at] - of["friction"][at], gain)
            assert up[at] == pytest.approx(rises, rel=1e-9)
            assert down[at] == pytest.approx(min(falls, (1.0 - LEAST_HYSTERESIS) * rises), rel=1e-9)


@pytest.mark.parametrize("ceiling", [np.inf, 3e5])
@pytest.mark.parametrize("stuck", [0.0, 1.0])
def test_thresholds_of_several_valves_are_those_of_each(ceiling: float, stuck: float) -> None:
    """To the last digit, with a modulator that ends or sticks or does neither."""
    valves, signal, vacuum, detent = parts(ceiling, stuck)
    ready = thresholds(valves, signal)
    up, down = ready.at(vacuum, ready.least(detent))
    assert np.array_equal(up, upshift_governor(valves, signal, vacuum, detent))
    assert np.array_equal(down, downshift_governor(valves, signal, vacuum, detent))
