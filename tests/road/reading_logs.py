"""Help for the tests that read logs: box A's gears, a file of rows, and truth set against what was read."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np

from bellhousing.boxes.load import load_box
from bellhousing.road.logs.gear_set import GearSet, gear_set
from bellhousing.road.logs.read import DriveReading, read_log
from bellhousing.road.logs.shifts import Shift
from tests.road.invented_drives import (
    AXLE,
    MPH,
    TYRE,
    Drive,
    FloatArray,
    Logger,
    TrueShift,
    sampled,
    seen,
    written,
)

NEAR = 0.8  # time within which a shift read is the one driven [s]


@lru_cache
def gears() -> GearSet:
    """The gears of box A in the invented car."""
    return gear_set(load_box("A"), AXLE, TYRE)


def columns_of(rows: dict[str, FloatArray], *names: str) -> dict[str, FloatArray]:
    """Columns as a logger heads them; speed and engine speed always."""
    heads = {"t": "Time [s]", "mph": "Speed [mph]", "rpm": "Engine [rpm]", "vacuum": "Vacuum [inHg]",
             "throttle": "Throttle [%]"}  # fmt: skip
    return {heads[name]: rows[name] for name in ("t", "mph", "rpm", *names)}


def read_text(folder: Path, text: str | bytes) -> DriveReading:
    """Read a text as a log."""
    path = folder / "drive.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    return read_log(path, gears())


def read_drive(folder: Path, drove: Drive, logger: Logger, *names: str) -> DriveReading:
    """Log a drive and read it."""
    return read_text(folder, written(columns_of(sampled(drove, logger), *names)))


def matched(
    truth: tuple[TrueShift, ...], read: tuple[Shift, ...], *, from_clock: float = 0.0
) -> tuple[list[tuple[TrueShift, Shift]], list[TrueShift], list[Shift]]:
    """Pairs of driven and read shifts, those driven but not read, and those read but not driven."""
    left = list(read)
    pairs, missed = [], []
    for true in truth:
        near = [
            shift
            for shift in left
            if abs(shift.clock - from_clock - true.t) < NEAR
            and (shift.before, shift.after) == (true.before, true.after)
        ]
        if near:
            left.remove(near[0])
            pairs.append((true, near[0]))
        else:
            missed.append(true)
    return pairs, missed, left


def all_found(
    drove: Drive, reading: DriveReading, *, from_clock: float = 0.0
) -> list[tuple[TrueShift, Shift]]:
    """Every shift that shows was read and none was invented; the pairs.

    A change down at idle may be read too: then it is one that was driven.
    """
    pairs, missed, beside = matched(seen(drove), reading.shifts, from_clock=from_clock)
    assert missed == []
    assert matched(drove.shifts, tuple(beside), from_clock=from_clock)[2] == []
    return pairs


def shown(reading: DriveReading) -> list[Shift]:
    """The shifts read out of the ratio, without those at idle."""
    return [shift for shift in reading.shifts if shift not in reading.coasting.shifts]


def worst_speed(pairs: list[tuple[TrueShift, Shift]]) -> float:
    """Largest error of a shift's road speed [mph]."""
    return float(np.max([abs(read.speed / MPH - true.mph) for true, read in pairs]))
