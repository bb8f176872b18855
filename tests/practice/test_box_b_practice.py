"""The shipped box B on the road against a reduced model of the kind, written out below.

Common practice, no source, throughout. Hot, sea level, axle 3.08, tyre radius 0.345 m. v in mph, pressures in
psi: throttle pressure 0-5 closed, about 30 half, about 70 full; g1 = min(90, 0.055 v²) and
g2 = min(90, 0.014 v²); 1-2 when g1 > 3.5 + 0.30 tv, 2-3 when g1 + g2 > 15.5 + 1.06 tv, 3-4 when
g1 + g2 > 33.4 + 1.71 tv.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from scipy.optimize import brentq

from bellhousing.boxes.load import load_box
from bellhousing.road.cars import Cars, draw_cars, middle_car
from bellhousing.road.four_speed.driving import down_speed, up_speed
from bellhousing.road.four_speed.gauge import line_standing, line_under_way
from bellhousing.road.four_speed.holding import coupling_torque
from bellhousing.road.four_speed.pressures import governor_signals, throttle_pressure
from bellhousing.road.shown import Shown, show_cars, vehicle
from bellhousing.road.vehicle import Vehicle

PSI = 6894.757
MPH = 0.44704
RPM = np.pi / 30.0
INCH = 0.0254
COUNT = 400
VALVES = {"12": "first_second", "23": "second_third", "34": "third_fourth"}
TRAVELS = {"closed": 0.0, "half": 0.5, "full": 1.0}


def g1(v: float) -> float:
    """First governor signal [psi] at a road speed [mph]."""
    return min(90.0, 0.055 * v**2)


def g2(v: float) -> float:
    """Second governor signal [psi] at a road speed [mph]."""
    return min(90.0, 0.014 * v**2)


def reduced_upshift(shift: str, tv: float) -> float:
    """Road speed [mph] of an upshift at a throttle pressure [psi], by the reduced model."""
    wanted = {"12": 3.5 + 0.30 * tv, "23": 15.5 + 1.06 * tv, "34": 33.4 + 1.71 * tv}[shift]

    def short(v: float) -> float:
        return g1(v) + (0.0 if shift == "12" else g2(v)) - wanted

    return float(brentq(short, 0.1, 200.0))


@cache
def middle() -> tuple[Cars, Vehicle]:
    """The middle car."""
    box = load_box("box-b")
    return middle_car(box), vehicle(box, 3.08, 0.345, 0.0)


@cache
def sound() -> tuple[Cars, Vehicle]:
    """Four hundred sound cars."""
    return draw_cars(load_box("box-b"), COUNT, np.random.default_rng(20)), middle()[1]


@cache
def shown(**changed: float) -> Shown:
    """What the cars show with some of their condition changed; a double underscore stands for the dot."""
    cars, car = sound()
    named = {name.replace("__", "."): np.full(COUNT, value) for name, value in changed.items()}
    return show_cars(cars.with_values(named), car)


def median(finding: str, unit: float, **changed: float) -> float:
    """Median of a reading in a workshop unit."""
    return float(np.median(shown(**changed).readings[finding])) / unit


@pytest.mark.parametrize("throttle", TRAVELS)
@pytest.mark.parametrize("shift", VALVES)
def test_upshifts_of_the_reduced_model(shift: str, throttle: str) -> None:
    """The middle car shifts within 4 % or 0.8 mph of the reduced model at its own throttle pressure.

    The reduced model has no friction, which alone moves a light 1-2 by half a mile an hour.
    """
    cars, car = middle()
    tv = float(throttle_pressure(cars, TRAVELS[throttle])[0]) / PSI
    found = float(up_speed(cars, car, VALVES[shift], TRAVELS[throttle])[0]) / MPH
    expected = reduced_upshift(shift, tv)
    assert found == pytest.approx(expected, abs=max(0.8, 0.04 * expected))


@pytest.mark.parametrize(
    ("throttle", "printed"), [("closed", (8, 15, 22)), ("half", (15, 26, 35)), ("full", (21, 36, 67))]
)
def test_upshifts_of_the_table(throttle: str, printed: tuple[float, float, float]) -> None:
    """The shift speeds the trade gives, within 2 mph or 4 %."""
    cars, car = middle()
    for valve, mph in zip(VALVES.values(), printed, strict=True):
        found = float(up_speed(cars, car, valve, TRAVELS[throttle])[0]) / MPH
        assert found == pytest.approx(mph, abs=max(2.0, 0.04 * mph))


def test_the_reduced_model_gives_its_own_table() -> None:
    """The table is what the reduced formulas give, rounded."""
    for tv, printed in ((0.0, (8, 15, 22)), (30.0, (15, 26, 35)), (70.0, (21, 36, 67))):
        assert [round(reduced_upshift(shift, tv)) for shift in VALVES] == list(printed)


@pytest.mark.parametrize(("shift", "mph"), [("43", 16), ("32", 10), ("21", 5)])
def test_coast_down(shift: str, mph: float) -> None:
    """4-3 near 16 mph, 3-2 near 10, 2-1 near 5; in every car below its upshift."""
    assert median(f"coast-down-{shift}", MPH) == pytest.approx(mph, abs=1.0)
    up = shown().readings[f"upshift-{shift[::-1]}-light"]
    assert np.all(shown().readings[f"coast-down-{shift}"] < up)


def test_forced_four_three() -> None:
    """On the floor third comes below some 55-65 mph, without the detent far lower."""
    assert 53.0 < median("forced-down-43", MPH) < 65.0
    assert median("forced-down-43", MPH, detent__works=0.0) < 35.0


@pytest.mark.parametrize(
    ("finding", "low", "high", "unit"),
    [
        ("tv-closed", 0, 5, PSI),
        ("tv-half", 25, 35, PSI),
        ("tv-full", 60, 90, PSI),
        ("line-drive-idle", 55, 85, PSI),
        ("line-cruise", 85, 100, PSI),
        ("stall-drive", 1500, 2000, RPM),
        ("engagement-drive-hot", 0.3, 1.2, 1.0),
        ("engagement-reverse-hot", 0.4, 1.5, 1.0),
    ],
)
def test_readings_in_their_bands(finding: str, low: float, high: float, unit: float) -> None:
    """The middle car's reading lies in the band of the kind."""
    assert low <= median(finding, unit) <= high


def test_reverse_raises_the_line_by_a_half_or_more() -> None:
    """50-90 per cent above drive at the same revs, where the pump can hold it."""
    more = median("line-reverse-1000", PSI) / median("line-drive-1000", PSI)
    assert 1.5 < more < 1.9


@pytest.mark.parametrize("mph", [10.0, 20.0, 30.0, 36.0])
def test_governor_signals(mph: float) -> None:
    """Each signal of the middle car lies within 3 % of the reduced curve while below line."""
    cars, car = middle()
    first, second = governor_signals(cars)
    square = car.output_speed(mph) ** 2
    assert float(np.squeeze(first.high * first.scale)) * square / PSI == pytest.approx(
        0.055 * mph**2, rel=0.03
    )
    assert float(np.squeeze(second.high)) * square / PSI == pytest.approx(0.014 * mph**2, rel=0.03)


def test_a_rod_out_of_setting_moves_every_shift_the_same_way() -> None:
    """A sixteenth of an inch is 5-8 psi, which is 2-4 mph at light throttle and 4-7 on the full 3-4."""
    cars, car = middle()
    long = cars.with_values({"throttle_valve.rod_error": np.array([INCH / 16])})
    added = float((throttle_pressure(long, 0.5) - throttle_pressure(cars, 0.5))[0]) / PSI
    assert 5.0 < added < 8.0
    moved = {
        (shift, throttle): float(
            (up_speed(long, car, VALVES[shift], travel) - up_speed(cars, car, VALVES[shift], travel))[0]
        )
        / MPH
        for shift in VALVES
        for throttle, travel in TRAVELS.items()
    }
    assert all(0.4 < by < 8.0 for by in moved.values())
    assert all(1.5 < moved[shift, "closed"] < 4.5 for shift in VALVES)
    assert all(1.0 < moved[shift, "half"] < 3.5 for shift in VALVES)
    assert 3.5 < moved["34", "full"] < 8.0


def test_a_stuck_second_signal_moves_the_top_shift_alone() -> None:
    """1-2 stays, 2-3 is nearly right, a full-throttle 3-4 never comes."""
    stuck = {"g2__scale": 0.0}
    assert median("upshift-12-full", MPH, **stuck) == pytest.approx(median("upshift-12-full", MPH))
    assert median("upshift-23-light", MPH, **stuck) - median("upshift-23-light", MPH) < 3.0
    assert np.all(np.isinf(shown(**stuck).readings["upshift-34-full"]))


def test_the_rear_pump_takes_over() -> None:
    """A worn front pump is low at a hot idle and right at speed; a worn rear one dips at speed."""
    cars, car = sound()
    usual = float(np.median(line_under_way(cars, car, "fourth", 35.0, 0.03)))
    front = cars.with_values({"pump.leakage": 4.0 * cars["pump.leakage"]})
    assert np.median(line_standing(front, car, "first", 450.0 * RPM)) < 0.6 * usual
    assert np.median(line_under_way(front, car, "fourth", 35.0, 0.03)) == pytest.approx(usual, rel=0.02)
    rear = cars.with_values({"rear_pump.leakage": 8.0 * cars["rear_pump.leakage"]})
    assert np.median(line_standing(rear, car, "first", 1000.0 * RPM)) == pytest.approx(usual, rel=0.02)
    assert np.median(line_under_way(rear, car, "fourth", 35.0, 0.03)) < 0.75 * usual


def test_the_rear_pump_alone_starts_the_engine_by_pushing() -> None:
    """Sound cars can be pushed; without the rear pump none can."""
    assert shown().chances["push-start"][:, 1].mean() < 0.02
    assert shown(rear_pump__drive=0.0).chances["push-start"][:, 1].mean() > 0.95


@pytest.mark.parametrize(
    ("error", "flares", "binds"), [(0.25, True, False), (-0.25, False, True), (0.0, False, False)]
)
def test_the_two_three_out_of_step(error: float, flares: bool, binds: bool) -> None:
    """Four elements change at once: a tenth of a second late flares, a tenth early binds."""
    states = shown(timing__error=error).chances
    assert (states["shift-feel-23"][:, 2].mean() > 0.9) == flares
    assert (states["shift-binds-23"][:, 1].mean() > 0.9) == binds
    assert states["shift-feel-34"][:, 0].mean() > 0.95


def test_a_front_servo_slow_to_let_go_binds_the_three_four() -> None:
    """The front band still holds while the front clutch bites."""
    states = shown(front_band__release_delay=0.3).chances
    assert states["shift-binds-34"][:, 1].mean() > 0.9
    assert states["shift-feel-34"][:, 2].mean() < 0.05


def test_coupling_slips_a_few_per_cent_at_cruise() -> None:
    """At 2000 rpm 2-4 % slip carries the torque of a cruising engine; torque grows as speed squared."""
    cars, _ = middle()
    foot_pound = 1.3558179
    low, high = (float(coupling_torque(cars, 2000.0 * RPM, 1.0 - slip)[0]) for slip in (0.02, 0.04))
    assert 70.0 < low / foot_pound < 110.0
    assert 130.0 < high / foot_pound < 190.0
    twice = float(coupling_torque(cars, 4000.0 * RPM, 0.98)[0])
    assert twice == pytest.approx(4.0 * low)


def test_sound_cars_show_nothing_odd() -> None:
    """No slip, no dead range, clean shifts, kickdown: in at least 19 cars of 20."""
    for finding, chances in shown().chances.items():
        assert chances[:, 0].mean() > 0.95, finding


def test_forward_downshift_speeds_rise_with_throttle() -> None:
    """A 4-3 at more throttle comes at a higher speed, and always below the upshift."""
    cars, car = sound()
    before = np.zeros(COUNT)
    for travel in np.linspace(0.0, 1.0, 6):
        down = down_speed(cars, car, "third_fourth", travel)
        assert np.all(down >= before - 1e-9)
        assert np.all(down < up_speed(cars, car, "third_fourth", travel))
        before = down
