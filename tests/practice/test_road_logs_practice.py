"""What the trade calls a flare, a slide and a clean change; common practice, no source."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bellhousing.road.logs.findings import road_findings
from bellhousing.road.logs.read import DriveReading
from bellhousing.road.logs.shifts import Shift
from bellhousing.road.logs.units import RPM

SHIFT = Shift(
    time=10.0, clock=10.0, before=1, after=2, speed=5.0, engine=200.0, signal=None, load=None, duration=0.5,
    flare=0.0, gain=1.0, spread=0.1,
)  # fmt: skip
READING = DriveReading(
    columns=(), shifts=(SHIFT,), slips=(), pulled={}, converter=None, engagements=(), floored=(), lag=0.0,
    step=0.1, rows=0, seconds=0.0, clock_first=None, gears=3, warnings=(),
)  # fmt: skip


@pytest.mark.parametrize(
    ("duration", "flare", "state"),
    [
        (0.4, 0.0, "clean"),
        (0.8, 0.0, "clean"),
        (0.6, 90.0, "clean"),
        (0.6, 110.0, "slides-or-flares"),
        (1.1, 0.0, "slides-or-flares"),
        (0.2, 0.0, None),
    ],
)
def test_feel_by_length_and_flare(duration: float, flare: float, state: str | None) -> None:
    """0.4 to 0.8 s is ordinary, over a second slides, over 100 rpm flares; quick alone is not yet harsh."""
    shift = replace(SHIFT, duration=duration, flare=flare * RPM)
    found = {one.finding: one.state for one in road_findings(replace(READING, shifts=(shift,)))}
    assert found.get("shift-feel-12") == state
