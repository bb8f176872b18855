"""A gear train from plain data, as a box file holds it."""

from __future__ import annotations

from typing import Any

import pytest

from bellhousing.errors import GearTrainError
from bellhousing.geartrain.data import train_from_data
from bellhousing.geartrain.layout import Brake, Clutch, OneWayClutch, PlanetarySet, Willis


def plain() -> dict[str, Any]:
    """An invented train that uses every kind of set and element."""
    return {
        "input": "a",
        "output": "c",
        "members": ["a", "b", "c"],
        "sets": [
            {
                "name": "set",
                "sun": "b",
                "ring": "a",
                "carrier": "c",
                "sun_teeth": 30,
                "ring_teeth": 70,
                "pinions": "double",
            },
            {"name": "row", "first": "a", "last": "b", "carrier": "c", "train_value": -0.5},
        ],
        "elements": [
            {"name": "band", "kind": "brake", "holds": "b"},
            {"name": "pack", "kind": "clutch", "joins": ["a", "b"]},
            {"name": "free-wheel", "kind": "one-way", "holds": "b"},
            {"name": "other", "kind": "one-way", "joins": ["c", "a"], "blocks": "forward"},
        ],
    }


def test_every_kind_is_built() -> None:
    """Sets with their pinions, clutches, brakes and one-way clutches with their sense."""
    train = train_from_data(plain())
    assert train.sets == (
        PlanetarySet("set", "b", "a", "c", 30, 70, double_pinion=True),
        Willis("row", "a", "b", "c", -0.5),
    )
    assert train.elements == (
        Brake("band", "b"),
        Clutch("pack", "a", "b"),
        OneWayClutch("free-wheel", "b", "case", -1),
        OneWayClutch("other", "c", "a", 1),
    )


def test_pinions_are_single_unless_said() -> None:
    """A set without `pinions` has single ones."""
    data = plain()
    del data["sets"][0]["pinions"]
    assert train_from_data(data).sets[0] == PlanetarySet("set", "b", "a", "c", 30, 70)


def test_unknown_teeth_are_refused_by_name() -> None:
    """A set whose teeth nobody counted cannot be solved, and the error says which."""
    data = plain()
    data["sets"][0]["sun_teeth"] = None
    with pytest.raises(GearTrainError, match="set"):
        train_from_data(data)


def test_missing_key_is_named() -> None:
    """The error names what is not there."""
    data = plain()
    del data["output"]
    with pytest.raises(GearTrainError, match="output"):
        train_from_data(data)


@pytest.mark.parametrize(
    "element",
    [
        {"name": "x", "kind": "spring", "holds": "b"},
        {"name": "x", "kind": "brake", "joins": ["b", "c"]},
        {"name": "x", "kind": "one-way", "holds": "b", "blocks": "sideways"},
        {"name": "x", "kind": "clutch", "joins": ["b", "nowhere"]},
        {"name": "x", "kind": "clutch", "joins": ["b"]},
    ],
)
def test_bad_elements_are_refused_by_name(element: dict[str, Any]) -> None:
    """Unknown kind, brake between members, one-way clutch without sense, unknown member, one end only."""
    with pytest.raises(GearTrainError, match="x"):
        train_from_data({**plain(), "elements": [element]})


def test_unknown_pinions_are_refused() -> None:
    """Pinions are single or double."""
    data = plain()
    data["sets"][0]["pinions"] = "triple"
    with pytest.raises(GearTrainError, match="triple"):
        train_from_data(data)
