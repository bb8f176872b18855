"""Logs of invented drives with a known truth: every shift found, none invented, flare and slip measured."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bellhousing.road.logs import read as read_module
from bellhousing.road.logs.findings import road_findings
from bellhousing.road.logs.gear_costs import sample_costs
from bellhousing.road.logs.gear_set import pull
from bellhousing.road.logs.tracks import Track
from bellhousing.road.logs.units import RPM
from tests.road.invented_drives import MPH, Logger, any_drive, loop, seen, under_power
from tests.road.reading_logs import all_found, gears, matched, read_drive, worst_speed


@pytest.mark.beside("the speeds that were put in", code="road.logs.read.read_log:shifts.speed")
@pytest.mark.parametrize("seed", range(1, 7))
@pytest.mark.parametrize("names", [("vacuum",), ("throttle",), ("vacuum", "throttle"), ()])
def test_every_shift_is_found_within_a_mile_an_hour(
    tmp_path: Path, seed: int, names: tuple[str, ...]
) -> None:
    """At 10 rows a second and 0.3 mph of noise, with whatever tells the throttle or nothing."""
    reading = read_drive(tmp_path, loop(), Logger(seed=seed), *names)
    pairs = all_found(loop(), reading)
    assert len(pairs) == len(seen(loop())) >= 9
    assert worst_speed(pairs) < 1.0
    assert all(shift.flare == 0.0 for shift in reading.shifts)
    assert reading.slips == ()
    assert reading.lag == 0.0


@pytest.mark.parametrize("rate", [4.0, 20.0, 100.0])
def test_other_rates_of_rows(tmp_path: Path, rate: float) -> None:
    """From four rows a second on, the road speed is as good."""
    reading = read_drive(tmp_path, loop(), Logger(rate=rate, seed=3), "vacuum")
    assert worst_speed(all_found(loop(), reading)) < 1.0


def test_one_row_a_second_finds_them_and_says_what_it_cannot_tell(tmp_path: Path) -> None:
    """Every shift, its speed to what the car gains between two rows; length unknown."""
    reading = read_drive(tmp_path, loop(), Logger(rate=1.0, seed=2), "vacuum")
    for true, read in all_found(loop(), reading):
        assert abs(read.speed / MPH - true.mph) < 0.5 + 0.8 * read.gain / MPH + 0.6
    assert any("how long a shift takes" in text for text in reading.warnings)
    assert not any(found.finding.startswith("shift-feel") for found in road_findings(reading))


@pytest.mark.parametrize(("flare", "seed"), [(150.0, 1), (150.0, 2), (250.0, 1), (250.0, 3), (400.0, 4)])
def test_flares_are_found_and_measured(tmp_path: Path, flare: float, seed: int) -> None:
    """Every flare that lifts the engine 100 rpm at part throttle; none on a sound car (tested above)."""
    drove = loop(flare=flare)
    pairs = all_found(drove, read_drive(tmp_path, drove, Logger(seed=seed), "vacuum"))
    part = [(true, read) for true, read in pairs if true.flare and (read.load or 0.0) < 0.9]
    assert len(part) >= 4
    for true, read in part:
        assert read.flare / RPM == pytest.approx(true.flare, abs=50 + 0.3 * true.flare)
        assert read.speed / MPH == pytest.approx(true.mph, abs=1.5)


@pytest.mark.parametrize(("gear", "share"), [(2, 0.06), (2, 0.12), (3, 0.06), (3, 0.12)])
def test_slip_above_a_hundred_turns_is_found(tmp_path: Path, gear: int, share: float) -> None:
    """In the gear that slips and in no other, to a few per cent of the turbine's speed."""
    drove = loop(slip=((gear, share),))
    reading = read_drive(tmp_path, drove, Logger(seed=5), "vacuum")
    assert [slip.gear for slip in reading.slips] == [gear]
    assert reading.slips[0].share == pytest.approx(share, abs=0.035)
    assert reading.slips[0].engine > 100 * RPM
    states = {found.finding: found.state for found in road_findings(reading)}
    slipping = {
        "slip-second": "slips" if gear == 2 else "none",
        "slip-third": "slips" if gear == 3 else "none",
    }
    assert {name: states.get(name) for name in slipping} == slipping


def test_a_sliding_shift_is_told_from_a_quick_one(tmp_path: Path) -> None:
    """A 2-3 that takes 1.4 s is called sliding, the 1-2 of the same car is clean."""
    reading = read_drive(tmp_path, loop(slow=1.4), Logger(seed=2), "vacuum")
    for true, read in all_found(loop(slow=1.4), reading):
        if true.before == 2 and true.after == 3:
            assert read.duration == pytest.approx(true.duration, abs=0.4)
    states = {found.finding: found.state for found in road_findings(reading)}
    assert states["shift-feel-23"] == "slides-or-flares"
    assert states["shift-feel-12"] == "clean"


@pytest.mark.beside("the delay that was put in", code="road.logs.lag.road_lag")
def test_a_late_road_speed_is_noticed_and_taken_out(tmp_path: Path) -> None:
    """The delay to a fifth of a second, the shift speeds to what that is worth at this car's gain.

    What is more delay in one log than in another is told to a fiftieth of a second.
    """
    delays = {}
    for lag in (0.5, 0.9, 1.6):
        reading = read_drive(tmp_path, loop(), Logger(lag=lag, seed=4), "vacuum")
        delays[lag] = reading.lag
        assert reading.lag == pytest.approx(lag, abs=0.2)
        assert any("late against the engine" in text for text in reading.warnings)
        for true, read in all_found(loop(), reading):
            assert abs(read.speed / MPH - true.mph) < 0.6 + 0.2 * read.gain / MPH
    assert delays[1.6] - delays[0.5] == pytest.approx(1.1, abs=0.02)


def test_findings_carry_band_and_uncertainty(tmp_path: Path) -> None:
    """Shift speeds by throttle band; the true speed lies within three of the stated uncertainties."""
    reading = read_drive(tmp_path, loop(), Logger(seed=6), "vacuum")
    found = {one.finding: one for one in road_findings(reading)}
    full = found["upshift-12-full"]
    true = next(shift for shift in loop().shifts if shift.mph > 40 and shift.before == 1)
    assert full.value is not None
    assert full.standard_uncertainty is not None
    assert abs(full.value / MPH - true.mph) < 3 * full.standard_uncertainty / MPH
    assert 0.2 <= full.standard_uncertainty / MPH < 2.0
    assert "upshift-23-medium" in found
    assert found["shift-feel-12"].state == "clean"
    assert all(one.state is not None or (one.standard_uncertainty or 0.0) > 0.0 for one in found.values())


def test_converter_slip_at_cruise_is_that_of_the_table(tmp_path: Path) -> None:
    """A few per cent in top, as this invented converter has at a light pull."""
    reading = read_drive(tmp_path, loop(), Logger(seed=1), "vacuum")
    assert reading.converter is not None
    assert 0.01 < reading.converter[0] < 0.05
    assert np.isfinite(reading.converter[1])


@pytest.mark.parametrize("names", [("vacuum",), ("throttle",), ()])
def test_a_restless_foot(tmp_path: Path, names: tuple[str, ...]) -> None:
    """Drives in any order of pulls, lifts and stops: none invented, at most one in thirty missed."""
    driven = found = near = 0
    for seed in range(31, 37):
        drove = any_drive(seed)
        reading = read_drive(tmp_path, drove, Logger(seed=seed), *names)
        pairs, missed, invented = matched(under_power(drove), reading.shifts)
        # Coasting down the engine idles through the change: where it shows all the same, it is one driven.
        _, _, beside = matched(drove.shifts, tuple(invented))
        assert beside == []
        driven += len(pairs) + len(missed)
        found += len(pairs)
        near += sum(abs(read.speed / MPH - true.mph) < 1.0 for true, read in pairs)
    assert driven > 50
    assert found >= driven * 29 / 30
    assert near >= 0.95 * found


@pytest.mark.parametrize("names", [("vacuum",), ("throttle",), ()])
@pytest.mark.parametrize("seed", [7, 21, 51, 59, 66, 67, 77])
def test_a_foot_that_moves_with_the_shift(tmp_path: Path, seed: int, names: tuple[str, ...]) -> None:
    """Kickdowns, shifts as the foot lifts, running free on a one-way clutch, pulling away out of idle."""
    drove = any_drive(seed)
    reading = read_drive(tmp_path, drove, Logger(seed=seed), *names)
    pairs, missed, invented = matched(seen(drove), reading.shifts)
    assert missed == []
    assert matched(drove.shifts, tuple(invented))[2] == []
    assert worst_speed(pairs) < 1.0


@pytest.mark.parametrize("names", [("vacuum",), ("throttle",)])
def test_a_foot_lifted_right_after_the_shift(tmp_path: Path, names: tuple[str, ...]) -> None:
    """The engine falls to the higher gear and on with the foot, in one piece: the shift is read."""
    drove = any_drive(115)
    reading = read_drive(tmp_path, drove, Logger(seed=115), *names)
    pairs, missed, invented = matched(seen(drove), reading.shifts)
    assert missed == []
    assert matched(drove.shifts, tuple(invented))[2] == []
    assert worst_speed(pairs) < 1.0


@pytest.mark.parametrize("seed", [303, 306])
def test_a_shift_is_no_smaller_for_a_noisy_engine_speed(tmp_path: Path, seed: int) -> None:
    """With 30 rpm of noise a change is measured as a whole, and not one burst of it."""
    reading = read_drive(tmp_path, any_drive(seed), Logger(seed=seed, rpm_noise=30.0), "vacuum")
    all_found(any_drive(seed), reading)


def test_a_gear_that_slips_is_likelier_than_a_turbine_ahead_of_its_engine() -> None:
    """At 65 mph and full throttle 2900 rpm are slip in the highest gear: in the one below the wheels would
    turn the engine faster than that."""
    count = 40
    output, there = np.full(count, gears().output_speed(np.array(65.0 * MPH))), np.ones(count, dtype=bool)
    engine = np.full(count, 1.18 * output[0])
    time = np.linspace(0.0, 3.9, count)
    track = Track(time, time, output, engine, output, np.ones(count))
    pulls = np.stack([pull(engine, ratio * output) for ratio in gears().ratios]).T
    costs = sample_costs(track, gears(), output, 0.5 * there, 2.0 * pulls, there, 600.0 * RPM)
    assert np.all(costs[:, 2] < costs[:, 1])


def test_first_and_second_are_told_by_what_the_car_gains(tmp_path: Path) -> None:
    """With nothing but the two speeds every change up is named by the right gears."""
    reading = read_drive(tmp_path, any_drive(62), Logger(seed=62))
    assert [(shift.before, shift.after) for shift in reading.shifts if shift.after > shift.before] == [
        (true.before, true.after) for true in any_drive(62).shifts if true.after > true.before
    ]


@pytest.mark.parametrize("flare", [0.0, 250.0])
def test_a_fine_log_is_measured_as_finely_on_the_usual_grid(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, flare: float
) -> None:
    """A hundred rows a second, averaged over a tenth and over a twentieth: the same lengths and flares."""
    drove = loop(flare=flare)
    usual = read_drive(tmp_path, drove, Logger(rate=100.0, seed=1), "vacuum")
    monkeypatch.setattr(read_module, "FINEST", 0.05)
    fine = read_drive(tmp_path, drove, Logger(rate=100.0, seed=1), "vacuum")
    assert fine.shifts[0].time != usual.shifts[0].time
    ups = [[shift for shift in read.shifts if shift.after > shift.before] for read in (usual, fine)]
    for one, other in zip(*ups, strict=True):
        assert one.duration == pytest.approx(other.duration, abs=0.12)
        assert one.flare / RPM == pytest.approx(other.flare / RPM, abs=30.0)
