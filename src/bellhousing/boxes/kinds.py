"""The kinds of box: which groups of figures each has, and which kind a file describes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

THREE_SPEED = "three-speed-vacuum"
FOUR_SPEED = "four-speed-linkage"
FAMILIES = (THREE_SPEED, FOUR_SPEED)

_ONLY: Mapping[str, frozenset[str]] = {
    THREE_SPEED: frozenset(
        {
            "modulator",
            "detent",
            "forward_clutch",
            "direct_clutch",
            "intermediate_clutch",
            "low_reverse_band",
            "overrun_band",
            "second_band",
            "low_one_way_clutch",
            "intermediate_one_way_clutch",
            "accumulator_first_second",
            "accumulator_second_third",
            "converter",
            "regulator.second_range_pressure",
            "regulator.low_range_pressure",
            "governor.primary_stop",
        }
    ),
    FOUR_SPEED: frozenset(
        {
            "throttle_valve",
            "rear_pump",
            "shift_valves.third_fourth",
            "front_band",
            "rear_band",
            "front_clutch",
            "rear_clutch",
            "reverse_anchor",
            "coupling",
            "ratios.fourth",
        }
    ),
}


HOLDING: Mapping[str, Mapping[str, str]] = {
    THREE_SPEED: {
        "forward-clutch": "on in every forward gear",
        "direct-clutch": "on in third and reverse",
        "intermediate-clutch": "makes second, of plates",
        "second-band": "makes second, a band",
        "low-reverse-band": "on in reverse and low range",
        "overrun-band": "brakes with the engine in second range",
        "low-one-way-clutch": "bears first",
        "intermediate-one-way-clutch": "bears second",
    },
    FOUR_SPEED: {
        "front-band": "holds the front set",
        "rear-band": "holds the rear set",
        "front-clutch": "locks the front set",
        "rear-clutch": "locks the rear set",
        "reverse-anchor": "holds for reverse",
    },
}
"""What holds in a gear train of each kind, as elements are named there, and what each does. The figures of an
element stand in the section of its name."""


CHART: Mapping[str, tuple[tuple[str, str], ...]] = {
    THREE_SPEED: (("D", "1"), ("D", "2"), ("D", "3"), ("R", "R"), ("second", "2"), ("low", "1")),
    FOUR_SPEED: (("D", "1"), ("D", "2"), ("D", "3"), ("D", "4"), ("R", "R")),
}
"""Lever ranges and gears that the physics of a kind asks of the chart of applied elements."""


def has_figure(kind: str | None, key: str) -> bool:
    """Return whether boxes of a kind have the group or figure at a dotted key; any kind, if none is given."""
    if kind is None:
        return True
    steps = key.split(".")
    parents = {".".join(steps[:count]) for count in range(1, len(steps) + 1)}
    return all(kind == owner or not parents & names for owner, names in _ONLY.items())


def kind_of(family: str | None, slug: str, keys: Iterable[str]) -> str:
    """Return the kind of a box: its family, itself if it is one, else what its own figures tell.

    A file that names no family and holds nothing that only one kind has is taken for a three-speed.
    """
    for name in (family, slug):
        if name in FAMILIES:
            assert name is not None
            return name
    foreign = any(not has_figure(THREE_SPEED, key) for key in keys)
    return FOUR_SPEED if foreign else THREE_SPEED
