"""The benchmarks in small: each runs with the code that the long run has, and both its sides agree."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest
from benchmarks.__main__ import PARTS
from benchmarks.inference.beside import Library, Refused, grown, one_size
from benchmarks.measured import Curve, Found, Line, paired
from benchmarks.page import Part, file_of, kept, read_kept, written

from benchmarks import bench_fits, bench_logs, bench_shift_maps, bench_start

ROOT = Path(__file__).resolve().parents[2]


def test_posterior_beside_exact_inference() -> None:
    """On a net of eight faults both give the same chances, figures and physics included."""
    with Library(Path(sys.executable), "pyagrum") as library:
        size = one_size(library, 8, 600.0, findings=8)
    assert size.faults == 8
    assert len(size.ours) == len(size.theirs) == len(size.apart)
    assert max(size.apart) < 1e-3


def test_a_library_that_takes_too_long_is_left_at_the_size_before() -> None:
    """With no time at all not even the smallest net is finished."""
    with Library(Path(sys.executable), "pyagrum") as library, pytest.raises(Refused):
        one_size(library, 4, 1e-6, findings=2)
    assert grown(Path(sys.executable), "no such library", 60.0, (4, 6)) == []


def test_shift_maps_beside_scalar_roots() -> None:
    """Speeds agree to nine digits, and all at once is sooner than one after another."""
    found = bench_shift_maps.measured(sizes=(50, 200), alone=3, rounds=1)
    (line,) = found.lines
    off = re.search(r"agree to (\S+)", line.note)
    assert off is not None
    assert float(off[1]) < 1e-9
    (curve,) = found.curves
    assert curve.series["all at once"][-1][1] < curve.series["one after another"][-1][1]


def test_logs_fits_and_start_in_small() -> None:
    """Each tells its line with a ratio."""
    lines = [
        *bench_logs.measured(rows=2000, rounds=1).lines,
        *bench_fits.measured(sizes=((2, 6),), rounds=1).lines,
        *bench_start.measured(rounds=1, long_rounds=0).lines,
    ]
    assert len(lines) == 5
    assert all(line.found.endswith("×") for line in lines)


def test_pairs_are_taken_in_turn() -> None:
    """The ratio is the median of the pairs, not that of the medians."""
    ours, theirs = iter([1.0, 4.0, 9.0]), iter([1.0, 2.0, 3.0])
    assert paired(lambda: next(ours), lambda: next(theirs), 3) == (4.0, 2.0, 2.0)


def test_page_and_picture(tmp_path: Path) -> None:
    """What was kept is read back, and the page shows lines, curves and the machine."""
    curve = Curve("Time over jobs", "jobs", {"this": [(1.0, 0.5), (10.0, 0.7)]})
    line = Line("this", "that", "≤ 2 ×", "1.50 ×", True, "a note")
    part = Part("start", Found([line], [curve]), "2026-01-01", "a machine", "1.0")
    kept(part, tmp_path / "kept")
    assert read_kept(tmp_path / "kept" / "start.json") == part
    written([part], tmp_path)
    text = (tmp_path / "benchmarks.md").read_text(encoding="utf-8")
    assert "| this | that | ≤ 2 × | **1.50 ×** | reached | a note |" in text
    assert f"({file_of(curve)})" in text
    picture = (tmp_path / file_of(curve)).read_text(encoding="utf-8")
    assert "<title" in picture
    assert "500.0 ms at 1 to 700.0 ms at 10" in picture


def test_every_part_can_be_run() -> None:
    """Each name of the command is a module that tells what it found."""
    for name in PARTS:
        assert "def measured(" in (ROOT / "benchmarks" / f"bench_{name}.py").read_text(encoding="utf-8")
