"""The shipped box A on the road: what its simulated cars show, against the usual bands.

Common practice, no source, throughout. Hot (80 °C), sea level, axle 3.08, tyre radius 0.345 m; a band holds
the middle of four hundred cars of this box.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from bellhousing.boxes.load import load_box
from bellhousing.hydraulics.modulator import throttle_signal
from bellhousing.road.cars import Cars, draw_cars
from bellhousing.road.driving import OVERRUN_VACUUM, down_speed, up_speed
from bellhousing.road.engine import idle_vacuum, vacuum_under_way
from bellhousing.road.pressures import felt_vacuum, governor_at, line, signal_of, standing_signal
from bellhousing.road.shown import Shown, show_cars, vehicle
from bellhousing.road.vehicle import Vehicle

PSI = 6894.757
INHG = 3386.389
MPH = 0.44704
RPM = np.pi / 30.0
COUNT = 400


@cache
def sound() -> tuple[Cars, Vehicle]:
    """Sound cars with box A."""
    box = load_box("box-a")
    return draw_cars(box, COUNT, np.random.default_rng(20)), vehicle(box, 3.08, 0.345, 0.0)


@cache
def shown(**changed: float) -> Shown:
    """What the cars show with some of their condition changed."""
    cars, car = sound()
    named = {name.replace("__", "."): np.full(COUNT, value) for name, value in changed.items()}
    return show_cars(cars.with_values(named), car)


def middle(values: np.ndarray, unit: float = 1.0) -> float:
    """Median of the cars in a workshop unit."""
    return float(np.median(values)) / unit


HOSE_OFF = {"hose__share": 0.0}


class TestBands:
    """The table of a sound box."""

    @pytest.mark.parametrize(
        ("finding", "low", "high", "unit"),
        [
            ("line-drive-idle", 60, 75, PSI),
            ("line-stall", 130, 165, PSI),
            ("line-drive-hose-off", 130, 165, PSI),
            ("governor-10", 4, 8, PSI),
            ("governor-20", 17, 26, PSI),
            ("cut-back", 6, 12, PSI),
            ("upshift-12-light", 8, 15, MPH),
            ("upshift-12-full", 36, 52, MPH),
            ("upshift-23-light", 16, 28, MPH),
            ("upshift-23-full", 62, 80, MPH),
            ("coast-down-32", 8, 18, MPH),
            ("coast-down-21", 3, 10, MPH),
            ("stall-drive", 1700, 2300, RPM),
            ("engagement-drive-hot", 0.3, 1.2, 1.0),
            ("engagement-reverse-hot", 0.4, 1.5, 1.0),
        ],
    )
    def test_reading(self, finding: str, low: float, high: float, unit: float) -> None:
        """A reading of the middle car lies in its band."""
        assert low < middle(shown().readings[finding], unit) < high

    @pytest.mark.parametrize(("mph", "low", "high"), [(40, 27, 40), (60, 42, 62)])
    def test_governor_at_speed(self, mph: float, low: float, high: float) -> None:
        """Governor 27-40 psi at 40 mph and 42-62 at 60, never above line."""
        cars, car = sound()
        there = line(cars, "D3", np.zeros(COUNT), 2000.0 * RPM)
        found = governor_at(cars, car.output_speed(mph), there)
        assert low < middle(found, PSI) < high
        assert np.all(found <= there)

    @pytest.mark.parametrize(("vacuum", "low", "high"), [(16, 0, 15), (0, 65, 95)])
    def test_throttle_signal(self, vacuum: float, low: float, high: float) -> None:
        """0-15 psi at 16 inHg, 65-95 at none."""
        assert low <= middle(throttle_signal(signal_of(sound()[0]), vacuum * INHG), PSI) < high

    @pytest.mark.parametrize("vacuum", [0.0, 8.0, 17.0])
    def test_reverse_over_drive(self, vacuum: float) -> None:
        """1.4-1.8 at the same signal."""
        cars, _ = sound()
        signal = standing_signal(cars, vacuum * INHG)
        share = line(cars, "R", signal, 1500.0 * RPM) / line(cars, "D1", signal, 1500.0 * RPM)
        assert 1.4 < middle(share) < 1.8

    @pytest.mark.parametrize(
        ("valve", "vacuum", "low", "high"),
        [
            ("first_second", 16, 8, 15),
            ("first_second", 0, 36, 52),
            ("second_third", 16, 16, 28),
            ("second_third", 0, 62, 80),
        ],
    )
    def test_upshift_by_vacuum(self, valve: str, vacuum: float, low: float, high: float) -> None:
        """1-2 at 8-15 and 36-52 mph, 2-3 at 16-28 and 62-80, at 16 inHg and at none."""
        cars, car = sound()
        felt = felt_vacuum(cars, np.full(COUNT, vacuum * INHG))
        assert low < middle(up_speed(cars, car, valve, felt), MPH) < high

    def test_coasting_down_below_the_upshift(self) -> None:
        """In every car."""
        for shift in ("32", "21"):
            up = shown().readings[f"upshift-{shift[::-1]}-light"]
            assert np.all(shown().readings[f"coast-down-{shift}"] < up)

    def test_sound_cars_show_nothing_odd(self) -> None:
        """No slip, no dead range, clean shifts, engine braking, kickdown: in at least 19 cars of 20."""
        for finding, chances in shown().chances.items():
            assert chances[:, 0].mean() > 0.95, finding


class TestFactsOfTheTrade:
    """What every mechanic knows of these boxes."""

    def test_idle_and_overrun_give_the_highest_vacuum(self) -> None:
        """Opening the throttle drops it, further the wider it is open."""
        cars, car = sound()
        idle = idle_vacuum(cars, car.altitude)
        light, medium, full = (vacuum_under_way(cars, throttle) for throttle in ("light", "medium", "full"))
        assert np.all(idle.min() > 1.05 * medium)
        assert np.mean(idle > light) > 0.9
        assert np.all(light > medium)
        assert np.all(medium > full)
        assert np.mean(idle < OVERRUN_VACUUM) > 0.95

    def test_no_vacuum_holds_first_until_the_governor_wins(self) -> None:
        """First is held to about 40 mph at light and medium throttle alike."""
        for throttle in ("light", "medium"):
            late = shown(**HOSE_OFF).readings[f"upshift-12-{throttle}"] / MPH
            assert 35.0 < middle(late) < 50.0
            assert np.all(late > 2.0 * shown().readings["upshift-12-light"] / MPH)

    def test_no_vacuum_shifts_hard(self) -> None:
        """The 1-2 is harsh in nearly every car, and engagement firm or worse."""
        states = shown(**HOSE_OFF).chances
        assert states["shift-feel-12"][:, 1].mean() > 0.9
        assert states["engagement-harshness"][:, 0].mean() < 0.1

    def test_no_vacuum_raises_the_line_at_idle(self) -> None:
        """In every car as far as its pump can, in the middle one by more than half."""
        high, usual = shown(**HOSE_OFF).readings["line-drive-idle"], shown().readings["line-drive-idle"]
        assert middle(high / usual) > 1.5
        assert np.all(high > usual)

    def test_deep_throttle_at_45_in_top_brings_second(self) -> None:
        """In 19 cars of 20, and the pedal on the floor in all."""
        cars, car = sound()
        assert shown().chances["deep-throttle-45"][:, 0].mean() > 0.95
        floor = felt_vacuum(cars, np.zeros(COUNT))
        assert np.all(down_speed(cars, car, "second_third", floor, floor=True) > 45.0 * MPH)

    def test_governor_gives_nothing_until_the_car_moves(self) -> None:
        """No pressure at rest, some at walking pace, more at every speed above."""
        assert np.all(shown().readings["governor-at-rest"] == 0.0)
        cars, car = sound()
        speeds = [
            governor_at(cars, car.output_speed(mph), np.inf) for mph in (0.0, 3.0, 10.0, 20.0, 30.0, 60.0)
        ]
        assert np.all(speeds[0] == 0.0)
        for slower, faster in pairwise(speeds):
            assert np.all(faster > slower)

    def test_governor_drive_stripped_never_leaves_first(self) -> None:
        """No governor pressure at any speed, no upshift at any throttle, line as usual."""
        stripped = shown(governor__scale=0.0).readings
        for finding in ("governor-10", "governor-20", "governor-30", "governor-50"):
            assert np.all(stripped[finding] == 0.0)
        for throttle in ("light", "medium", "full"):
            assert np.all(np.isinf(stripped[f"upshift-12-{throttle}"]))
        np.testing.assert_array_equal(stripped["line-drive-idle"], shown().readings["line-drive-idle"])

    def test_worn_pump_is_low_hot_at_idle_and_recovers_with_revs(self) -> None:
        """Four times the leak: well down at hot idle, nearly whole at 1000 rpm, better cold."""
        cars, car = sound()
        worn = show_cars(cars.with_values({"pump.leakage": 4.0 * cars["pump.leakage"]}), car).readings
        usual = shown().readings
        assert middle(worn["line-drive-idle"] / usual["line-drive-idle"]) < 0.85
        assert middle(worn["line-drive-1000"] / usual["line-drive-1000"]) > 0.95
        assert middle(worn["line-hot-against-cold"]) < 0.8
