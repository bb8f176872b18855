"""Figures of logs and fits worked out another way: by libraries, by what was put in, by a balance."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import savgol_filter
from scipy.stats import norm

from bellhousing.hydraulics.line import line_pressure
from bellhousing.road import pressures
from bellhousing.road.drive.mechanics import Converter
from bellhousing.road.explained import explained
from bellhousing.road.four_speed import pressures as linkage_pressures
from bellhousing.road.logs.gear_set import GearSet, pull
from bellhousing.road.logs.gears import idle_of
from bellhousing.road.logs.scales import fit_to_gears
from bellhousing.road.logs.smoothing import slope
from bellhousing.road.logs.tracks import Track
from bellhousing.road.one_car.fit import Known
from bellhousing.road.one_car.parameters import PARAMETERS
from bellhousing.road.shifts import forced_downshifts, shift_speeds
from tests.road.drive.drives import MPH, PSI, RPM, box_a, box_b, middle, middle_b

GEARS = GearSet((2.5, 1.5, 1.0), 1900.0 * RPM, 3.08, 0.345)


@pytest.mark.other_program("scipy, filter of Savitzky and Golay", code="road.logs.smoothing.slope")
def test_slope_of_a_series_by_a_library() -> None:
    """Away from the ends, a straight line through eleven samples has the slope of the library's filter."""
    series = np.random.default_rng(2).normal(size=200).cumsum()
    wanted = savgol_filter(series, 11, 1, deriv=1, delta=0.05)
    assert slope(series, 11, 0.05)[10:-10] == pytest.approx(wanted[10:-10], rel=1e-9, abs=1e-9)


@pytest.mark.other_program(
    "scipy, the normal distribution",
    code=("road.one_car.fit.Known.ends", "road.one_car.fit.Known.window"),
)
def test_ends_of_a_fitted_parameter_by_a_library() -> None:
    """95 in 100 about what was fitted and about a sound unit; of a factor, of its logarithm."""
    for parameter in PARAMETERS:
        known = Known(parameter, 1.1, 0.04, 0.2, 0.06, 1.0)
        if parameter.added:
            ends, window = norm.interval(0.95, 1.1, 0.04), norm.interval(0.95, 1.0, 0.06)
        else:
            ends = np.exp(norm.interval(0.95, np.log(1.1), 0.04))
            window = np.exp(norm.interval(0.95, 0.0, 0.06))
        assert known.ends == pytest.approx(tuple(ends), rel=2e-3)
        assert known.window == pytest.approx(tuple(window), rel=2e-3)


@pytest.mark.other_program(
    "scipy, the normal distribution",
    code=("road.explained.explained:low", "road.explained.explained:high", "road.explained.explained:middle"),
)
def test_band_of_a_reading_by_a_library() -> None:
    """Cars that scatter by 2 about 40, read to 0.5: 95 in 100 of the sum of both."""
    quantiles = norm.ppf((np.arange(20_000) + 0.5) / 20_000)
    found = explained(40.0, 0.5, 40.0 + 2.0 * quantiles, 65.0 + 2.0 * quantiles)
    low, high = norm.interval(0.95, 40.0, np.hypot(2.0, 0.5))
    assert (found.low, found.middle, found.high) == pytest.approx((low, 40.0, high), abs=0.1)


def standing_then_driving(lag: int = 0) -> Track:
    """Ten seconds at an idle of 650 rpm, then twenty in second gear."""
    time = np.linspace(0.0, 29.9, 300)
    road = np.where(time < 10.0, 0.0, 5.0 + 0.5 * (time - 10.0))
    output = road * 3.08 / 0.345
    engine = np.where(time < 10.0, 650.0 * RPM, output * 1.5 / 0.97)
    return Track(time, time, road, engine, np.roll(output, lag))


@pytest.mark.beside(
    "what was put in",
    code=(
        "road.logs.gears.idle_of",
        "road.logs.tracks.Track.step",
        "road.logs.gear_set.GearSet.output_speed",
        "road.logs.gear_set.GearSet.road_speed",
        "road.logs.scales.fit_to_gears",
    ),
)
def test_a_made_up_log_tells_what_it_was_made_from() -> None:
    """Its idle, its step, its output speed; every moving sample goes with second gear, none slows down."""
    track = standing_then_driving()
    assert idle_of(track) == pytest.approx(650.0 * RPM)
    assert track.step == pytest.approx(0.1)
    assert GEARS.output_speed(track.speed) == pytest.approx(track.output)
    assert GEARS.road_speed(track.output) == pytest.approx(track.speed)
    assert GEARS.road_speed(np.array([box_a()[1].output_speed(60.0)])) == pytest.approx(60.0 * MPH)
    assert fit_to_gears(track.engine, track.speed, GEARS) == pytest.approx(1.0)


@pytest.mark.beside(
    "two forms of one law", code=("road.logs.gear_set.pull", "road.drive.mechanics.Converter.torques")
)
def test_pull_is_what_the_simulated_converter_takes() -> None:
    """Its torque is the square of the pull over that of the capacity factor, whatever the turbine does."""
    factor = np.array([12.0])
    converter = Converter(1.0 / factor**2, np.array([2.0]), np.array([0.9]), np.ones(1))
    for engine, turbine in ((200.0, 0.0), (260.0, 190.0), (400.0, 380.0)):
        taken, _ = converter.torques(np.array([engine]), np.array([turbine]))
        assert (pull(np.array([engine]), np.array([turbine])) / factor) ** 2 == pytest.approx(taken, rel=1e-9)


@pytest.mark.beside("the pumps throttled by that share", code="road.four_speed.pressures.spilled_share")
def test_two_pumps_less_what_is_let_go_just_hold_the_line() -> None:
    """With the share taken off both deliveries and no regulator, they come to the very pressure."""
    cars, line = middle_b(), np.array([70.0 * PSI])
    share = linkage_pressures.spilled_share(cars, [], line, 900.0 * RPM, 0.0)
    thin = pressures.thinning(cars, pressures.HOT)
    left = line_pressure(
        1e9,
        0.0,
        pressures.delivery(cars, 900.0 * RPM) * (1.0 - share),
        pressures.leak_conductance(cars, [], thin),
        pressures.charge_conductance(cars, "coupling"),
        cars["pump.leakage"] * thin,
    )
    assert 0.05 < share[0] < 0.95
    assert left == pytest.approx(line, rel=1e-6)


@pytest.mark.beside("the same car with its detent always on", code="road.shifts.forced_downshifts")
def test_forced_downshifts_are_those_with_the_detent_on() -> None:
    """At no vacuum an ordinary change down then comes where the pedal on its stop brings it."""
    _, car = box_a()
    forced = forced_downshifts(middle(), car)
    stuck = shift_speeds(middle(detent__always=1.0), car, 0.0)
    for shift in ("3-2", "2-1"):
        assert forced[shift] == pytest.approx(stuck[shift], rel=2e-3)
    assert set(forced_downshifts(middle_b(), box_b()[1])) == {"2-1", "3-2", "4-3"}
