"""Hydraulics against what a sound three-speed usually shows: common practice, no source.

The bands are those of a workshop; the parameter set is invented and lands in all of them. A second,
independent model, written out here in workshop units, must agree with the first within the scatter
of good cars, and both must show the same faults.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from bellhousing.hydraulics.engagement import fill_time, filling_flow
from bellhousing.hydraulics.fluid import density, kinematic_viscosity, viscosity_index
from bellhousing.hydraulics.governor import GovernorCurve, governor_from_parts, governor_pressure
from bellhousing.hydraulics.leakage import clutch_pressure
from bellhousing.hydraulics.modulator import ThrottleSignal, modulator_from_parts, throttle_signal
from bellhousing.hydraulics.pump import Pump, pump_flow
from bellhousing.hydraulics.regulator import Regulator, line_target
from bellhousing.hydraulics.shift_map import ShiftMap, output_speed, road_speed, shift_map
from bellhousing.hydraulics.shift_valve import ShiftValve
from bellhousing.hydraulics.system import Hydraulics, line_of, pressures

PSI = 6894.757293168
INHG = 3386.389
MPH = 0.44704
RPM = np.pi / 30.0
AXLE, TYRE = 3.08, 0.345
CC = 1.0e-6

# One litre a minute per psi of droop would be 4.1e8 Pa s/m³: this box loses a fortieth of that.
SOUND = Hydraulics(
    governor=governor_from_parts(0.078, 0.0153, 0.028, 14.0, 1.10e-4),
    signal=modulator_from_parts(0.25 * np.pi * 0.050**2, 115.0, 2.2e-4, 0.5),
    regulator=Regulator(
        base=65.0 * PSI,
        gain=1.0,
        reverse_ratio=1.58,
        second_floor=140.0 * PSI,
        low_floor=145.0 * PSI,
        highest=260.0 * PSI,
        droop=1.0e7,
    ),
    first_second=ShiftValve(0.49, 7.0 * PSI, 0.30, 2.0 * PSI, 0.49),
    second_third=ShiftValve(1.14, 18.0 * PSI, 0.76, 9.3 * PSI, 1.14),
    pump=Pump(26.0 * CC, 0.92, 0.35 * CC / PSI, 6.0e-4),
    detent_pressure=70.0 * PSI,
    laminar_conductance=0.25 * CC / PSI,
    orifice_conductance=1.0e-4 / np.sqrt(60.0 * PSI),
)
IDLE, STALL = 650.0 * RPM, 2000.0 * RPM


def speed(mph: float | np.ndarray) -> np.ndarray:
    """Output-shaft speed at a road speed."""
    return output_speed(mph * MPH, AXLE, TYRE)


def mph(output: np.ndarray) -> np.ndarray:
    """Road speed at an output-shaft speed."""
    return road_speed(output, AXLE, TYRE) / MPH


def sound_map(*vacua: float) -> ShiftMap:
    """Shift map of the sound box at some vacua in inHg."""
    return shift_map(SOUND, np.array(vacua) * INHG)


class TestSoundBox:
    """Bands of a sound box, hot, at sea level."""

    def test_line_at_hot_idle(self) -> None:
        """60-75 psi in drive at 17 inHg."""
        assert 60.0 < pressures(SOUND, "D", 17 * INHG, engine_speed=IDLE).line / PSI < 75.0

    def test_line_at_stall_or_hose_off(self) -> None:
        """130-165 psi in drive."""
        assert 130.0 < pressures(SOUND, "D", 0.0, engine_speed=STALL).line / PSI < 165.0

    @pytest.mark.parametrize("vacuum", [0.0, 8.0, 17.0])
    def test_reverse_over_drive(self, vacuum: float) -> None:
        """1.4-1.8 at the same signal."""
        reverse = pressures(SOUND, "R", vacuum * INHG, engine_speed=STALL).line
        assert 1.4 < reverse / pressures(SOUND, "D", vacuum * INHG, engine_speed=STALL).line < 1.8

    def test_throttle_signal(self) -> None:
        """0-15 psi at 16 inHg, 65-95 at none."""
        assert 0.0 <= throttle_signal(SOUND.signal, 16 * INHG) / PSI < 15.0
        assert 65.0 < throttle_signal(SOUND.signal, 0.0) / PSI < 95.0

    @pytest.mark.parametrize(("at", "low", "high"), [(10, 4, 8), (20, 17, 26), (40, 27, 40), (60, 42, 62)])
    def test_governor(self, at: float, low: float, high: float) -> None:
        """4-8, 17-26, 27-40, 42-62 psi at 10, 20, 40, 60 mph, never above line."""
        found = pressures(SOUND, "D", 16 * INHG, engine_speed=STALL, output_speed=speed(at))
        assert low < found.governor / PSI < high
        assert found.governor <= found.line

    def test_line_falls_as_the_car_gathers_speed(self) -> None:
        """6-12 psi from 10 to 21 mph with the hose off."""
        slow = pressures(SOUND, "D", 0.0, engine_speed=STALL, output_speed=speed(10)).line
        fast = pressures(SOUND, "D", 0.0, engine_speed=STALL, output_speed=speed(21)).line
        assert 6.0 < (slow - fast) / PSI < 12.0

    def test_upshifts(self) -> None:
        """1-2 at 8-15 and 36-52 mph, 2-3 at 16-28 and 62-80 mph, light and full throttle."""
        found = sound_map(16.0, 0.0)
        light, full = mph(found.up_first_second)[0]
        assert 8.0 < light < 15.0
        assert 36.0 < full < 52.0
        light, full = mph(found.up_second_third)[0]
        assert 16.0 < light < 28.0
        assert 62.0 < full < 80.0

    def test_hose_off_holds_first(self) -> None:
        """Any throttle, hose off: first held to about 35-50 mph."""
        assert 35.0 < mph(sound_map(0.0).up_first_second)[0, 0] < 50.0

    def test_deep_throttle_at_45_drops_to_second(self) -> None:
        """Pedal on its stop, or vacuum gone, at 45 mph in third."""
        found = sound_map(0.0)
        assert mph(found.forced_third_second)[0, 0] > 45.0
        assert mph(found.down_third_second)[0, 0] > 45.0

    def test_coasting_down(self) -> None:
        """3-2 at 8-18 mph, 2-1 at 3-10 mph, always below the upshift."""
        found = sound_map(20.0)
        assert 8.0 < mph(found.down_third_second)[0, 0] < 18.0
        assert 3.0 < mph(found.down_second_first)[0, 0] < 10.0
        assert found.down_third_second[0, 0] < found.up_second_third[0, 0]
        assert found.down_second_first[0, 0] < found.up_first_second[0, 0]

    def test_recomputed_figures_of_the_set(self) -> None:
        """Governor 5.5/22/33/51 psi; 1-2 at 12.0 and 43.5 mph, 2-3 at 18.2 and 73.1; line 141 standing."""
        governor = governor_pressure(SOUND.governor, speed(np.array([10.0, 20.0, 40.0, 60.0]))) / PSI
        assert governor == pytest.approx([5.5, 22.0, 33.0, 51.0], abs=0.5)
        found = sound_map(16.0, 0.0)
        assert mph(found.up_first_second)[0] == pytest.approx([12.0, 43.5], abs=0.1)
        assert mph(found.up_second_third)[0] == pytest.approx([18.2, 73.1], abs=0.1)
        ideal = replace(SOUND, regulator=replace(SOUND.regulator, droop=0.0))
        assert pressures(ideal, "D", 0.0).line / PSI == pytest.approx(141.0, abs=0.5)
        assert pressures(ideal, "D", 0.0, output_speed=speed(21)).line / PSI == pytest.approx(130.0, abs=1.0)

    def test_engagement(self) -> None:
        """Hot idle, 70 cm³ into drive 0.3-1.2 s, 90 cm³ into reverse 0.4-1.5 s; slower at -10 °C."""

        def delay(name: str, volume: float, celsius: float) -> float:
            rho = density(870.0, celsius)
            mu = rho * kinematic_viscosity(celsius, 37e-6, 7.3e-6)
            hot = density(870.0, 80.0) * kinematic_viscosity(80.0, 37e-6, 7.3e-6)
            thin, pump = hot / mu, SOUND.pump
            signal = throttle_signal(SOUND.signal, 17 * INHG)
            flow = filling_flow(
                line_of(SOUND, line_target(SOUND.regulator, signal, name), thinning=thin),
                pump_flow(pump.displacement, IDLE, pump.efficiency),
                SOUND.laminar_conductance * thin,
                SOUND.orifice_conductance,
                0.0035,
                density=rho,
                viscosity=mu,
                pump_leakage=pump.leakage * thin,
                return_pressure=8.0 * PSI,
            )
            return float(fill_time(volume * CC, flow))

        assert 0.3 < delay("D", 70.0, 80.0) < 1.2
        assert 0.4 < delay("R", 90.0, 80.0) < 1.5
        assert delay("D", 70.0, -10.0) > 2.0 * delay("D", 70.0, 80.0)

    def test_leaking_clutch_circuit(self) -> None:
        """A torn seal takes 10-40 psi from its own clutch and next to nothing from the others."""
        feed = 0.62 * 0.25 * np.pi * 0.0025**2 * np.sqrt(2.0 / 830.0)
        torn = 1.6 * CC / PSI
        assert 10.0 < 65.0 - clutch_pressure(65.0 * PSI, feed, torn) / PSI < 40.0
        leaking = replace(SOUND, laminar_conductance=SOUND.laminar_conductance + 0.3 * CC / PSI)
        lost = pressures(SOUND, "D", 0.0, engine_speed=STALL).line
        lost = lost - pressures(leaking, "D", 0.0, engine_speed=STALL).line
        assert 0.0 < lost / PSI < 2.0


# The second model: v in mph, everything else in psi and inHg, governor area taken as one.


def reduced_governor(v: np.ndarray) -> np.ndarray:
    """Governor pressure [psi] by road speed [mph]."""
    return np.where(v < 20.0, 0.055 * v**2, 18.4 + 0.009 * v**2)


def reduced_shift(
    vacuum: float, gain: float, spring: float, *, full: float = 85.0, governor: float = 1.0
) -> float:
    """Road speed [mph] of an upshift, found by walking up the road in hundredths."""
    v = np.arange(0.0, 160.0, 0.01)
    g = governor * reduced_governor(v)
    signal = np.maximum(0.0, full * max(0.0, 1.0 - vacuum / 16.0) - 0.5 * g)
    over = np.flatnonzero(g > spring + gain * signal)
    return float(v[over[0]]) if over.size else np.inf


ROWS = [(16.0, 11.0, 18.0), (12.0, 16.0, 31.0), (10.0, 18.0, 43.0), (5.0, 34.0, 63.0), (0.0, 48.0, 78.0)]


@pytest.mark.parametrize(("vacuum", "first", "second"), ROWS)
def test_reduced_model_gives_its_own_table(vacuum: float, first: float, second: float) -> None:
    """The independent model as typed here gives the speeds listed with it."""
    assert reduced_shift(vacuum, 0.49, 7.0) == pytest.approx(first, abs=0.7)
    assert reduced_shift(vacuum, 1.14, 18.0) == pytest.approx(second, abs=0.7)


@pytest.mark.parametrize("vacuum", [row[0] for row in ROWS])
def test_two_models_agree_within_the_scatter_of_good_cars(vacuum: float) -> None:
    """Governor ±10 %, signal ±8 psi, springs ±15 % holding 95 of 100 cars: within two deviations."""
    rng = np.random.default_rng(11)
    found = sound_map(vacuum)
    for gain, spring, ours in ((0.49, 7.0, found.up_first_second), (1.14, 18.0, found.up_second_third)):
        draws = [
            reduced_shift(
                vacuum,
                gain,
                spring * (1.0 + 0.075 * rng.standard_normal()),
                full=85.0 + 4.0 * rng.standard_normal(),
                governor=1.0 + 0.05 * rng.standard_normal(),
            )
            for _ in range(200)
        ]
        apart = abs(float(mph(ours)[0, 0]) - reduced_shift(vacuum, gain, spring))
        assert apart < 2.0 * float(np.std(draws))


def test_two_models_agree_on_pressures() -> None:
    """Governor within 10 %; line as two good cars differ, each ±8 psi in its spring and ±8 in its signal."""
    v = np.array([10.0, 15.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0])
    ours = governor_pressure(SOUND.governor, speed(v)) / PSI
    np.testing.assert_allclose(ours, reduced_governor(v), rtol=0.10)
    one_car = np.hypot(4.0, 1.06 * 4.0)
    for vacuum, line in ((16.0, 65.0), (10.0, 99.0), (0.0, 155.0)):
        apart = pressures(SOUND, "D", vacuum * INHG).line / PSI - line
        assert abs(apart) < 2.0 * np.sqrt(2.0) * one_car


# The same faults in our model with the reduced model's own figures: lumped once more, mph to rad/s.
_PER_MPH = float(speed(1.0))
LUMPED = Hydraulics(
    governor=GovernorCurve(
        low=0.046 * PSI / _PER_MPH**2, stop=18.4 * PSI, high=0.009 * PSI / _PER_MPH**2, scale=1.0
    ),
    signal=ThrottleSignal(full=85.0 * PSI, slope=85.0 * PSI / (16.0 * INHG), cutback=0.5),
    regulator=Regulator(base=65.0 * PSI, gain=1.06, reverse_ratio=1.58, highest=260.0 * PSI),
    first_second=ShiftValve(0.49, 7.0 * PSI, 0.30, 2.0 * PSI, 0.49),
    second_third=ShiftValve(1.14, 18.0 * PSI, 0.76, 9.3 * PSI, 1.14),
    pump=Pump(26.0 * CC),
    detent_pressure=70.0 * PSI,
)


def governor(**changes: float) -> Callable[[Hydraulics], Hydraulics]:
    """The lumped box with a changed governor."""
    return lambda box: replace(box, governor=replace(box.governor, **changes))


def signal(**changes: float) -> Callable[[Hydraulics], Hydraulics]:
    """The lumped box with a changed modulator."""
    return lambda box: replace(box, signal=replace(box.signal, **changes))


NONE = np.inf
FAULTS: dict[str, tuple[Callable[[Hydraulics], Hydraulics], float, list[tuple[float, float]]]] = {
    "healthy": (lambda box: box, 0.0, [(11, 18), (18, 43), (48, 78)]),
    "hose off": (signal(slope=0.0), 0.0, [(48, 78), (48, 78), (48, 78)]),
    "engine 4 inHg low": (lambda box: box, 4.0, [(16, 31), (30, 59), (48, 78)]),
    "engine 2 inHg low": (lambda box: box, 2.0, [(13, 19), (21, 52), (48, 78)]),
    "modulator spring weak": (
        signal(full=68.0 * PSI, slope=68.0 * PSI / (16.0 * INHG)),
        0.0,
        [(11, 18), (17, 36), (40, 69)],
    ),
    "modulator set strong": (signal(slope=85.0 * PSI / (19.0 * INHG)), 0.0, [(14, 20), (20, 50), (48, 78)]),
    "modulator valve stuck shut": (signal(stuck=1.0, stuck_at=0.0), 0.0, [(11, 18), (11, 18), (11, 18)]),
    "governor at 75 %": (governor(scale=0.75), 0.0, [(13, 25), (26, 56), (61, 94)]),
    "governor dead": (governor(scale=0.0), 0.0, [(NONE, NONE)] * 3),
    "governor 8 psi at rest": (governor(residual=8.0 * PSI), 0.0, [(0, 13), (14, 30), (38, 72)]),
}


@pytest.mark.parametrize("name", FAULTS)
def test_faults_move_the_shifts_as_listed(name: str) -> None:
    """1-2 and 2-3 at 16, 10 and 0 inHg, within one mile an hour of the listed whole numbers."""
    change, lost, listed = FAULTS[name]
    grid = np.maximum(np.array([16.0, 10.0, 0.0]) - lost, 0.0) * INHG
    found = shift_map(change(LUMPED), grid)
    assert mph(found.up_first_second)[0] == pytest.approx([row[0] for row in listed], abs=1.0)
    assert mph(found.up_second_third)[0] == pytest.approx([row[1] for row in listed], abs=1.0)


def test_half_a_governor() -> None:
    """At half pressure: 16/44, 45/75, and at full throttle 81 and no 2-3 on any road."""
    found = shift_map(governor(scale=0.5)(LUMPED), np.array([16.0, 10.0, 0.0]) * INHG)
    assert mph(found.up_first_second)[0] == pytest.approx([16, 45, 81], abs=1.0)
    assert mph(found.up_second_third)[0, :2] == pytest.approx([44, 75], abs=1.0)
    assert mph(found.up_second_third)[0, 2] > 110.0


@pytest.mark.parametrize(
    ("change", "vacuum", "line"),
    [
        (lambda box: box, 16.0, 65.0),
        (signal(slope=0.0), 16.0, 155.0),
        (lambda box: box, 12.0, 88.0),
        (lambda box: box, 14.0, 76.0),
        (signal(full=68.0 * PSI, slope=68.0 * PSI / (16.0 * INHG)), 0.0, 137.0),
        (signal(slope=85.0 * PSI / (19.0 * INHG)), 16.0, 79.0),
        (signal(stuck=1.0), 0.0, 65.0),
    ],
)
def test_faults_move_the_standing_line_as_listed(
    change: Callable[[Hydraulics], Hydraulics], vacuum: float, line: float
) -> None:
    """Line in drive, standing, within one psi."""
    assert pressures(change(LUMPED), "D", vacuum * INHG).line / PSI == pytest.approx(line, abs=1.0)


def test_standing_reverse() -> None:
    """103, 156 and 245 psi in reverse at 16, 10 and 0 inHg."""
    found = pressures(LUMPED, "R", np.array([16.0, 10.0, 0.0]) * INHG).line / PSI
    assert found == pytest.approx([103.0, 156.0, 245.0], abs=1.0)


def test_kickdown_stuck_on_holds_gears_with_a_normal_idle_line() -> None:
    """1-2 above 45, 2-3 above 75 mph at every throttle; idle line stays 65 psi, unlike a hose off."""
    stuck = replace(LUMPED, detent_stuck=1.0)
    found = shift_map(stuck, np.array([16.0, 10.0, 0.0]) * INHG)
    assert np.all(mph(found.up_first_second) > 45.0)
    assert np.all(mph(found.up_second_third) > 75.0)
    assert pressures(stuck, "D", 17 * INHG).line / PSI == pytest.approx(65.0, abs=0.1)


def test_forced_and_coasting_downshifts() -> None:
    """Forced 3-2 below 70, 2-1 below 23 mph; coasting 3-2 at 13, 2-1 at 6; none forced with it dead."""
    found = shift_map(LUMPED, 18 * INHG)
    assert mph(found.forced_third_second)[0, 0] == pytest.approx(70.0, abs=1.0)
    assert mph(found.forced_second_first)[0, 0] == pytest.approx(23.0, abs=1.0)
    assert mph(found.down_third_second)[0, 0] == pytest.approx(13.0, abs=1.0)
    assert mph(found.down_second_first)[0, 0] == pytest.approx(6.0, abs=1.0)
    dead = shift_map(replace(LUMPED, detent_pressure=0.0), 18 * INHG)
    np.testing.assert_array_equal(dead.forced_third_second, dead.down_third_second)


def test_shift_spring_a_third_off() -> None:
    """Springs at 0.7 and 1.3 move light shifts by up to -3 and +6, full ones by about 2 and 3 mph."""
    vacua = np.array([16.0, 0.0]) * INHG
    usual = shift_map(LUMPED, vacua)
    for factor in (0.7, 1.3):
        box = replace(
            LUMPED,
            first_second=replace(LUMPED.first_second, offset=7.0 * PSI * factor),
            second_third=replace(LUMPED.second_third, offset=18.0 * PSI * factor),
        )
        found = shift_map(box, vacua)
        first = (mph(found.up_first_second) - mph(usual.up_first_second))[0] * np.sign(factor - 1.0)
        second = (mph(found.up_second_third) - mph(usual.up_second_third))[0] * np.sign(factor - 1.0)
        assert first == pytest.approx([2.0, 2.0], abs=1.0)
        assert second[0] == pytest.approx(3.0 if factor < 1.0 else 6.0, abs=1.0)
        assert second[1] == pytest.approx(3.0, abs=1.0)


def test_sticky_valve_goes_up_late_and_comes_down_early() -> None:
    """3 psi of dead band move the light 2-3 up and the coasting 3-2 down by 1-4 mph, apart."""
    box = replace(LUMPED, second_third=replace(LUMPED.second_third, friction=3.0 * PSI))
    found, usual = shift_map(box, 16 * INHG), shift_map(LUMPED, 16 * INHG)
    assert 1.0 < (mph(found.up_second_third) - mph(usual.up_second_third))[0, 0] < 4.0
    assert -4.0 < (mph(found.down_third_second) - mph(usual.down_third_second))[0, 0] < -1.0


def test_shorter_axle_is_not_a_fault() -> None:
    """3.55 for 3.08: 10/16, 16/37, 42/68 mph."""
    found = shift_map(LUMPED, np.array([16.0, 10.0, 0.0]) * INHG)
    first = road_speed(found.up_first_second, 3.55, TYRE)[0] / MPH
    second = road_speed(found.up_second_third, 3.55, TYRE)[0] / MPH
    assert first == pytest.approx([10, 16, 42], abs=1.0)
    assert second == pytest.approx([16, 37, 68], abs=1.0)


class TestFluidFromMemory:
    """Figures from memory, no source seen."""

    def test_lubricating_oil(self) -> None:
        """870 kg/m³ at 15 °C is 815.8 at 100 °C with the lubricating-oil constant 0.6278."""
        assert density(870.0, 100.0) == pytest.approx(815.8, abs=0.1)

    def test_two_hundred_litres_grow_by_seven(self) -> None:
        """200 l that expand by 7e-4 per °C grow by about 7 l when warmed by 50 °C."""
        warm = density(870.0, 65.0, 0.0, 7e-4 * 870.0)
        assert 200.0 * (870.0 / warm - 1.0) == pytest.approx(7.0, rel=0.05)

    def test_older_gearbox_fluid(self) -> None:
        """33-40 cSt at 40 °C with 7.0-8.5 at 100 °C has an index of 150-200 and thins 4-5 times."""
        assert 150.0 < viscosity_index(37e-6, 7.4e-6) < 200.0
        assert 4.0 < 37e-6 / kinematic_viscosity(100.0, 37e-6, 7.4e-6) < 5.1
