"""The shift map: its specification, its picture, its words and its numbers."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from typing import Any
from xml.etree import ElementTree

import pytest

from bellhousing.reports.shift_map_chart import (
    INHG,
    DrivenShift,
    MapBand,
    ShiftMapPicture,
    shift_map_spec,
    shift_map_svg,
    shift_map_table,
    shift_map_text,
)

MPH = 0.44704


def band(shift: str, *speeds: float | None) -> MapBand:
    """A band two mph wide on both sides of each speed [mph]; None where the shift never comes."""

    def of(width: float) -> tuple[float | None, ...]:
        return tuple(None if speed is None else (speed + width) * MPH for speed in speeds)

    return MapBand(shift, of(-2.0), of(0.0), of(2.0))


PICTURE = ShiftMapPicture(
    vacuum=(16 * INHG, 8 * INHG, 0.0),
    sound=(band("1-2", 12, 25, 42), band("2-3", 20, 45, 70), band("3-2", 10, 30, 55)),
    suspected=(band("1-2", 36, 40, 42), band("2-3", 62, 66, 70), band("3-2", 50, 52, 55)),
    suspected_name="Vacuum hose off",
    driven=(DrivenShift("2-3", 64 * MPH, 16 * INHG, "light"),),
)


def layers(picture: ShiftMapPicture, unit: str = "mph") -> dict[str, Any]:
    """The layers of the specification by name."""
    return {layer["name"]: layer for layer in shift_map_spec(picture, unit)["layer"]}


def test_the_specification_is_plain_data_that_points_nowhere() -> None:
    """It can be written as JSON and holds its own data."""
    text = json.dumps(shift_map_spec(PICTURE))
    assert '"url"' not in text
    assert re.findall(r"\w+://[^\"]+", text) == ["https://vega.github.io/schema/vega-lite/v6.json"]


def test_bands_stand_where_the_shifts_come() -> None:
    """Low and high of a band in the unit of the reader, at each vacuum."""
    first = layers(PICTURE)["sound-0-0"]["data"]["values"]
    assert first[0] == pytest.approx({"v": 16.0, "low": 10.0, "high": 14.0})
    metric = layers(PICTURE, "km/h")["sound-0-0"]["data"]["values"]
    assert metric[0]["low"] == pytest.approx(16.09, abs=0.01)


def test_full_throttle_is_on_top() -> None:
    """No vacuum at the upper edge, the highest at the lower."""
    encoding = layers(PICTURE)["sound-0-0"]["encoding"]
    assert encoding["y"]["scale"]["domain"] == [16.8, 0.0]


def test_downshifts_are_drawn_only_when_driven() -> None:
    """The picture stays clear: coast-downs join when one was noted."""
    assert [each.shift for each in PICTURE.drawn] == ["1-2", "2-3"]
    coasting = replace(PICTURE, driven=(DrivenShift("3-2", 12 * MPH, 16 * INHG, "shut"),))
    assert [each.shift for each in coasting.drawn] == ["1-2", "2-3", "3-2"]


def test_a_shift_that_never_comes_leaves_the_band_open() -> None:
    """A missing upper end reaches the edge; a missing lower end is not drawn."""
    never = MapBand("2-3", (18 * MPH, 40 * MPH, None), (20 * MPH, None, None), (22 * MPH, None, None))
    picture = replace(PICTURE, sound=(PICTURE.sound[0], never), suspected=(), suspected_name=None)
    spec = shift_map_spec(picture)
    rows = layers(picture)["sound-1-1"]["data"]["values"]
    end = spec["layer"][0]["encoding"]["x"]["scale"]["domain"][1]
    assert [row["high"] for row in rows] == pytest.approx([22.0, end])
    assert "never at full" in shift_map_text(picture)
    assert shift_map_table(picture).rows[-1][-1] == "never"


def test_a_cause_that_moves_nothing_is_said_and_not_drawn() -> None:
    """The same medians as a sound car's give no second line."""
    same = replace(PICTURE, suspected=PICTURE.sound)
    assert not same.moved
    assert not any(name.startswith("suspected") for name in layers(same))
    assert "does not move the shifts" in shift_map_text(same)
    assert PICTURE.moved


def test_the_picture_has_a_title_a_description_and_no_style_of_its_own() -> None:
    """What a screen reader reads is in the picture; what a strict policy refuses is not."""
    drawn = shift_map_svg(PICTURE, name="map")
    root = ElementTree.fromstring(drawn)
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "map-title map-desc"
    texts = {item.get("id"): item.text for item in root if item.get("id")}
    assert texts["map-title"] == "Shift map: sound, and Vacuum hose off"
    assert texts["map-desc"] == shift_map_text(PICTURE)
    assert "style=" not in drawn
    assert "href" not in drawn.replace("xmlns:xlink", "")
    for name in ("sound_0_0_marks", "sound_1_1_marks", "suspected_0_marks", "driven_marks"):
        assert name in drawn


def test_throttles_are_named_on_the_axis() -> None:
    """Light, half and full stand at their vacuum, the edges included."""
    words = set(re.findall(r">([a-z]+)</text>", shift_map_svg(PICTURE)))
    assert {"light", "half", "full", "throttle"} <= words


def test_the_words_say_what_is_drawn() -> None:
    """Bands, cause and the shift driven, in sentences."""
    text = shift_map_text(PICTURE)
    assert "2–3 on a sound car: 18–22 mph at light throttle, 68–72 mph at full." in text
    assert "2–3 with Vacuum hose off: about 62 mph at light throttle, 70 mph at full." in text
    assert "Driven: 2–3 at 64 mph, light throttle." in text


def test_the_table_holds_the_numbers() -> None:
    """Each throttle with sound and suspected speeds, in the unit asked for."""
    table = shift_map_table(PICTURE)
    assert table.headings[:4] == ("Throttle, by vacuum", "1–2 sound", "1–2 suspected", "2–3 sound")
    assert table.rows[0][:4] == ("light (16 inHg)", "10–14 mph", "36 mph", "18–22 mph")
    assert all(len(row) == len(table.headings) for row in table.rows)
    assert shift_map_table(PICTURE, "km/h").rows[0][0] == "light (54 kPa)"
