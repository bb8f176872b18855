"""Throttle valve of a linkage, governor signals that add up, and the pump on the output shaft."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np
import pytest

from bellhousing.hydraulics.governor import GovernorCurve, governor_pressure, governor_speed
from bellhousing.hydraulics.governor_sum import GovernorSum, sum_pressure, sum_speed
from bellhousing.hydraulics.line import circuit_flow, line_pressure
from bellhousing.hydraulics.modulator import throttle_signal
from bellhousing.hydraulics.regulator import Regulator
from bellhousing.hydraulics.root import bracket_root
from bellhousing.hydraulics.shift_valve import ShiftValve, shift_speed
from bellhousing.hydraulics.throttle_valve import ThrottleValve, linkage_signal, throttle_valve_pressure
from bellhousing.hydraulics.two_pumps import held_by_two_pumps, line_of_two_pumps

upshift_speed = partial(shift_speed, up=True)
downshift_speed = partial(shift_speed, up=False)
PSI = 6894.757
COUNT = 400
INCH = 0.0254


@pytest.fixture(scope="module")
def signals() -> GovernorSum:
    """Four hundred pairs of signals, some with a stop, some dead, some sticking."""
    rng = np.random.default_rng(3)

    def one(size: float) -> GovernorCurve:
        return GovernorCurve(
            low=rng.uniform(0.0, size, COUNT),
            stop=rng.uniform(5.0, 60.0, COUNT) * PSI,
            high=rng.uniform(0.2, 1.0, COUNT) * size,
            scale=np.where(rng.random(COUNT) < 0.1, 0.0, rng.uniform(0.5, 1.2, COUNT)),
            residual=np.where(rng.random(COUNT) < 0.2, rng.uniform(0.0, 8.0, COUNT), 0.0) * PSI,
            friction=np.where(rng.random(COUNT) < 0.4, rng.uniform(0.0, 4.0, COUNT), 0.0) * PSI,
        )

    return GovernorSum((one(20.0), one(6.0)))


@pytest.mark.parametrize("direction", [-1, 0, 1])
@pytest.mark.parametrize("line", [70.0 * PSI, np.inf])
def test_sum_speed_against_bracketing(signals: GovernorSum, direction: int, line: float) -> None:
    """The exact inverse is the root of the sum of the pressures, to 1e-9, and never where that has none."""
    wanted = np.random.default_rng(4).uniform(1.0, 150.0, COUNT) * PSI
    exact = sum_speed(signals, wanted, line, direction=direction)
    most = 1e4
    top = sum_pressure(signals, np.full(COUNT, most), line, direction=direction)
    rest = sum_pressure(signals, np.zeros(COUNT), line, direction=direction)
    found = bracket_root(
        lambda w: sum_pressure(signals, w, line, direction=direction) - wanted, np.zeros(COUNT), most
    )
    moving = (exact > 0.0) & np.isfinite(exact)
    assert moving.sum() > 150
    np.testing.assert_allclose(found[moving], exact[moving], rtol=1e-9)
    np.testing.assert_array_equal(np.isinf(exact), top < wanted)
    np.testing.assert_array_equal(exact == 0.0, rest >= wanted)


def test_one_signal_alone_is_the_governor(signals: GovernorSum) -> None:
    """A sum of one inverts as the governor itself does."""
    (first, _) = signals.signals
    wanted = np.random.default_rng(5).uniform(1.0, 80.0, COUNT) * PSI
    for direction in (-1, 0, 1):
        single = governor_speed(first, wanted, direction=direction)
        np.testing.assert_allclose(
            sum_speed(GovernorSum((first,)), wanted, direction=direction), single, rtol=1e-9
        )


def test_each_signal_stops_at_the_line() -> None:
    """Two signals reach twice the line together and no more."""
    pair = GovernorSum((GovernorCurve(24.0, np.inf, 0.0), GovernorCurve(6.0, np.inf, 0.0)))
    line = 90.0 * PSI
    assert sum_pressure(pair, 1e3, line) == pytest.approx(2.0 * line)
    assert np.isfinite(sum_speed(pair, 1.999 * line, line))
    assert np.isinf(sum_speed(pair, 2.001 * line, line))
    assert np.isinf(sum_speed(replace(pair, signals=(pair.signals[0],)), 1.001 * line, line))


def valve() -> ThrottleValve:
    """Three points and a rod that gives 6.5 psi for a sixteenth of an inch."""
    return ThrottleValve(2.0 * PSI, 30.0 * PSI, 70.0 * PSI, rod_gradient=6.5 * 16 * PSI / INCH)


def test_throttle_valve_passes_its_three_points() -> None:
    """Closed, half and full, and straight between them."""
    found = throttle_valve_pressure(valve(), np.array([0.0, 0.25, 0.5, 0.75, 1.0, 1.2])) / PSI
    assert found == pytest.approx([2.0, 16.0, 30.0, 50.0, 70.0, 70.0])


def test_a_long_rod_adds_and_a_short_one_takes_away() -> None:
    """A sixteenth too long adds 6.5 psi everywhere; too short the same less, but never below nought."""
    travel = np.linspace(0.0, 1.0, 11)
    right = throttle_valve_pressure(valve(), travel)
    long = throttle_valve_pressure(replace(valve(), rod_error=INCH / 16), travel)
    short = throttle_valve_pressure(replace(valve(), rod_error=-INCH / 16), travel)
    assert (long - right) / PSI == pytest.approx(6.5)
    assert short == pytest.approx(np.maximum(right - 6.5 * PSI, 0.0))


def test_play_takes_only_what_the_pedal_has_added() -> None:
    """At a shut throttle nothing is lost, at full throttle all of the play."""
    slack = replace(valve(), play=INCH / 16)
    lost = throttle_valve_pressure(valve(), np.array([0.0, 0.02, 1.0])) - throttle_valve_pressure(
        slack, np.array([0.0, 0.02, 1.0])
    )
    assert lost / PSI == pytest.approx([0.0, 1.12, 6.5])


def test_a_stuck_valve_holds_its_pressure() -> None:
    """Whatever the pedal does, and never above the line that feeds it."""
    stuck = replace(valve(), stuck=1.0, stuck_at=55.0 * PSI)
    for travel in (0.0, 0.5, 1.0):
        assert throttle_signal(linkage_signal(stuck, travel), 0.0) == pytest.approx(55.0 * PSI)
    low = replace(stuck, ceiling=40.0 * PSI)
    assert throttle_signal(linkage_signal(low, 1.0), 0.0) == pytest.approx(40.0 * PSI)


@pytest.mark.parametrize("travel", [0.0, 0.3, 0.5, 0.8, 1.0])
def test_shift_on_the_sum_against_bracketing(signals: GovernorSum, travel: float) -> None:
    """A valve that sees both signals goes up where their sum passes spring and throttle, found both ways."""
    shift = ShiftValve(1.06, 15.5 * PSI, 0.4, 7.0 * PSI, friction=0.3 * PSI)
    cap = 86.0 * PSI
    regulator = Regulator(base=cap, gain=0.0)
    signal = linkage_signal(valve(), travel)
    up = upshift_speed(shift, signals, signal, 0.0, regulator=regulator)
    down = downshift_speed(shift, signals, signal, 0.0, regulator=regulator)
    against = 15.8 * PSI + 1.06 * throttle_signal(signal, 0.0)
    found = bracket_root(lambda w: sum_pressure(signals, w, cap, direction=1) - against, np.zeros(COUNT), 1e4)
    moving = (up > 0.0) & np.isfinite(up)
    assert moving.sum() > 200
    np.testing.assert_allclose(found[moving], up[moving], rtol=1e-9)
    assert np.all(down[moving] < up[moving])


def test_a_dead_second_signal_moves_only_the_valves_that_see_it() -> None:
    """The 1-2 sees the first signal only; the 2-3 comes later, a full-throttle 3-4 never."""
    first, second = GovernorCurve(24.0, np.inf, 0.0), GovernorCurve(6.0, np.inf, 0.0)
    both = GovernorSum((first, second))
    dead = GovernorSum((first, replace(second, scale=0.0)))
    wide, line = linkage_signal(valve(), 1.0), 90.0 * PSI
    one_two = ShiftValve(0.30, 3.5 * PSI, 0.1, 1.4 * PSI)
    top = ShiftValve(1.71, 33.4 * PSI, 0.5, 17.0 * PSI)
    assert np.isfinite(upshift_speed(one_two, first, wide, 0.0, line=line))
    assert np.isfinite(upshift_speed(top, both, wide, 0.0, line=line))
    assert np.isinf(upshift_speed(top, dead, wide, 0.0, line=line))
    shut = linkage_signal(valve(), 0.0)
    assert upshift_speed(top, dead, shut, 0.0, line=line) > upshift_speed(top, both, shut, 0.0, line=line)


def pumps() -> dict[str, np.ndarray]:
    """Four hundred pairs of pumps and circuits, the output shaft from rest to fast."""
    rng = np.random.default_rng(6)
    return {
        "front": rng.uniform(0.0, 6e-4, COUNT),
        "rear": np.where(rng.random(COUNT) < 0.2, 0.0, rng.uniform(0.0, 8e-4, COUNT)),
        "laminar": rng.uniform(1e-11, 2e-10, COUNT),
        "orifice": rng.uniform(5e-8, 3e-7, COUNT),
        "front_leakage": rng.uniform(1e-11, 4e-10, COUNT),
        "rear_leakage": rng.uniform(1e-11, 1e-9, COUNT),
        "check_open": np.where(rng.random(COUNT) < 0.5, 0.0, rng.random(COUNT)),
    }


def test_two_pumps_against_bracketing() -> None:
    """The closed root is where both pumps' delivery is all taken, to 1e-9."""
    p = pumps()
    leaks = {name: p[name] for name in ("front_leakage", "rear_leakage", "check_open")}
    exact = held_by_two_pumps(p["front"], p["rear"], p["laminar"], p["orifice"], **leaks)

    def short(x: np.ndarray) -> np.ndarray:
        rear = p["rear"] - p["rear_leakage"] * x
        supply = p["front"] - p["front_leakage"] * x + np.maximum(rear, p["check_open"] * rear)
        return np.asarray(supply - circuit_flow(x, p["laminar"], p["orifice"]))

    found = bracket_root(short, np.zeros(COUNT), 1e9)
    np.testing.assert_allclose(found, exact, rtol=1e-9)
    assert (exact * p["rear_leakage"] < p["rear"]).sum() > 50
    assert (exact * p["rear_leakage"] > p["rear"]).sum() > 50


def test_a_resting_rear_pump_behind_a_tight_check_valve_changes_nothing() -> None:
    """The line is that of the front pump; with the valve stuck open it is lower."""
    p = pumps()
    target, droop = np.full(COUNT, 85.0 * PSI), np.full(COUNT, 1e7)
    alone = line_pressure(target, droop, p["front"], p["laminar"], p["orifice"], p["front_leakage"])
    still = {"front_leakage": p["front_leakage"], "rear_leakage": p["rear_leakage"]}
    tight = line_of_two_pumps(target, droop, p["front"], 0.0, p["laminar"], p["orifice"], **still)
    open_ = line_of_two_pumps(
        target, droop, p["front"], 0.0, p["laminar"], p["orifice"], check_open=1.0, **still
    )
    np.testing.assert_allclose(tight, alone, rtol=1e-12)
    assert np.all(open_ <= tight)
    assert np.mean(open_ < tight) > 0.5


def test_the_rear_pump_alone_holds_the_line_at_speed() -> None:
    """With the engine still, pressure rises with the output shaft to the regulator's and stays there."""
    turning = np.linspace(0.0, 8e-4, 40)
    found = line_of_two_pumps(85.0 * PSI, 0.0, 0.0, turning, 5e-11, 1.2e-7, rear_leakage=1.2e-10)
    assert found[0] == 0.0
    assert np.all(np.diff(found) >= 0.0)
    assert found[-1] == pytest.approx(85.0 * PSI)


def test_pressure_of_each_signal_adds() -> None:
    """The sum is nothing but the sum."""
    curve = GovernorCurve(20.0, 30.0 * PSI, 4.0)
    assert sum_pressure(GovernorSum((curve, curve)), 90.0) == pytest.approx(
        2.0 * governor_pressure(curve, 90.0)
    )
