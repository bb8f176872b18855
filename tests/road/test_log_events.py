"""Engagement, kickdown, coasting down, hunting: what a log tells beside the shifts under load."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bellhousing.road.logs.clock import ClockRepair
from bellhousing.road.logs.columns import Column
from bellhousing.road.logs.engagement import engagements
from bellhousing.road.logs.findings import road_findings, throttle_band
from bellhousing.road.logs.gear_set import engine_at, pull
from bellhousing.road.logs.read import DriveReading
from bellhousing.road.logs.shifts import Shift
from bellhousing.road.logs.tracks import Track
from bellhousing.road.logs.units import RPM, named_unit
from tests.road.invented_drives import MPH, FloatArray, Logger, drive, loop, written
from tests.road.reading_logs import read_drive, read_text

NOTHING = DriveReading(
    columns=(), shifts=(), slips=(), pulled={}, converter=None, engagements=(), floored=(), lag=0.0, step=0.1,
    rows=0, seconds=0.0, clock_first=None, gears=3, warnings=(),
)  # fmt: skip
VACUUM = (Column(0, "vac", "vacuum", named_unit("inHg", "vacuum")),)
SHIFT = Shift(
    time=10.0, clock=10.0, before=2, after=3, speed=20 * MPH, engine=200.0, signal=None, load=None,
    duration=0.5, flare=0.0, gain=1.0, spread=0.1,
)  # fmt: skip


def states(reading: DriveReading) -> dict[str, str | None]:
    """States of the findings of a reading."""
    return {found.finding: found.state for found in road_findings(reading)}


@pytest.mark.parametrize(("opening", "state"), [(0.99, "works"), (0.96, "none")])
def test_kickdown(tmp_path: Path, opening: float, state: str) -> None:
    """The invented car changes down when its pedal is past 97 per cent, and not just short of it."""
    drove = drive(((3.0, 0.0, 0.0), (20.0, 0.2, 0.0), (6.0, 0.0, 0.6), (3.0, 0.12, 0.0), (4.0, opening, 0.0),
                   (15.0, 0.0, 1.0)))  # fmt: skip
    reading = read_drive(tmp_path, drove, Logger(seed=2), "throttle")
    assert 40 < reading.floored[0].speed / MPH < 60
    assert states(reading)["kickdown"] == state


def test_vacuum_alone_does_not_tell_a_kickdown(tmp_path: Path) -> None:
    """A pedal on its stop and one just short of it leave the same vacuum."""
    reading = read_drive(tmp_path, loop(), Logger(seed=2), "vacuum")
    assert reading.floored == ()
    assert "kickdown" not in states(reading)


@pytest.mark.parametrize("delay", [0.5, 0.9, 1.6])
@pytest.mark.parametrize(
    ("letter", "finding"), [("D", "engagement-drive-hot"), ("R", "engagement-reverse-hot")]
)
def test_engagement_delay_where_the_lever_is_logged(
    tmp_path: Path, delay: float, letter: str, finding: str
) -> None:
    """From the lever to nine tenths of the fall of the idle."""
    random = np.random.default_rng(3)
    t = np.arange(0.0, 60.0, 0.1)
    lever = np.where(t < 10.05, "N", letter)
    rpm = 720.0 - 90.0 * np.clip((t - 10.05 - delay + 0.1) / 0.1, 0, 1) + 4.0 * random.standard_normal(len(t))
    mph = np.clip((t - 25) * 1.2, 0, 25) + 0.0 * t
    rpm = np.maximum(rpm, np.where(mph > 1, 900 + mph * 40, 0))
    text = written({"Time": t, "Speed mph": mph, "Engine rpm": rpm, "Lever": list(lever)})
    reading = read_text(tmp_path, text)
    assert [one.into for one in reading.engagements] == [{"D": "drive", "R": "reverse"}[letter]]
    assert reading.engagements[0].delay == pytest.approx(delay, abs=0.15)
    found = next(one for one in road_findings(reading) if one.finding == finding)
    assert found.value == pytest.approx(delay, abs=0.15)
    assert found.standard_uncertainty == pytest.approx(0.05, abs=0.02)


def test_without_a_lever_there_is_no_engagement() -> None:
    """Nothing is made up from the idle alone."""
    t: FloatArray = np.arange(0.0, 20.0, 0.1)
    flat = np.zeros(len(t))
    assert engagements(Track(t, t, flat, flat + 60.0, flat)) == ()


def test_hunting_needs_the_same_change_again_and_again() -> None:
    """Four changes between the top two gears within twenty seconds at one throttle; three are none."""
    changes = [
        replace(SHIFT, time=10.0 + 3 * n, clock=10.0 + 3 * n, before=2 + n % 2, after=3 - n % 2)
        for n in range(4)
    ]
    assert states(replace(NOTHING, shifts=tuple(changes)))["hunting"] == "hunts"
    assert "hunting" not in states(replace(NOTHING, shifts=tuple(changes[:3])))
    slow = tuple(replace(shift, time=10.0 + 12 * n) for n, shift in enumerate(changes))
    assert "hunting" not in states(replace(NOTHING, shifts=slow))
    moved = tuple(replace(shift, load=0.1 + 0.3 * (n % 2)) for n, shift in enumerate(changes))
    assert "hunting" not in states(replace(NOTHING, shifts=moved))


def test_a_change_down_coasting_is_a_finding_one_under_power_is_not() -> None:
    """By the car slowing and the foot off."""
    down = replace(SHIFT, before=3, after=2, speed=13 * MPH, gain=-1.0, load=0.0)
    found = {one.finding: one for one in road_findings(replace(NOTHING, shifts=(down,)))}
    assert found["coast-down-32"].value == pytest.approx(13 * MPH)
    assert (found["coast-down-32"].standard_uncertainty or 0.0) >= 1.0 * MPH
    pulled = replace(down, gain=1.5, load=0.9)
    assert "coast-down-32" not in states(replace(NOTHING, shifts=(pulled,)))


@pytest.mark.parametrize(
    ("inches", "band"),
    [(16.0, "light"), (14.0, "light"), (12.5, None), (9.5, "medium"), (5.0, None), (0.5, "full")],
)
def test_the_throttle_is_named_by_its_vacuum(inches: float, band: str | None) -> None:
    """As the trade names it; between the bands a shift is kept but tells no finding."""
    assert throttle_band(replace(SHIFT, signal=inches * 3386.389, load=0.5), vacuum=True) == band
    assert throttle_band(replace(SHIFT, signal=None, load=None), vacuum=True) is None


def test_shift_speeds_that_scatter_are_told_from_those_that_follow_the_vacuum() -> None:
    """Three shifts that differ as their vacuum does are the same; three that differ at one vacuum scatter."""
    inches = (14.5, 15.5, 16.5)
    follow = tuple(
        replace(SHIFT, time=60.0 * n, signal=v * 3386.389, load=0.2, speed=(20 - 4 * (v - 15.5)) * MPH)
        for n, v in enumerate(inches)
    )
    assert states(replace(NOTHING, shifts=follow, columns=VACUUM))["shift-speeds-scatter"] == "same"
    strewn = tuple(
        replace(shift, signal=15.5 * 3386.389, speed=(18 + 3 * n) * MPH) for n, shift in enumerate(follow)
    )
    assert states(replace(NOTHING, shifts=strewn, columns=VACUUM))["shift-speeds-scatter"] == "scatter"


@pytest.mark.beside("one undoes the other", code="road.logs.gear_set.engine_at")
def test_pull_and_engine_speed_undo_one_another() -> None:
    """On the drive and on the overrun."""
    engine = np.array([600.0, 1500.0, 2500.0, 4000.0]) * RPM
    turbine = np.array([0.0, 1400.0, 2600.0, 3900.0]) * RPM
    assert engine_at(pull(engine, turbine), turbine) == pytest.approx(engine, rel=1e-9)


@pytest.mark.beside("what was put in", code="road.logs.clock.ClockRepair.run_on")
def test_a_clock_read_in_two_blocks_runs_on() -> None:
    """A jump that falls between two blocks is joined, and midnight is none."""
    values = {"speed": np.full(50, 20.0), "engine-speed": np.full(50, 200.0)}
    repair = ClockRepair()
    tenths = np.linspace(0.0, 4.9, 50)
    first, _, _ = repair.run_on((86398.0 + tenths) % 86400.0, values, 50)
    second, clock, keep = repair.run_on(5000.0 + tenths, values, 50)
    assert np.diff(np.concatenate([first, second])) == pytest.approx(0.1, abs=1e-6)
    assert clock[0] == 86400.0 + 5000.0
    assert keep.all()
    assert repair.jumps == 1
