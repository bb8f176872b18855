"""Before and after on one picture."""

from __future__ import annotations

from typing import Any

from bellhousing.reports.proof_chart import proof_spec, proof_svg, proof_text
from bellhousing.reports.shift_map_chart import DrivenShift, MapBand, ShiftMapPicture

INHG, MPH = 3386.389, 0.44704
VACUUM = tuple(INHG * v for v in (16.0, 8.0, 0.0))
PICTURE = ShiftMapPicture(VACUUM, (MapBand("1-2", (5.0, 9.0, 18.0), (5.5, 10.0, 19.0), (6.0, 11.0, 20.0)),))
BEFORE = [DrivenShift("1-2", 40.0 * MPH, 16.0 * INHG, "light")]
AFTER = [DrivenShift("1-2", 12.0 * MPH, 16.0 * INHG, "light")]


def layer(spec: dict[str, Any], name: str) -> dict[str, Any]:
    """A layer by its name."""
    return next(one for one in spec["layer"] if one["name"] == name)


def test_both_drives_and_the_sound_band_are_drawn_on_the_same_axes() -> None:
    """Every point at its speed and vacuum, the mark and its words telling the drives apart."""
    spec = proof_spec(PICTURE, BEFORE, AFTER, dates=("2026-03-01", "2026-05-01"))
    before, after = layer(spec, "before"), layer(spec, "after")
    assert before["data"]["values"][0] == {"v": 16.0, "x": 40.0, "text": "1–2"}
    assert after["data"]["values"][0] == {"v": 16.0, "x": 12.0, "text": "1–2"}
    assert before["mark"]["shape"] != after["mark"]["shape"]
    assert before["encoding"]["x"]["scale"]["domain"][1] >= 40.0
    words = [layer(spec, f"{name}-key")["data"]["values"][0]["text"] for name in ("before", "after")]
    assert "before, 2026-03-01" in words
    assert "after, 2026-05-01" in words
    assert any(one["name"].startswith("sound") for one in spec["layer"])


def test_the_picture_says_itself_in_sentences() -> None:
    """For who cannot see it, and in the SVG's description."""
    said = proof_text(PICTURE, BEFORE, AFTER)
    assert "Before: 1–2 at 40 mph, light throttle." in said
    assert "After: 1–2 at 12 mph, light throttle." in said
    drawn = proof_svg(PICTURE, BEFORE, AFTER)
    assert "Before: 1–2 at 40 mph, light throttle." in drawn
    assert drawn.count("<svg") == 1
    assert "km/h" in proof_svg(PICTURE, BEFORE, AFTER, "km/h")


def test_without_a_drive_before_only_the_last_is_drawn() -> None:
    """A car first seen after its repair."""
    spec = proof_spec(PICTURE, [], AFTER)
    names = [one["name"] for one in spec["layer"]]
    assert "after" in names
    assert "before" not in names
