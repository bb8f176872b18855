"""Backing out and then driving off, road speed counted as loggers do and no lever written."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bellhousing.road.logs.read import read_log
from tests.road.invented_drives import Logger, sampled, written
from tests.road.other_drives import other_drive
from tests.road.reading_logs import columns_of, matched
from tests.road.test_log_other_cars import gears_of_box


@pytest.mark.parametrize("seed", [5, 8])
def test_no_change_is_read_while_a_car_backs(tmp_path: Path, seed: int) -> None:
    """A box that is not told what its reverse is reads one; what comes after is read as well with both."""
    drove = other_drive(seed, reverse=True)
    path = tmp_path / "drive.csv"
    path.write_text(written(columns_of(sampled(drove.drive, Logger(seed=seed)), "vacuum")), encoding="utf-8")
    backs = drove.drive.t[drove.drive.gear < 0.5]
    known = gears_of_box(3)
    reading, blind = read_log(path, known), read_log(path, replace(known, reverse=0.0))
    assert [shift for shift in blind.shifts if shift.clock < backs[-1]]
    assert [shift for shift in reading.shifts if shift.clock < backs[-1]] == []
    must = tuple(shift for shift, show in zip(drove.drive.shifts, drove.shows, strict=True) if show)
    assert len(matched(must, reading.shifts)[0]) >= 0.9 * len(must)
    # The gear shown there is none of the forward ones.
    wrong = [time for time in reading.trace.clock[reading.trace.gear == 0] if time > backs[-1] + 4.5]
    assert wrong == []
    assert np.any(reading.trace.gear == 0)


def test_a_slow_hop_with_its_changes_is_no_backing(tmp_path: Path) -> None:
    """From one stop to the next with a change up between them that shows."""
    path = tmp_path / "drive.csv"
    rows = columns_of(sampled(other_drive(410).drive, Logger(seed=410)), "vacuum")
    path.write_text(written(rows), encoding="utf-8")
    reading = read_log(path, gears_of_box(3))
    assert [shift.after for shift in reading.shifts if 60.8 < shift.clock < 70.0] == [2]
    assert not np.any(reading.trace.gear == 0)
