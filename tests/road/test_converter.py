"""Engine against converter: stall speed as the root of the balance, and its faults."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from bellhousing.road.converter import capacity_factor, engine_speed_on_converter, stall_speed, torque_ratio
from bellhousing.road.engine import full_torque
from tests.road.cars_of import COUNT, changed, scaled, sound

PLENTY = np.full(COUNT, 1e6)
RPM = np.pi / 30.0

often = settings(max_examples=60, deadline=None, derandomize=True, database=None)


@often
@given(
    torque=st.floats(80.0, 900.0),
    peak=st.floats(150.0, 450.0),
    factor=st.floats(6.0, 25.0),
)
def test_balance_of_engine_and_converter(torque: float, peak: float, factor: float) -> None:
    """The speed where the converter takes what the engine gives, against a bracketing root finder."""

    def left_over(speed: float) -> float:
        return torque * (1.0 - 0.35 * ((speed - peak) / peak) ** 2) - (speed / factor) ** 2

    found = engine_speed_on_converter(np.array(torque), np.array(peak), np.array(factor))
    assert float(found) == pytest.approx(brentq(left_over, 0.0, 4.0 * peak), rel=1e-9)


def test_stall_is_where_full_throttle_meets_the_standing_converter() -> None:
    """With brakes and clutches that hold, car by car."""
    cars, _ = sound()
    found = stall_speed(cars, PLENTY)
    given_there = full_torque(cars, found)
    assert (found / cars["converter.capacity_factor"]) ** 2 == pytest.approx(given_there, rel=1e-9)


@pytest.mark.parametrize(("share", "within"), [(0.9, 0.002), (0.7, 0.005), (0.5, 0.06)])
def test_slipping_clutch_lets_the_turbine_turn_until_it_holds(share: float, within: float) -> None:
    """Part of the stall torque held: the speed ratio a root finder finds, coarser towards coupling."""
    cars, _ = sound()
    at_rest = stall_speed(cars, PLENTY)
    most = cars["converter.stall_torque_ratio"] * (at_rest / cars["converter.capacity_factor"]) ** 2
    found = stall_speed(cars, share * most)
    for car in range(0, COUNT, 10):
        held = share * most[car]
        one = {name: float(values[car]) for name, values in cars.values.items()}

        def engine(ratio: float, one: dict[str, float] = one) -> float:
            capacity = capacity_factor(np.array(one["converter.capacity_factor"]), np.array(ratio))
            torque = one["engine.peak_torque"] * one["engine.torque_share"]
            return float(
                engine_speed_on_converter(np.array(torque), np.array(one["engine.peak_speed"]), capacity)
            )

        def turbine(ratio: float, one: dict[str, float] = one) -> float:
            capacity = capacity_factor(np.array(one["converter.capacity_factor"]), np.array(ratio))
            multiplied = torque_ratio(
                np.array(one["converter.stall_torque_ratio"]),
                np.array(one["converter.coupling_point"]),
                np.array(ratio),
            )
            return float(multiplied * (engine(ratio) / float(capacity)) ** 2)

        ratio = brentq(lambda r, held=held, turbine=turbine: turbine(r) - held, 0.0, 0.96)
        assert found[car] == pytest.approx(engine(ratio), rel=within)


def test_less_held_never_lowers_the_stall() -> None:
    """Monotone in what the box holds, and never below the true stall."""
    cars, _ = sound()
    speeds = [
        stall_speed(cars, np.full(COUNT, held)) for held in (1e6, 1200.0, 900.0, 600.0, 300.0, 50.0, 0.0)
    ]
    for more, less in pairwise(speeds):
        assert np.all(less >= more - 1e-9)
    assert np.all(speeds[-1] > 1.3 * speeds[0])


def test_free_stator_and_weak_engine_lower_the_stall() -> None:
    """A third down with a free stator; a weak engine somewhat; both by what they take."""
    usual = stall_speed(sound()[0], PLENTY)
    free = stall_speed(changed(stator__holds=0.0), PLENTY)
    weak = stall_speed(scaled(engine__torque_share=0.8), PLENTY)
    assert np.all((free / usual > 0.6) & (free / usual < 0.8))
    assert np.all((weak / usual > 0.85) & (weak / usual < 0.97))
