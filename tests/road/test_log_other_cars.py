"""Logs of cars of every sort, by a generator that shares no assumption with the reader."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from bellhousing.boxes.load import load_box
from bellhousing.road.logs.gear_set import GearSet, gear_set
from bellhousing.road.logs.read import DriveReading, read_log
from tests.road.invented_drives import AXLE, MPH, TYRE, Logger, sampled, written
from tests.road.other_drives import OtherDrive, other_drive
from tests.road.reading_logs import columns_of, matched


@lru_cache
def gears_of_box(count: int) -> GearSet:
    """The gears of the box with so many of them."""
    return gear_set(load_box("A" if count == 3 else "B"), AXLE, TYRE)


def read_other(folder: Path, drove: OtherDrive, count: int, logger: Logger, *names: str) -> DriveReading:
    """Log a drive of another car and read it."""
    path = folder / "drive.csv"
    path.write_text(written(columns_of(sampled(drove.drive, logger), *names)), encoding="utf-8")
    return read_log(path, gears_of_box(count))


@pytest.mark.parametrize(("count", "names"), [(3, ("vacuum",)), (3, ()), (4, ("vacuum",))])
def test_changes_of_any_car_are_found_and_few_invented(
    tmp_path: Path, count: int, names: tuple[str, ...]
) -> None:
    """Of twenty changes that show at most two are missed and one is invented; nearly all within 1 mph."""
    driven = found = strange = 0
    errors: list[float] = []
    for seed in range(200, 207 if count == 3 else 202):
        drove = other_drive(seed, count)
        reading = read_other(tmp_path, drove, count, Logger(seed=seed), *names)
        must = tuple(shift for shift, show in zip(drove.drive.shifts, drove.shows, strict=True) if show)
        pairs, missed, beside = matched(must, reading.shifts)
        driven, found = driven + len(pairs) + len(missed), found + len(pairs)
        strange += len(matched(drove.drive.shifts, tuple(beside))[2])
        errors += [read.speed / MPH - true.mph for true, read in pairs]
    assert driven > 30
    assert found >= 0.9 * driven
    assert strange <= driven / 20
    assert np.mean(np.abs(errors) < 1.0) > 0.93


@pytest.mark.parametrize("late", [0.0, 0.9])
def test_an_engine_that_falls_behind_on_the_overrun_is_no_late_road_speed(
    tmp_path: Path, late: float
) -> None:
    """A converter slips the more the slower it turns: only a delay that is there is taken out.

    Where that slip looks like a delay, hard starts tell that it is none.
    """
    for seed in (210, 211, 12005):
        reading = read_other(tmp_path, other_drive(seed), 3, Logger(seed=seed, lag=late), "vacuum")
        assert reading.lag == pytest.approx(late, abs=0.35 if late else 0.0)


def test_a_coupling_between_gear_sets_pulls_by_its_own_speed_and_share() -> None:
    """From the tooth counts of the four-speed: slowed 1.46 times, or with 7/18 of the power."""
    slow, share = 1.0 + 36.0 / 78.0, 42.0 / 108.0
    first = slow**-1.5
    expected = (1.0, 1.0 / first, first / share / first, 1.0 / share / first)
    assert gears_of_box(4).fluid == pytest.approx(expected, rel=1e-6)
    assert gears_of_box(3).fluid == ()


def test_a_change_up_in_a_hard_start_is_found(tmp_path: Path) -> None:
    """The engine rises as the car pulls away and falls with the change before it has settled."""
    drove = other_drive(12008, 4)
    reading = read_other(tmp_path, drove, 4, Logger(seed=12008), "vacuum")
    hard = tuple(one for one in drove.drive.shifts if one.after == 2 and round(one.t) in (118, 191))
    assert len(hard) == 2
    assert matched(hard, reading.shifts)[1] == []


def test_two_changes_up_of_which_the_foot_cuts_one_short_are_both_found(tmp_path: Path) -> None:
    """The engine has fallen for three tenths of a second when the foot comes off: that is a change."""
    drove = other_drive(90016)
    reading = read_other(tmp_path, drove, 3, Logger(seed=90016), "vacuum")
    close = tuple(one for one in drove.drive.shifts if 22.0 < one.t < 24.0)
    assert [one.after for one in close] == [2, 3]
    _, missed, beside = matched(close, tuple(one for one in reading.shifts if 21.0 < one.clock < 25.0))
    assert missed == []
    assert beside == []
