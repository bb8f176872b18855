"""The drive kept for its picture: extremes stay, memory is bounded, gears and holes are not lost."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from bellhousing.road.logs.trace import NO_TRACE, TraceKeeper, extremes, thinned
from tests.road.invented_drives import Logger, loop
from tests.road.reading_logs import read_drive


def part(begin: float, count: int, gear: int, step: float = 0.1) -> tuple[Any, Any]:
    """A stretch of a drive in one gear, as the reader hands it over."""
    time = begin + step * np.arange(count)
    values = np.sin(time)
    track = SimpleNamespace(time=time, clock=time, speed=values, engine=-values, step=step)
    return track, SimpleNamespace(gear=np.full(count, gear), backwards=np.zeros(count, dtype=bool))


@pytest.mark.parametrize("bins", [1, 7, 100])
def test_extremes_of_every_piece_are_kept(bins: int) -> None:
    """Against the slow way: for each piece the least, the greatest, the first and the last."""
    rng = np.random.default_rng(1)
    time, values = np.sort(rng.uniform(0, 50, 3000)), rng.normal(size=3000)
    rows = set(extremes(time, (values,), bins).tolist())
    place = np.minimum(((time - time[0]) * (bins / (time[-1] - time[0]))).astype(int), bins - 1)
    for one in range(bins):
        here = np.flatnonzero(place == one)
        if len(here):
            kept = [row for row in here if row in rows]
            assert values[kept].min() == values[here].min()
            assert values[kept].max() == values[here].max()
            assert (kept[0], kept[-1]) == (here[0], here[-1])
            assert len(kept) <= 4


def test_memory_is_bounded() -> None:
    """However long the drive, and changes of gear and holes are still there."""
    keeper = TraceKeeper(bins=50, most=2000)
    for number in range(100):
        begin = 100.0 * number + (500.0 if number >= 50 else 0.0)
        keeper.take(*part(begin, 1000, number % 3), slice(0, 1000))
    trace = keeper.trace()
    assert len(trace) < 3200
    assert np.count_nonzero(np.diff(trace.gear)) == 99
    assert set(trace.stretch.tolist()) == {1, 2}
    assert trace.speed.max() == pytest.approx(1.0, abs=1e-3)


def test_nothing_is_no_trace() -> None:
    """No rows, no error."""
    keeper = TraceKeeper()
    keeper.take(*part(0.0, 10, 0), slice(10, 10))
    assert keeper.trace() is NO_TRACE
    assert len(thinned(NO_TRACE, 10)) == 0


def test_a_read_drive_has_its_gears_in_time(tmp_path: Path) -> None:
    """The gear of the trace changes where the shifts are, and is that of the drive between them."""
    drove = loop()
    reading = read_drive(tmp_path, drove, Logger(seed=3), "vacuum")
    trace = reading.trace
    assert trace.time[-1] - trace.time[0] == pytest.approx(reading.seconds, abs=1.0)
    true = np.interp(trace.time, drove.t, drove.gear)
    moving = (np.interp(trace.time, drove.t, drove.mph) > 20) & (np.abs(true - np.round(true)) < 0.01)
    assert np.mean(trace.gear[moving] == np.round(true[moving])) > 0.95
