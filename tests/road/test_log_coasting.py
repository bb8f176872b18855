"""Changes down with the foot off and the engine at idle: read where it tells them, and said where not."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bellhousing.road.logs.findings import road_findings
from bellhousing.road.logs.read import DriveReading
from tests.road.invented_drives import MPH, Drive, FloatArray, Logger, any_drive, drive, sampled, written
from tests.road.reading_logs import columns_of, matched, read_drive, read_text

GENTLY = ((3.0, 0.0, 0.0), *((18.0, 0.2, 0.0), (34.0, 0.0, 0.45), (4.0, 0.0, 2.0)) * 3)
"""Three pulls, each followed by coasting down to rest with little brake."""


TRUE = {"coast-down-32": 13.0, "coast-down-21": 6.0}
"""Road speeds at which the invented box comes down, coasting [mph]."""


def coasted(reading: DriveReading) -> dict[str, tuple[float, float]]:
    """What is found of coasting down [mph] and its standard uncertainty [mph]."""
    return {
        one.finding: ((one.value or 0.0) / MPH, (one.standard_uncertainty or 0.0) / MPH)
        for one in road_findings(reading)
        if one.finding.startswith("coast-down")
    }


def with_idle(drove: Drive, idle: FloatArray) -> str:
    """A log of a drive whose engine, wherever it idles, turns as given instead."""
    rows = sampled(drove, Logger(seed=2))
    slow = np.interp(rows["t"], drove.t, drove.rpm) < 680.0
    return written(columns_of(rows | {"rpm": np.where(slow, idle[: len(slow)], rows["rpm"])}, "vacuum"))


@pytest.mark.parametrize("names", [("vacuum",), ()])
@pytest.mark.parametrize("seed", [1, 2])
def test_a_gentle_coast_tells_its_changes(tmp_path: Path, seed: int, names: tuple[str, ...]) -> None:
    """Each 3-2 within 1 mph, all coasts together within two of the uncertainties, what is not told said."""
    drove = drive(GENTLY)
    reading = read_drive(tmp_path, drove, Logger(seed=seed), *names)
    pairs, missed, invented = matched(drove.shifts, reading.shifts)
    assert invented == []
    assert (3, 2) not in {(true.before, true.after) for true in missed}
    assert max(abs(read.speed / MPH - true.mph) for true, read in pairs) < 1.0
    found = coasted(reading)
    assert "coast-down-32" in found
    for finding, (value, uncertainty) in found.items():
        assert abs(value - TRUE[finding]) < 2.0 * uncertainty < 3.0
    unread = any("2-1 coasting not read" in said for said in reading.warnings)
    assert unread != ("coast-down-21" in found)


@pytest.mark.parametrize(("level", "scatter"), [(590.0, 12.0), (640.0, 0.0)])
def test_an_idle_that_does_not_move_tells_nothing_and_that_is_said(
    tmp_path: Path, level: float, scatter: float
) -> None:
    """An idle held by its control, or written in coarse steps: no change down is made up, and no one may
    believe it was read."""
    drove = drive(GENTLY)
    still = level + scatter * np.random.default_rng(5).standard_normal(4000)
    reading = read_text(tmp_path, with_idle(drove, still))
    assert coasted(reading) == {}
    assert all(shift.after > shift.before for shift in reading.shifts)
    assert any("no mark in these columns: 3-2 and 2-1 coasting" in said for said in reading.warnings)


def test_a_foot_coming_on_is_no_coasting_down(tmp_path: Path) -> None:
    """Restless drives: what is called coasting lies by 13 mph and by 6, where this box does it."""
    told = 0
    for seed in (2005, 2019, 2032, 2050):
        found = coasted(read_drive(tmp_path, any_drive(seed), Logger(seed=seed)))
        told += len(found)
        for finding, (value, uncertainty) in found.items():
            assert abs(value - TRUE[finding]) < 2.0 * uncertainty
    assert told >= 2
