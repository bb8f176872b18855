"""A piece of text and what it may mean."""

from __future__ import annotations

import re
from dataclasses import dataclass

from bellhousing.quantities.parse import parse_measured
from bellhousing.quantities.units import from_si

LEAST_RPM = 400
WEIGHT_FIGURE, WEIGHT_UNKNOWN, WEIGHT_NOT = 1.2, 0.8, 0.7


@dataclass(frozen=True)
class Item:
    """A piece of text and what it may mean; `kind` is word, figure, unknown, quiet, not or break.

    `part` counts the breaks before it and `led` is the last of them; `amount` says that a figure is how much
    something fell or rose, and `steps` holds the figures of a row of shift speeds.
    """

    kind: str
    start: int
    end: int
    concepts: frozenset[str] = frozenset()
    weight: float = 0.0
    value: str = ""
    unit: str | None = None
    measure: str | None = None
    after_at: bool = False
    below_zero: bool = False
    hard: bool = False
    corrected: bool = False
    said: str = ""
    exact: frozenset[str] = frozenset()
    words: int = 1
    amount: bool = False
    steps: tuple[str, ...] = ()
    part: int = 0
    led: str = ""


def number_of(item: Item) -> float:
    """The figure of an item; the first of a range or a tolerance."""
    # The minus of a power of ten, 1e-3, is no range.
    return float(re.split(r"±|(?<![eE])-", item.value)[0])


def in_unit(item: Item, usual: str) -> float:
    """The figure of an item in a usual unit of its kind; one without a unit is taken to be in that."""
    if item.unit is None or not usual or item.unit == usual or item.measure == "inches":
        return number_of(item)
    name = "degF" if item.unit == "deg" else item.unit
    return from_si(parse_measured(f"{number_of(item):g} {name}", usual_unit=usual).value, usual)
