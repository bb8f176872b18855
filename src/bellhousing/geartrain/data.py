"""Reading a gear train from plain data, as a box file holds it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bellhousing.errors import GearTrainError
from bellhousing.geartrain.layout import (
    CASE,
    Brake,
    Clutch,
    Element,
    GearSet,
    GearTrain,
    OneWayClutch,
    PlanetarySet,
    Willis,
)

_BLOCKS = {"backward": -1, "forward": 1}
_PINIONS = {"single": False, "double": True}


def train_from_data(data: Mapping[str, Any]) -> GearTrain:
    """Build a gear train from plain data with the keys input, output, members, sets and elements.

    A set has name, sun, ring, carrier, sun_teeth, ring_teeth and pinions ("single" or "double"), or
    name, first, last, carrier and train_value. An element has name, kind ("clutch", "brake",
    "one-way" or "coupling") and either joins (two members) or holds (one member, to the case); a fluid
    coupling is a clutch that always holds but for its slip; a one-way clutch may say which turning of the
    first against the second it blocks ("backward", the usual, or "forward").

    Raises
    ------
    GearTrainError : a key or tooth count is missing, a kind is unknown, or the layout contradicts itself
    """
    try:
        return GearTrain(
            input=data["input"],
            output=data["output"],
            members=tuple(data["members"]),
            sets=tuple(_gear_set(entry) for entry in data["sets"]),
            elements=tuple(_element(entry) for entry in data["elements"]),
        )
    except KeyError as missing:
        raise GearTrainError(f"the gear train lacks {missing.args[0]!r}") from None


def _gear_set(entry: Mapping[str, Any]) -> GearSet:
    if "train_value" in entry:
        return Willis(
            entry["name"], entry["first"], entry["last"], entry["carrier"], float(entry["train_value"])
        )
    pinions = entry.get("pinions", "single")
    if pinions not in _PINIONS:
        raise GearTrainError(f"no {pinions!r} pinions", where=entry["name"], remedy="single or double")
    if entry["sun_teeth"] is None or entry["ring_teeth"] is None:
        raise GearTrainError("the tooth counts are unknown", where=entry["name"], remedy="count them")
    return PlanetarySet(
        name=entry["name"],
        sun=entry["sun"],
        ring=entry["ring"],
        carrier=entry["carrier"],
        sun_teeth=int(entry["sun_teeth"]),
        ring_teeth=int(entry["ring_teeth"]),
        double_pinion=_PINIONS[pinions],
    )


def _element(entry: Mapping[str, Any]) -> Element:
    name, kind = entry["name"], entry["kind"]
    ends = (entry["holds"], CASE) if entry.get("holds") is not None else tuple(entry["joins"])
    if len(ends) != 2:
        raise GearTrainError("an element joins two members", where=name)
    if kind in ("clutch", "coupling"):
        return Clutch(name, *ends)
    if kind == "brake":
        if ends[1] != CASE:
            raise GearTrainError("a brake holds one member to the case", where=name, remedy="use 'holds'")
        return Brake(name, ends[0])
    if kind == "one-way":
        blocks = entry.get("blocks") or "backward"
        if blocks not in _BLOCKS:
            raise GearTrainError(f"no turning {blocks!r}", where=name, remedy="backward or forward")
        return OneWayClutch(name, *ends, holds=_BLOCKS[blocks])
    raise GearTrainError(
        f"no kind of element {kind!r}", where=name, remedy="clutch, brake, one-way or coupling"
    )
