"""Pressures that are said to be vacuums: "vacuum 55 kPa at idle"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bellhousing.quantities.units import unit
from bellhousing.words.item import Item, number_of

# What a pressure can be of, and what says that it is a vacuum instead; a hose that is off is neither.
_OF_PRESSURE = frozenset({"line", "pressure", "governor", "govpressure", "cutback"})
_VACUUM = frozenset({"vacuum", "vacuumpressure"})
_AT_VACUUM = frozenset({"manifold", "modulator", "vachose"})
_NO_VACUUM = frozenset({"hoseoff", "hoseon"})
_LENGTHS = frozenset({"mm"})
_LEAST_COLUMN = 25.0  # shorter is no vacuum worth writing down [mm]
MERCURY = "mmHg"
ATMOSPHERE = 101325.0  # standard atmosphere [Pa]: no vacuum is deeper


def settled(items: Sequence[Item]) -> list[Item]:
    """Items with every pressure that is said to be a vacuum marked as one: "vacuum 55 kPa at idle"."""
    return [
        replace(
            item,
            unit=MERCURY if item.unit in _LENGTHS else item.unit,
            measure="vacuum",
            concepts=item.concepts - {"in_pressure", "in_length"} | {"in_vacuum"},
        )
        if (item.measure == "pressure" or _of_mercury(item)) and _of_vacuum(items, place)
        else item
        for place, item in enumerate(items)
    ]


def _of_mercury(item: Item) -> bool:
    """Whether a length can be the height of a mercury column: "vacuum 430 mm"."""
    return item.unit in _LENGTHS and number_of(item) >= _LEAST_COLUMN


def _of_vacuum(items: Sequence[Item], place: int) -> bool:
    """Whether the nearest word that a pressure can be of speaks of vacuum.

    Words before the figure count first, then those after it. Beyond a comma, or where only the part is named
    ("modulator 50 kPa"), just what can be a vacuum at all is taken for one.
    """
    figure = items[place]
    name = MERCURY if figure.unit in _LENGTHS else figure.unit or ""
    likely = figure.unit != "psi" and number_of(figure) * unit(name).factor <= ATMOSPHERE
    near, part = True, False
    for item in reversed(items[:place]):
        if item.hard:
            break
        if item.kind == "break":
            near = False
        elif not item.concepts.isdisjoint(_VACUUM) and item.concepts.isdisjoint(_NO_VACUUM):
            return near or likely
        elif not item.concepts.isdisjoint(_OF_PRESSURE):
            return False
        else:
            part |= not item.concepts.isdisjoint(_AT_VACUUM) and item.concepts.isdisjoint(_NO_VACUUM)
    if part:
        return likely
    for item in items[place + 1 :]:
        if item.kind in {"break", "figure"} or not item.concepts.isdisjoint(_OF_PRESSURE - _VACUUM):
            return False
        if not item.concepts.isdisjoint(_VACUUM | _AT_VACUUM) and item.concepts.isdisjoint(_NO_VACUUM):
            return likely or not item.concepts.isdisjoint(_VACUUM)
    return False
