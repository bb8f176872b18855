"""The drive over time: its specification, its thinning, its words and its numbers."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest

from bellhousing.reports.drive_chart import (
    DrivePicture,
    DriveShift,
    GearStretch,
    drive_spec,
    drive_svg,
    drive_table,
    drive_text,
    gear_stretches,
    thinned_picture,
)

MPH = 0.44704
PICTURE = DrivePicture(
    time=(0.0, 10.0, 20.0, 30.0),
    speed=(0.0, 10 * MPH, 20 * MPH, 30 * MPH),
    engine=(600.0, 2400.0, 2000.0, 2200.0),
    stretch=(1, 1, 2, 2),
    gears=(GearStretch(0.0, 10.0, 1), GearStretch(20.0, 30.0, 2)),
    shifts=(
        DriveShift(10.0, 110.0, 1, 2, 10 * MPH, "16 inHg", 0.6, 350.0),
        DriveShift(28.0, 128.0, 2, 3, 28 * MPH, "", 0.5, 60.0),
    ),
    slipping=((2, 9.5),),
)


def layers(picture: DrivePicture, unit: str = "mph", width: int = 640) -> dict[str, Any]:
    """The layers of the specification by part and name."""
    spec = drive_spec(picture, unit, width=width)
    return {f"{part['name']}/{one['name']}": one for part in spec["vconcat"] for one in part["layer"]}


def test_it_holds_its_own_data() -> None:
    """Plain JSON that points nowhere."""
    assert '"url"' not in json.dumps(drive_spec(PICTURE))


def test_lines_stand_in_the_unit_asked_for_and_break_at_holes() -> None:
    """Road speed in km/h, and a number of its own for each stretch."""
    rows = layers(PICTURE, "km/h")["road-speed/speed"]["data"]["values"]
    assert rows[3] == {"t": 30.0, "v": pytest.approx(48.28, abs=0.01), "n": 2}
    assert [row["n"] for row in rows] == [1, 1, 2, 2]


def test_flares_and_slipping_gears_are_marked() -> None:
    """A flare above a hundred counts, a smaller one does not; the slipping gear says so in its band."""
    found = layers(PICTURE)
    assert [row["text"] for row in found["engine-speed/flare"]["data"]["values"]] == ["flare 350"]
    assert [row["text"] for row in found["gear/slipping-sound-0-2"]["data"]["values"]] == ["2 slips"]
    assert "gear/sound-1-1" in found
    sound = replace(PICTURE, slipping=(), shifts=PICTURE.shifts[1:])
    assert not [name for name in layers(sound) if "flare" in name or "slipping" in name]


def test_labels_never_stand_on_each_other() -> None:
    """Two flares close together carry their marks and no words."""
    near = replace(PICTURE.shifts[0], time=10.5, flare=200.0)
    rows = layers(replace(PICTURE, shifts=(PICTURE.shifts[0], near)))["engine-speed/flare"]["data"]["values"]
    assert [row["text"] for row in rows] == ["", ""]


def long_picture(count: int) -> DrivePicture:
    """A long drive with one spike of the engine, a thousand shifts and a gear for each."""
    time = np.arange(count) * 0.05
    engine = 2000 + 500 * np.sin(time / 7.0)
    engine[count // 3] = 5900.0
    ends = np.linspace(0.0, time[-1], 1001)
    gears = [GearStretch(a, b, 1 + n % 3) for n, (a, b) in enumerate(pairwise(ends))]
    shifts = [DriveShift(end, end, 1, 2, 10.0, "", 0.5, 150.0) for end in ends[1:-1]]
    return DrivePicture(
        tuple(time.tolist()), tuple((10 + np.sin(time)).tolist()), tuple(engine.tolist()), (1,) * count,
        tuple(gears), tuple(shifts),
    )  # fmt: skip


def test_a_long_drive_is_thinned_and_keeps_its_extremes() -> None:
    """A million points become a few for each pixel, the one spike among them."""
    picture = long_picture(1_000_000)
    few = thinned_picture(picture, 640)
    assert len(few.time) <= 6 * 640 + 2
    assert max(few.engine) == 5900.0
    assert min(few.speed) == min(picture.speed)
    assert (few.time[0], few.time[-1]) == (picture.time[0], picture.time[-1])
    found = layers(few)
    assert len(found["engine-speed/shifts"]["data"]["values"]) <= 641
    assert len(found["engine-speed/flare"]["data"]["values"]) <= 641
    assert drive_spec(few)["vconcat"][2]["layer"][0]["encoding"]["x"]["axis"]["title"].endswith("min")


def test_what_is_short_is_left_as_it_is() -> None:
    """Nothing is taken from a picture that is not denser than its pixels."""
    assert thinned_picture(PICTURE, 640) is PICTURE


def test_the_gear_band_ends_at_holes() -> None:
    """From where a gear begins to where the next does; over a hole there is none."""
    band = gear_stretches(
        np.array([0.0, 1.0, 2.0, 3.0, 9.0, 10.0]), np.array([1, 1, 2, 2, 2, 2]), np.array([1, 1, 1, 1, 2, 2])
    )
    assert band == (GearStretch(0.0, 2.0, 1), GearStretch(2.0, 3.0, 2), GearStretch(9.0, 10.0, 2))
    assert gear_stretches(np.zeros(0), np.zeros(0), np.zeros(0)) == ()


def test_the_table_and_the_words() -> None:
    """Every shift with its figures, the log's own clock where it is another."""
    table = drive_table(PICTURE)
    assert table.headings[2] == "On the log’s clock, s"
    assert table.rows[0] == ("1–2", "10.0", "110.0", "10.0", "16 inHg", "0.60", "350")
    assert table.rows[1][4] == "not logged"
    same = replace(PICTURE, shifts=tuple(replace(shift, clock=shift.time) for shift in PICTURE.shifts))
    assert len(drive_table(same).headings) == 6
    text = drive_text(PICTURE)
    assert "2 shifts" in text
    assert "1–2 at 10.0 s flares 350 rpm" in text
    assert "2–3" not in text
    assert "Gear 2 slips 9.5 %" in text


def test_the_picture_is_drawn_with_its_words() -> None:
    """One image with a title and a description, ids of its own; an empty drive draws too."""
    drawn = ElementTree.fromstring(drive_svg(PICTURE, name="one"))
    assert drawn.attrib["aria-labelledby"] == "one-title one-desc"
    assert "flares 350 rpm" in "".join(drawn.itertext())
    ElementTree.fromstring(drive_svg(DrivePicture((), (), (), (), (), ())))
