"""Building a gear train from the plain description a box file holds."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from bellhousing.errors import GearTrainError
from bellhousing.geartrain.layout import CASE, Brake, Clutch, Element, GearTrain, OneWayClutch, PlanetarySet


class SetDescription(Protocol):
    """A planetary set as described; tooth counts are None where unknown."""

    @property
    def name(self) -> str: ...
    @property
    def sun(self) -> str: ...
    @property
    def ring(self) -> str: ...
    @property
    def carrier(self) -> str: ...
    @property
    def sun_teeth(self) -> int | None: ...
    @property
    def ring_teeth(self) -> int | None: ...
    @property
    def double_pinion(self) -> bool: ...


class ElementDescription(Protocol):
    """A clutch, brake or one-way clutch as described; `holds` is −1 or +1 for a one-way clutch."""

    @property
    def name(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def member(self) -> str: ...
    @property
    def to(self) -> str: ...
    @property
    def holds(self) -> int: ...


class TrainDescription(Protocol):
    """A whole gear train as described."""

    @property
    def input(self) -> str: ...
    @property
    def output(self) -> str: ...
    @property
    def members(self) -> Sequence[str]: ...
    @property
    def sets(self) -> Sequence[SetDescription]: ...
    @property
    def elements(self) -> Sequence[ElementDescription]: ...


def train_from(description: TrainDescription) -> GearTrain:
    """Build a gear train from anything that describes one by these names.

    Raises
    ------
    GearTrainError : tooth counts are unknown, a kind is unknown, or the layout contradicts itself
    """
    return GearTrain(
        input=description.input,
        output=description.output,
        members=tuple(description.members),
        sets=tuple(_gear_set(one) for one in description.sets),
        elements=tuple(_element(one) for one in description.elements),
    )


def _gear_set(one: SetDescription) -> PlanetarySet:
    if one.sun_teeth is None or one.ring_teeth is None:
        raise GearTrainError("the tooth counts are unknown", where=one.name, remedy="count them")
    return PlanetarySet(
        name=one.name,
        sun=one.sun,
        ring=one.ring,
        carrier=one.carrier,
        sun_teeth=one.sun_teeth,
        ring_teeth=one.ring_teeth,
        double_pinion=one.double_pinion,
    )


def _element(one: ElementDescription) -> Element:
    if one.kind == "clutch":
        return Clutch(one.name, one.member, one.to)
    if one.kind == "brake":
        if one.to != CASE:
            raise GearTrainError("a brake holds a member to the case", where=one.name)
        return Brake(one.name, one.member)
    if one.kind == "one-way":
        return OneWayClutch(one.name, one.member, one.to, one.holds)
    raise GearTrainError(
        f"no kind of element {one.kind!r}", where=one.name, remedy="clutch, brake or one-way"
    )
