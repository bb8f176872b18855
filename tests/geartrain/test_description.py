"""A gear train from a plain description, as a box file gives it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pytest

from bellhousing.errors import GearTrainError
from bellhousing.geartrain.data import train_from
from bellhousing.geartrain.layout import Brake, Clutch, OneWayClutch, PlanetarySet


@dataclass(frozen=True)
class SetText:
    """A described set."""

    name: str = "set"
    sun: str = "b"
    ring: str = "a"
    carrier: str = "c"
    sun_teeth: int | None = 30
    ring_teeth: int | None = 70
    double_pinion: bool = True


@dataclass(frozen=True)
class ElementText:
    """A described element."""

    name: str
    kind: str
    member: str
    to: str = "case"
    holds: int = 0


@dataclass(frozen=True)
class TrainText:
    """A described train."""

    input: str = "a"
    output: str = "c"
    members: tuple[str, ...] = ("a", "b", "c")
    sets: tuple[SetText, ...] = (SetText(),)
    elements: tuple[ElementText, ...] = (
        ElementText("band", "brake", "b"),
        ElementText("pack", "clutch", "a", "b"),
        ElementText("free-wheel", "one-way", "b", holds=-1),
    )


def test_every_kind_is_built() -> None:
    """Sets with their pinions, clutches, brakes and one-way clutches with their sense."""
    train = train_from(TrainText())
    assert train.sets == (PlanetarySet("set", "b", "a", "c", 30, 70, double_pinion=True),)
    assert train.elements == (
        Brake("band", "b"),
        Clutch("pack", "a", "b"),
        OneWayClutch("free-wheel", "b", "case", -1),
    )


def test_unknown_teeth_are_refused_by_name() -> None:
    """A set whose teeth nobody counted cannot be solved, and the error says which."""
    with pytest.raises(GearTrainError, match="set"):
        train_from(replace(TrainText(), sets=(SetText(sun_teeth=None),)))


@pytest.mark.parametrize(
    "element",
    [
        ElementText("x", "spring", "b"),
        ElementText("x", "brake", "b", "c"),
        ElementText("x", "one-way", "b", holds=0),
        ElementText("x", "clutch", "b", "nowhere"),
    ],
)
def test_bad_elements_are_refused_by_name(element: ElementText) -> None:
    """An unknown kind, a brake between members, a one-way clutch without sense, an unknown member."""
    with pytest.raises(GearTrainError, match="x"):
        train_from(replace(TrainText(), elements=(element,)))
