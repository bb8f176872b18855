"""Units by name, and the two conversions every other module uses."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, overload

from bellhousing.errors import QuantityError
from bellhousing.quantities.unit_table import EVERYDAY, ROWS

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True)
class Unit:
    """One unit: SI value = value * factor + offset."""

    name: str
    symbol: str
    dimension: str
    factor: float
    offset: float
    decimals: int

    def to_si(self, value: float) -> float:
        """Value in this unit to SI."""
        return value * self.factor + self.offset

    def from_si(self, value: float) -> float:
        """SI value to this unit."""
        return (value - self.offset) / self.factor


_REPLACED = str.maketrans(
    {"²": "2", "³": "3", "·": " ", "⋅": " ", "*": " ", "″": '"', "”": '"', "′": "'", "µ": "u", "μ": "u"}
)


def spelling_key(name: str) -> str:
    """A unit as typed, reduced to what tells it from others: no case, spaces, hyphens or full stops."""
    key = name.translate(_REPLACED).replace("°", "deg").casefold().replace("''", '"')
    key = f" {key} ".replace(" per ", "/")
    for mark in " .-\u00a0":
        key = key.replace(mark, "")
    return key


def _index() -> tuple[Mapping[str, Unit], Mapping[str, tuple[Unit, ...]]]:
    by_name: dict[str, Unit] = {}
    by_spelling: dict[str, list[Unit]] = {}
    for row in ROWS:
        made = Unit(row.name, row.symbol, row.dimension, row.factor, row.offset, row.decimals)
        by_name[row.name] = made
        for spelling in (row.name, row.symbol, *row.spellings.split("|")):
            known = by_spelling.setdefault(spelling_key(spelling), [])
            if made not in known and (spelling or row.name == ""):
                known.append(made)
    frozen = {key: tuple(units) for key, units in by_spelling.items()}
    return MappingProxyType(by_name), MappingProxyType(frozen)


_BY_NAME, _BY_SPELLING = _index()


def spelled(name: str) -> tuple[Unit, ...]:
    """Every unit that may be written so, the most usual meaning first; empty if none."""
    return _BY_SPELLING.get(spelling_key(name), ())


def unit(name: str) -> Unit:
    """The unit of this name or spelling, in its most usual meaning.

    Raises
    ------
    QuantityError : no unit is written so; the message names the nearest ones
    """
    exact = _BY_NAME.get(name)
    if exact is not None:
        return exact
    known = spelled(name)
    if known:
        return known[0]
    raise QuantityError(f"unknown unit {shortened(name)!r}", remedy=nearest_units(name))


def nearest_units(name: str) -> str:
    """What was perhaps meant by a unit nobody knows, as the second half of a message."""
    near = difflib.get_close_matches(spelling_key(name), _BY_SPELLING, n=4, cutoff=0.5)
    names = list(dict.fromkeys(_BY_SPELLING[key][0].name for key in near if key))
    if not names:
        return "write a unit such as psi, in, mm, mph, inHg, lb ft or °F"
    return "did you mean " + " or ".join(names) + "?"


def units_of(dimension: str) -> tuple[Unit, ...]:
    """The everyday units of one dimension, or all of them where none is more usual than the others."""
    names = EVERYDAY.get(dimension)
    if names is not None:
        return tuple(_BY_NAME[name] for name in names)
    return tuple(found for found in _BY_NAME.values() if found.dimension == dimension)


def shortened(text: str, length: int = 40) -> str:
    """Text cut so that it fits into a message."""
    return text if len(text) <= length else text[: length - 1] + "…"


@overload
def to_si(value: float, unit_name: str) -> float: ...
@overload
def to_si(value: NDArray[np.float64], unit_name: str) -> NDArray[np.float64]: ...
def to_si(value: float | NDArray[np.float64], unit_name: str) -> float | NDArray[np.float64]:
    """Value(s) in the named unit to SI: value*factor + offset.

    Raises
    ------
    QuantityError : unknown unit
    """
    found = unit(unit_name)
    return value * found.factor + found.offset


@overload
def from_si(value: float, unit_name: str) -> float: ...
@overload
def from_si(value: NDArray[np.float64], unit_name: str) -> NDArray[np.float64]: ...
def from_si(value: float | NDArray[np.float64], unit_name: str) -> float | NDArray[np.float64]:
    """SI value(s) to the named unit: (value - offset)/factor.

    Raises
    ------
    QuantityError : unknown unit
    """
    found = unit(unit_name)
    return (value - found.offset) / found.factor
