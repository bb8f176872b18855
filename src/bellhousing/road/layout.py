"""Which clutches and bands of a three-speed are filled in each range and gear, by its apply chart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bellhousing.boxes.box import Box
from bellhousing.boxes.gears import applied_elements
from bellhousing.errors import BoxFileError

CHARTED: Mapping[str, tuple[str, str]] = {
    "D1": ("D", "1"),
    "D2": ("D", "2"),
    "D3": ("D", "3"),
    "second": ("second", "2"),
    "low": ("low", "1"),
    "R": ("R", "R"),
}
"""Lever range and gear of the chart in which each circuit is under pressure."""

CIRCUITS = ("P", "N", *CHARTED)
"""Names of the circuits; in P and N nothing is filled."""

_ORDER = (
    "forward_clutch",
    "intermediate_clutch",
    "direct_clutch",
    "low_reverse_band",
    "second_band",
    "overrun_band",
)


@dataclass(frozen=True)
class Layout:
    """What is filled in each circuit of `CIRCUITS`, as sections of the box file."""

    filled: Mapping[str, tuple[str, ...]]

    def coming(self, circuit: str) -> tuple[str, ...]:
        """What comes on with a change: all of the circuit from neutral, else what is new in the gear."""
        before = {"D2": "D1", "D3": "D2"}.get(circuit)
        had = () if before is None else self.filled[before]
        return tuple(name for name in self.filled[circuit] if name not in had)

    def let_go(self, name: str, circuit: str) -> bool:
        """Whether what held one gear lower is let go in this one."""
        return name not in self.filled[circuit]


USUAL = Layout(
    {
        "P": (),
        "N": (),
        "D1": ("forward_clutch",),
        "D2": ("forward_clutch", "intermediate_clutch"),
        "D3": ("forward_clutch", "intermediate_clutch", "direct_clutch"),
        "second": ("forward_clutch", "intermediate_clutch", "overrun_band"),
        "low": ("forward_clutch", "low_reverse_band"),
        "R": ("direct_clutch", "low_reverse_band"),
    }
)
"""Two sets with one sun between them: what is filled where a box has no chart of its own."""


def layout_of(box: Box) -> Layout:
    """The circuits of a three-speed by its chart, by its family's where it has none; else the usual ones."""
    filled: dict[str, tuple[str, ...]] = {"P": (), "N": ()}
    for circuit, (lever, gear) in CHARTED.items():
        try:
            applied = applied_elements(box, lever, gear)
        except BoxFileError:
            filled[circuit] = USUAL.filled[circuit]
            continue
        names = {name.replace("-", "_") for name in applied}
        filled[circuit] = tuple(sorted(names, key=_place))
    return Layout(filled)


def _place(name: str) -> tuple[int, str]:
    place = _ORDER.index(name) if name in _ORDER else len(_ORDER)
    return place, name
