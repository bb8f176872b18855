"""Logs with figures that no logger can mean, rows too long and stray marks: all read."""

from __future__ import annotations

import warnings
from pathlib import Path

import pytest

from tests.road.invented_drives import Logger, loop, sampled, seen, written
from tests.road.reading_logs import columns_of, matched, read_text

SOUND = written(columns_of(sampled(loop(), Logger(seed=8)), "vacuum"))
LINES = SOUND.split("\n")


def changed(row: int, column: int, cell: str) -> str:
    """The sound log with one cell written otherwise."""
    cells = LINES[row].split(",")
    cells[column] = cell
    return "\n".join([*LINES[:row], ",".join(cells), *LINES[row + 1 :]])


@pytest.mark.parametrize("cell", ["1e308", "-1e308", "1e999", "inf", "9" * 30])
def test_a_figure_no_logger_can_mean_is_a_hole_and_told(tmp_path: Path, cell: str) -> None:
    """In any column, the clock's too; nothing overflows and every shift stays."""
    whole = read_text(tmp_path, SOUND)
    for column in range(4):
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            reading = read_text(tmp_path, changed(300, column, cell))
        assert "1 figure(s) that no logger can mean were left out" in reading.warnings
        assert len(reading.shifts) == len(whole.shifts)
        assert matched(seen(loop()), reading.shifts)[1] == []


def test_sound_logs_have_no_such_figures(tmp_path: Path) -> None:
    """Nanoseconds since 1970 are a time, though a large figure."""
    rows = columns_of(sampled(loop(), Logger(seed=8)), "vacuum")
    stamps = ",".join(["timestamp [ns]", *LINES[0].split(",")[1:]])
    table = [
        ",".join([f"{1_700_000_000_000_000_000 + round(t * 1e9)}", *line.split(",")[1:]])
        for t, line in zip(rows["Time [s]"], LINES[1:], strict=False)
    ]
    for text in (SOUND, "\n".join([stamps, *table])):
        reading = read_text(tmp_path, text)
        assert not [one for one in reading.warnings if "can mean" in one or "without a readable" in one]
        assert matched(seen(loop()), reading.shifts, from_clock=reading.clock_first or 0.0)[1] == []


def test_a_last_row_longer_than_the_header_is_read(tmp_path: Path) -> None:
    """It has no end of a line, and so is a block of its own."""
    whole = read_text(tmp_path, SOUND)
    reading = read_text(tmp_path, SOUND.rstrip("\n") + ",47.423,1935.504,13.674")
    assert (reading.rows, len(reading.shifts)) == (whole.rows, len(whole.shifts))


def test_a_stray_quote_swallows_no_rows(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """Nor is anything printed of it; a log whose cells all stand in quotes is read with one stray, too."""
    whole = read_text(tmp_path, SOUND)
    quoted = "\n".join(",".join(f'"{cell}"' for cell in line.split(",")) for line in LINES if line)
    for text in (changed(301, 1, '"46.2'), quoted):
        reading = read_text(tmp_path, text)
        assert reading.rows == whole.rows
        assert matched(seen(loop()), reading.shifts)[1] == []
    assert capfd.readouterr().err == ""
