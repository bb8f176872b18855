"""A findings file may name a box that is known only by its printed tables."""

from __future__ import annotations

from pathlib import Path

from bellhousing.tasks.file_answers import shift_map_of_file

FINDINGS = """\
box: {box}
car: {{axle_ratio: 3.23, tyre_radius: 335 mm}}
findings:
  - line in drive with the hose off 145 psi
"""


def width(tmp_path: Path, box: str) -> float:
    """Width of the band of the 1-2 upshift in the middle of the shift map."""
    path = tmp_path / f"{box}.yaml"
    path.write_text(FINDINGS.format(box=box), encoding="utf-8")
    curve = next(curve for curve in shift_map_of_file(path).curves if curve.shift == "1-2")
    middle = len(curve.low) // 2
    low, high = curve.low[middle], curve.high[middle]
    assert low is not None
    assert high is not None
    return high - low


def test_shift_map_of_a_box_by_readings(tmp_path: Path) -> None:
    """Its band is drawn, and is narrower than that of a box known only by its kind."""
    assert 0.0 < width(tmp_path, "box-by-readings") < 0.75 * width(tmp_path, "three-speed-vacuum")
