"""A tyre radius or axle ratio given wrongly is told from a clutch that slips; driving backwards."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bellhousing.road.logs.gear_set import GearSet
from bellhousing.road.logs.read import DriveReading, read_log
from tests.road.invented_drives import TYRE, Logger, loop, sampled, written
from tests.road.other_drives import other_drive
from tests.road.reading_logs import columns_of, gears, read_text


def read_with(folder: Path, text: str, car: GearSet) -> DriveReading:
    """Read a log with the figures of some car."""
    path = folder / "drive.csv"
    path.write_text(text, encoding="utf-8")
    return read_log(path, car)


def hints(reading: DriveReading) -> list[str]:
    """What is said of tyre and axle."""
    return [text for text in reading.warnings if "axle" in text]


@pytest.mark.parametrize("wrong", [1.06, 1.13, 0.94])
def test_a_wrong_radius_is_told_with_the_one_that_fits(tmp_path: Path, wrong: float) -> None:
    """To three hundredths of the true one; miles an hour written so are not read as knots for it."""
    text = written(columns_of(sampled(loop(), Logger(seed=3)), "vacuum"))
    reading = read_with(tmp_path, text, replace(gears(), tyre_radius=wrong * TYRE))
    assert len(hints(reading)) == 1
    said = float(hints(reading)[0].split(" is wrong; ")[1].split(" m")[0])
    assert said == pytest.approx(TYRE, rel=0.03)
    assert next(column.unit.name for column in reading.columns if column.meaning == "speed") == "mph"


def test_a_wrong_axle_is_told_for_another_car(tmp_path: Path) -> None:
    """2.75 given for 3.08."""
    text = written(columns_of(sampled(other_drive(302).drive, Logger(seed=3)), "vacuum"))
    hint = hints(read_with(tmp_path, text, replace(gears(), axle_ratio=3.08 / 1.12)))[0]
    assert float(hint.split("axle of ")[1].split(",")[0]) == pytest.approx(3.08, rel=0.05)


@pytest.mark.parametrize("slip", [(), ((3, 0.06),), ((2, 0.12),), ((1, 0.1), (2, 0.1), (3, 0.1))])
def test_a_slipping_clutch_is_no_wrong_tyre(tmp_path: Path, slip: tuple[tuple[int, float], ...]) -> None:
    """Nor is a sound car: nothing is said of the tyre."""
    rows = columns_of(sampled(loop(slip=slip), Logger(seed=5)), "vacuum")
    assert hints(read_text(tmp_path, written(rows))) == []


def test_backwards_there_are_no_forward_gears(tmp_path: Path) -> None:
    """The loop, said by its lever to be driven in reverse up to its first stop."""
    rows = columns_of(sampled(loop(), Logger(seed=2)), "vacuum")
    time = rows["Time [s]"]
    plain = read_text(tmp_path, written(rows))
    lever = [("R" if t < 58.0 else "D") for t in time]
    reading = read_text(tmp_path, written({**rows, "Lever": lever}))
    assert [shift.clock for shift in plain.shifts if shift.clock < 58.0]
    assert [round(shift.clock, 1) for shift in reading.shifts] == [
        round(shift.clock, 1) for shift in plain.shifts if shift.clock > 58.0
    ]
    assert np.all(np.diff([shift.clock for shift in reading.shifts]) > 0)
