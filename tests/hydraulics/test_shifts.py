"""Governor, signal, regulator and shift valves: exact speeds against bracketing, and how they must move."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from bellhousing.errors import QuantityError
from bellhousing.hydraulics.engagement import filling_flow
from bellhousing.hydraulics.governor import GovernorCurve, governor_pressure, governor_speed
from bellhousing.hydraulics.modulator import ThrottleSignal, throttle_signal
from bellhousing.hydraulics.regulator import Regulator, line_target
from bellhousing.hydraulics.root import bracket_root
from bellhousing.hydraulics.shift_map import output_speed, road_speed, shift_map
from bellhousing.hydraulics.shift_valve import (
    LEAST_HYSTERESIS,
    ShiftValve,
    downshift_governor,
    shift_speed,
    upshift_governor,
)
from bellhousing.hydraulics.system import Hydraulics, pressures

PSI = 6894.757293168
INHG = 3386.389
upshift_speed = partial(shift_speed, up=True)
downshift_speed = partial(shift_speed, up=False)
VACUA = np.array([20.0, 16.0, 12.0, 8.0, 4.0, 0.0]) * INHG


def up_gap(car: Hydraulics, valve: ShiftValve, vacuum: float, detent: Any, speed: Any) -> np.ndarray:
    """Governor pressure less what the valve wants, straight from the force balance at one speed."""
    g = governor_pressure(car.governor, speed, direction=1)
    m = throttle_signal(car.signal, vacuum, g)
    against = valve.offset + np.maximum(valve.gain * m, valve.detent_gain * detent) + valve.friction
    return np.asarray(g - against)


def down_gap(car: Hydraulics, valve: ShiftValve, vacuum: float, detent: Any, speed: Any) -> np.ndarray:
    """The same for the way down, where the load pressure or the detent pressure acts, whichever is more."""
    g = governor_pressure(car.governor, speed, direction=-1)
    m = np.maximum(throttle_signal(car.signal, vacuum, g), detent)
    return np.asarray(g - (valve.down_offset + valve.down_gain * m - valve.friction))


@pytest.mark.parametrize("vacuum", VACUA.tolist())
@pytest.mark.parametrize("kicked", [False, True])
def test_upshift_speed_against_bracketing(cars: Hydraulics, vacuum: float, kicked: bool) -> None:
    """The exact speed is the root of the force balance in output speed, to 1e-9."""
    detent = np.asarray(cars.detent_pressure) * kicked
    for valve in (cars.first_second, cars.second_third):
        exact = upshift_speed(valve, cars.governor, cars.signal, vacuum, detent=detent)
        balance = partial(up_gap, cars, valve, vacuum, detent)
        found = bracket_root(balance, np.zeros(exact.shape), 3000.0)
        moved = exact > 0.0
        assert moved.sum() > 300
        np.testing.assert_allclose(found[moved], exact[moved], rtol=1e-9)
        assert np.all(up_gap(cars, valve, vacuum, detent, np.zeros(exact.shape))[~moved] >= -1e-6)


@pytest.mark.parametrize("vacuum", VACUA.tolist())
def test_downshift_speed_against_bracketing(cars: Hydraulics, vacuum: float) -> None:
    """Where the least hysteresis does not bind, the exact downshift is the root of its own balance."""
    checked = 0
    for valve in (cars.first_second, cars.second_third):
        exact = downshift_speed(valve, cars.governor, cars.signal, vacuum)
        limit = (1.0 - LEAST_HYSTERESIS) * upshift_governor(valve, cars.signal, vacuum)
        free = (downshift_governor(valve, cars.signal, vacuum) < limit * (1.0 - 1e-12)) & (exact > 0.0)
        balance = partial(down_gap, cars, valve, vacuum, 0.0)
        found = bracket_root(balance, np.zeros(exact.shape), 3000.0)
        np.testing.assert_allclose(found[free], exact[free], rtol=1e-9)
        checked += int(free.sum())
    assert checked > 200


def test_upshift_speed_against_another_solver(cars: Hydraulics) -> None:
    """Scalar bracketing of another library on forty cars, one at a time."""
    exact = upshift_speed(cars.second_third, cars.governor, cars.signal, 6.0 * INHG)
    for i in range(0, 400, 10):
        if exact[i] > 0.0:
            other = brentq(
                lambda w, i=i: up_gap(cars, cars.second_third, 6.0 * INHG, 0.0, np.full(400, w))[i],
                0.0,
                3000.0,
                xtol=1e-12,
                rtol=1e-14,
            )
            assert exact[i] == pytest.approx(other, rel=1e-9)


def test_downshift_always_below_the_upshift(cars: Hydraulics) -> None:
    """Hysteresis is positive at every throttle, pedal on its stop or not, whatever sticks."""
    for valve in (cars.first_second, cars.second_third):
        for vacuum in VACUA:
            for detent in (0.0, cars.detent_pressure):
                up = upshift_speed(valve, cars.governor, cars.signal, vacuum, detent=detent)
                down = downshift_speed(valve, cars.governor, cars.signal, vacuum, detent=detent)
                rolling = up > 0.0
                assert np.all(down[rolling] < up[rolling])
                assert np.all(down[~rolling] == 0.0)


def test_more_throttle_never_shifts_earlier(cars: Hydraulics) -> None:
    """Along the throttle grid every up- and downshift speed rises or stays."""
    drive = shift_map(cars, VACUA)
    for name in ("up_first_second", "up_second_third", "down_second_first", "down_third_second"):
        row = getattr(drive, name)
        assert row.shape == (400, VACUA.size)
        finite = np.where(np.isinf(row), 1e9, row)
        assert np.all(np.diff(finite, axis=1) >= -1e-6)
    assert np.all(drive.forced_third_second >= drive.down_third_second)


def test_friction_moves_up_and_down_apart(cars: Hydraulics) -> None:
    """A stickier valve or governor goes up no earlier and comes down no later."""
    valve = cars.first_second
    sticky = replace(valve, friction=np.asarray(valve.friction) + 3.0 * PSI)
    slow = replace(cars.governor, friction=np.asarray(cars.governor.friction) + 3.0 * PSI)
    for v, g in ((sticky, cars.governor), (valve, slow)):
        assert np.all(
            upshift_speed(v, g, cars.signal, 8 * INHG)
            >= upshift_speed(valve, cars.governor, cars.signal, 8 * INHG)
        )
        assert np.all(
            downshift_speed(v, g, cars.signal, 8 * INHG)
            <= downshift_speed(valve, cars.governor, cars.signal, 8 * INHG)
        )


def test_stuck_valves(cars: Hydraulics) -> None:
    """Stuck down never goes up, stuck up is up at rest, and the free ones do not notice."""
    stuck = np.tile([-1.0, 0.0, 1.0, 0.0], 100)
    valve = replace(cars.first_second, stuck=stuck)
    up = upshift_speed(valve, cars.governor, cars.signal, 0.0)
    down = downshift_speed(valve, cars.governor, cars.signal, 0.0)
    for speed in (up, down):
        assert np.all(np.isinf(speed[stuck < 0]))
        assert np.all(speed[stuck > 0] == 0.0)
    sound = upshift_speed(cars.first_second, cars.governor, cars.signal, 0.0)
    np.testing.assert_array_equal(up[stuck == 0], sound[stuck == 0])


def test_no_governor_pressure_no_shift(cars: Hydraulics) -> None:
    """A stripped drive or a valve stuck shut: inf, without a warning."""
    dead = replace(cars.governor, scale=0.0, residual=0.0)
    assert np.all(np.isinf(upshift_speed(cars.first_second, dead, cars.signal, 16 * INHG)))
    assert np.all(governor_pressure(dead, 100.0, direction=1) == 0.0)


def test_line_caps_the_governor() -> None:
    """A shift that wants more governor pressure than there is line never comes."""
    curve = GovernorCurve(low=20.0, stop=18.0 * PSI, high=4.0)
    signal = ThrottleSignal(full=80.0 * PSI, slope=9.0, cutback=0.5)
    valve = ShiftValve(1.14, 18.0 * PSI, 0.7, 9.0 * PSI)
    weak = Regulator(base=0.0, gain=0.0, lowest=50.0 * PSI, highest=50.0 * PSI)
    assert np.isinf(upshift_speed(valve, curve, signal, 0.0, regulator=weak))
    assert np.isinf(upshift_speed(valve, curve, signal, 0.0, line=50.0 * PSI))
    assert np.isfinite(upshift_speed(valve, curve, signal, 0.0, regulator=Regulator(base=65.0 * PSI)))
    assert np.isfinite(upshift_speed(valve, curve, signal, 16 * INHG, regulator=weak))


def test_governor_inverse(cars: Hydraulics) -> None:
    """Speed to pressure and back, both ways of a sticking valve, against another solver."""
    pressure = np.linspace(1.0, 110.0, 400) * PSI
    for direction in (-1, 0, 1):
        speed = governor_speed(cars.governor, pressure, direction=direction)
        back = governor_pressure(cars.governor, speed, direction=direction)
        np.testing.assert_allclose(back[speed > 0.0], pressure[speed > 0.0], rtol=1e-12)
    speed = governor_speed(cars.governor, pressure)
    for i in range(0, 400, 25):
        if speed[i] > 0.0:
            other = brentq(
                lambda w, i=i: (governor_pressure(cars.governor, w) - pressure)[i], 0.0, 5e3, rtol=1e-14
            )
            assert speed[i] == pytest.approx(other, rel=1e-9)


def test_governor_rises_with_speed_and_stays_below_line(cars: Hydraulics) -> None:
    """Monotone over speed, never above line, silent at rest but for a valve stuck open."""
    speed = np.linspace(0.0, 400.0, 60)[:, np.newaxis]
    p = governor_pressure(cars.governor, speed, 60.0 * PSI)
    assert np.all(np.diff(p, axis=0) >= 0.0)
    assert p.max() == 60.0 * PSI
    np.testing.assert_allclose(p[0], cars.governor.residual)


def test_signal_falls_with_vacuum_and_governor() -> None:
    """Never negative, never above its ceiling, and held by a stuck valve."""
    signal = ThrottleSignal(full=80.0 * PSI, slope=9.0, cutback=0.5, ceiling=70.0 * PSI)
    over = throttle_signal(signal, VACUA)
    assert np.all(np.diff(over) >= 0.0)
    assert over[0] == 0.0
    assert over[-1] == 70.0 * PSI
    assert throttle_signal(signal, 0.0, 40.0 * PSI) == pytest.approx(60.0 * PSI)
    assert throttle_signal(replace(signal, stuck=1.0, stuck_at=9.0), 0.0) == 9.0


def test_line_targets_by_range() -> None:
    """Drive, neutral and park alike; reverse boosted; second and low floored; ends of the valve kept."""
    reg = Regulator(65.0, 1.0, 1.6, second_floor=140.0, low_floor=150.0, highest=250.0)
    assert {float(line_target(reg, 20.0, r)) for r in ("D", "N", "P")} == {85.0}
    assert line_target(reg, 20.0, "R") == pytest.approx(136.0)
    assert line_target(reg, 20.0, "second") == 140.0
    assert line_target(reg, 90.0, "second") == 155.0
    assert line_target(reg, 20.0, "low") == 150.0
    assert line_target(reg, 120.0, "R") == 250.0
    assert line_target(replace(reg, lowest=200.0), 0.0, "D") == 200.0
    assert line_target(replace(reg, highest=40.0), 80.0, "D") == 40.0
    with pytest.raises(QuantityError, match="no range"):
        line_target(reg, 0.0, "OD")


def test_steady_pressures_agree_with_each_other(cars: Hydraulics) -> None:
    """At every speed line, signal and governor satisfy their three laws at once, capped or not."""
    for speed in (0.0, 60.0, 150.0, 400.0):
        found = pressures(cars, "D", 6.0 * INHG, engine_speed=90.0, output_speed=speed, thinning=1.2)
        assert np.all(found.governor <= found.line * (1.0 + 1e-9))
        np.testing.assert_allclose(
            found.signal, throttle_signal(cars.signal, 6.0 * INHG, found.governor), rtol=1e-7, atol=1e-3
        )
        ideal = governor_pressure(cars.governor, speed)
        np.testing.assert_allclose(found.governor, np.minimum(ideal, found.line), rtol=1e-7, atol=1e-3)
        if speed == 400.0:
            assert np.mean(ideal > found.line) > 0.2


def test_pump_wear_shows_at_hot_idle_first(cars: Hydraulics) -> None:
    """Six times a usual leakage costs more line at idle than at twice the speed, more hot than cold."""
    cars = replace(cars, pump=replace(cars.pump, leakage=5.0e-11))
    worn = replace(cars, pump=replace(cars.pump, leakage=3.0e-10))

    def lost(rpm: float, thinning: float) -> float:
        w = rpm * np.pi / 30.0
        a = pressures(cars, "D", 17 * INHG, engine_speed=w, thinning=thinning).line
        b = pressures(worn, "D", 17 * INHG, engine_speed=w, thinning=thinning).line
        assert np.all(b <= a + 1e-6)
        return float(np.mean(a - b))

    assert lost(600.0, 1.0) > 1.5 * lost(1200.0, 1.0) > 0.0
    assert lost(600.0, 1.0) > lost(600.0, 0.2)


def test_starved_intake_holds_less_at_high_speed(cars: Hydraulics) -> None:
    """A blocked filter caps the flow: no loss at idle, a loss at speed."""
    blocked = replace(cars, pump=replace(cars.pump, flow_limit=1.5e-4))
    low = (
        pressures(cars, "D", 0.0, engine_speed=30.0).line
        - pressures(blocked, "D", 0.0, engine_speed=30.0).line
    )
    high = pressures(cars, "D", 0.0, engine_speed=300.0).line
    high = high - pressures(blocked, "D", 0.0, engine_speed=300.0).line
    assert np.all(low == 0.0)
    assert np.mean(high) > 1.0 * PSI


def test_each_car_by_itself_gives_the_same(cars: Hydraulics) -> None:
    """Samples do not see each other: car 17 alone has the speeds and pressures it has in the crowd."""

    def only(part: Any) -> Any:
        fields = {k: only(v) if hasattr(v, "__dataclass_fields__") else v for k, v in vars(part).items()}
        return type(part)(**{k: v[17:18] if np.ndim(v) else v for k, v in fields.items()})

    alone = only(cars)
    a, b = shift_map(cars, VACUA), shift_map(alone, VACUA)
    np.testing.assert_array_equal(a.up_second_third[17:18], b.up_second_third)
    p = pressures(cars, "R", 3 * INHG, engine_speed=70.0).line[17]
    assert pressures(alone, "R", 3 * INHG, engine_speed=70.0).line[0] == p
    kwargs = {"density": 850.0, "viscosity": 0.01}
    crowd, single = (
        filling_flow(60 * PSI, 3e-4, some.laminar_conductance, some.orifice_conductance, 0.003, **kwargs)
        for some in (cars, alone)
    )
    assert single[0] == pytest.approx(crowd[17], rel=1e-8)


def test_threads_do_not_disturb_each_other(cars: Hydraulics) -> None:
    """Eight threads give what one gives."""
    alone = shift_map(cars, VACUA).up_first_second
    with ThreadPoolExecutor(8) as pool:
        for found in pool.map(lambda _: shift_map(cars, VACUA).up_first_second, range(16)):
            np.testing.assert_array_equal(found, alone)


def test_detent_stuck_on_is_the_map_with_the_pedal_down(cars: Hydraulics) -> None:
    """Every ordinary downshift becomes the forced one and no upshift comes earlier."""
    always = shift_map(replace(cars, detent_stuck=1.0), VACUA)
    usual = shift_map(cars, VACUA)
    np.testing.assert_array_equal(always.down_third_second, usual.forced_third_second)
    assert np.all(always.up_first_second >= usual.up_first_second)


def test_road_speed_and_back() -> None:
    """3.08 axle, 0.345 m tyre: 79.8 rad/s is 20 mph, and back."""
    assert road_speed(79.8, 3.08, 0.345) / 0.44704 == pytest.approx(20.0, abs=0.01)
    assert output_speed(road_speed(79.8, 3.08, 0.345), 3.08, 0.345) == pytest.approx(79.8)


def test_weak_line_caps_the_map(cars: Hydraulics) -> None:
    """A pump that holds only 30 psi leaves no full-throttle 2-3."""
    capped = shift_map(cars, VACUA, line=np.full(400, 30.0 * PSI))
    free = shift_map(cars, VACUA)
    assert np.isinf(capped.up_second_third[:, -1]).mean() > np.isinf(free.up_second_third[:, -1]).mean()
    assert np.all(capped.up_second_third >= free.up_second_third)
