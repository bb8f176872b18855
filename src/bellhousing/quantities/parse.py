"""From what people type to SI numbers.

A unit that is written is always obeyed. A figure without one takes the usual unit of what is being read and
says so; where that is impossible and another unit would make it possible, the reader is asked.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import inf, isfinite, sqrt

from bellhousing.errors import AmbiguousUnitError, QuantityError
from bellhousing.quantities.measured import Interval, Measured
from bellhousing.quantities.numbers import LONGEST, UNSIGNED, plain, value_of
from bellhousing.quantities.show import show, show_interval
from bellhousing.quantities.spans import Found, find_quantity
from bellhousing.quantities.units import Unit, nearest_units, shortened, spelled, unit, units_of

__all__ = ["Found", "find_quantity", "parse_interval", "parse_measured", "parse_tolerance"]

_ABOUT = re.compile(
    r"(?:about|approximately|approx\.?|around|roughly|nearly|ca\.?|circa|~|≈)\s*", re.IGNORECASE
)
_BOUND = re.compile(
    r"(?P<upper><=?|≤|up to|under|below|less than|at most|max\.?|not over)\s*"
    r"|(?P<lower>>=?|≥|over|above|more than|at least|min\.?|not under)\s*",
    re.IGNORECASE,
)
_BOUND_AFTER = re.compile(
    r"\s*(?:(?P<upper>max\.?|maximum|or less|at most|and under)"
    r"|(?P<lower>min\.?|minimum|or more|at least|and over))$",
    re.IGNORECASE,
)
_BETWEEN = re.compile(r"(?:between|from)\s+", re.IGNORECASE)
_SEPARATOR = re.compile(
    r"\s*(?:(?P<plusminus>±|\+-|\+ ?/ ?-)|\.\.\.?|-|\bto\b|\band\b)\s*(?=[+-]?[.,]?\d)", re.IGNORECASE
)
_SIGNED = re.compile(rf"[+-]?\s*{UNSIGNED.pattern}", re.ASCII)
_BARE_DEGREES = frozenset({"deg", "degree", "degrees", "°"})


@dataclass(frozen=True)
class _Written:
    """What stands in the text: a first figure, perhaps a second after a dash or a ±, and their units."""

    first: float
    first_unit: str
    second: float | None = None
    second_unit: str = ""
    plus_minus: bool = False

    @property
    def shared_unit(self) -> str:
        """The unit of the first figure, which may stand only after the second."""
        relative = self.plus_minus and _per_cent(self.second_unit)
        return self.first_unit or ("" if relative else self.second_unit)


def parse_measured(text: str, *, usual_unit: str, possible: tuple[float, float] | None = None) -> Measured:
    """One reading as typed, in SI.

    `65 ± 5 psi` gives 65 psi with a standard uncertainty of half of the ± (which holds 95 of 100 readings);
    a reading that wanders, `60-70 psi`, gives the middle with (high - low)/√12, every value in between being
    equally likely (JCGM 100:2008, 4.3.7).

    Parameters
    ----------
    text : as typed, with or without a unit
    usual_unit : the unit such a reading is usually given in; its dimension is the only one accepted
    possible : lowest and highest possible value [SI]

    Raises
    ------
    AmbiguousUnitError : a bare figure, impossible in the usual unit, that another unit would make possible
    QuantityError : empty, unreadable, of another dimension, or impossible
    """
    usual = unit(usual_unit)
    written = _read(text)
    taken, assumed = _unit_meant(written.shared_unit, usual)
    value, uncertainty = taken.to_si(written.first), None
    if written.second is not None:
        other = _second_unit(written, usual)
        if written.plus_minus:
            uncertainty = _half_width(written, other, value) / 2
        else:
            low, high = _ordered(value, other.to_si(written.second), text)
            value, uncertainty = (low + high) / 2, (high - low) / sqrt(12)
    _finite(value, text)
    if possible is not None and not possible[0] <= value <= possible[1]:
        _refuse_impossible(written, taken, assumed, possible, text)
    return Measured(value, taken.name, text, uncertainty, assumed)


def parse_interval(text: str, *, usual_unit: str) -> Interval:
    """A range as typed, in SI: `0.010–0.035 in`, `65 ± 5 psi`, `up to 5 psi`, `over 130 psi`, `17 inHg`.

    Raises
    ------
    QuantityError : empty, unreadable, of another dimension, or not running from low to high
    """
    usual = unit(usual_unit)
    trimmed = _trimmed(text)
    trimmed, bound = _without_bound(trimmed)
    written = _read(trimmed)
    taken, _ = _unit_meant(written.shared_unit, usual)
    value = _finite(taken.to_si(written.first), text)
    if bound is not None:
        if written.second is not None:
            raise QuantityError(
                f"{shortened(text)!r} names both a limit and a range", remedy="write one of them"
            )
        return (
            Interval(-inf, value, taken.name, text)
            if bound["upper"]
            else Interval(value, inf, taken.name, text)
        )
    if written.second is None:
        return Interval(value, value, taken.name, text)
    other = _second_unit(written, usual)
    if written.plus_minus:
        half = _half_width(written, other, value)
        return Interval(value - half, value + half, taken.name, text)
    low, high = _ordered(value, _finite(other.to_si(written.second), text), text)
    return Interval(low, high, taken.name, text)


def parse_tolerance(text: str, *, usual_unit: str, value: float) -> float:
    """The half-width of a tolerance [SI]: `±3 psi`, `3 psi` or `5 %` (of the value it belongs to).

    Parameters
    ----------
    text : as typed, with or without the ±
    usual_unit : unit of a bare figure, and the only dimension accepted besides per cent
    value : the value the tolerance belongs to [SI]

    Raises
    ------
    QuantityError : empty, unreadable, negative or of another dimension
    """
    usual = unit(usual_unit)
    written = _read(_trimmed(text).replace("+-", "±").lstrip("± "))
    if written.second is not None or written.first < 0:
        raise QuantityError(
            f"{shortened(text)!r} is not a tolerance", remedy="write one such as ±3 psi or 5 %"
        )
    taken = unit("%") if _per_cent(written.first_unit) else _unit_meant(written.first_unit, usual)[0]
    return _width(written.first, taken, usual, value)


def _per_cent(name: str) -> bool:
    return any(found.name == "%" for found in spelled(name))


def _second_unit(written: _Written, usual: Unit) -> Unit:
    relative = written.plus_minus and _per_cent(written.second_unit)
    name = written.first_unit if relative else written.second_unit or written.first_unit
    return _unit_meant(name, usual)[0]


def _half_width(written: _Written, other: Unit, value: float) -> float:
    if written.second is None or written.second < 0:
        raise QuantityError("a ± is followed by a positive figure", remedy="write one such as 65 ± 5 psi")
    if _per_cent(written.second_unit):
        return _width(written.second, unit("%"), other, value)
    return _width(written.second, other, other, value)


def _width(figure: float, taken: Unit, usual: Unit, value: float) -> float:
    """A difference: the zero point of a temperature scale has no part in it."""
    if taken.name == "%" and usual.name != "%":
        return abs(value) * figure / 100
    return figure * taken.factor


def _without_bound(trimmed: str) -> tuple[str, re.Match[str] | None]:
    before = _BOUND.match(trimmed)
    if before is not None:
        return trimmed[before.end() :], before
    after = _BOUND_AFTER.search(trimmed)
    if after is not None and re.search(r"\d\s*min$", trimmed) is None:  # "3 min" is a time
        return trimmed[: after.start()], after
    return trimmed, None


def _trimmed(text: str) -> str:
    if len(text) > LONGEST:
        raise QuantityError(
            f"a reading of {len(text)} characters", remedy=f"write one figure and its unit, {LONGEST} at most"
        )
    trimmed = plain(text).text.strip()
    if not trimmed:
        raise QuantityError("nothing was entered", remedy="write a figure and its unit, such as 62 psi")
    return trimmed


def _read(text: str) -> _Written:
    trimmed = _trimmed(text)
    for opening in (_ABOUT, _BETWEEN):
        found = opening.match(trimmed)
        trimmed = trimmed[found.end() :] if found else trimmed
    first = _SIGNED.match(trimmed)
    if first is None:
        raise QuantityError(
            f"no figure at the beginning of {shortened(text)!r}",
            remedy="write a figure and its unit, such as 62 psi",
        )
    rest = trimmed[first.end() :]
    separator = _SEPARATOR.search(rest)
    if separator is None:
        return _Written(value_of(first[0]), rest.strip())
    second = _SIGNED.match(rest, separator.end())
    if second is None:
        raise QuantityError(f"{shortened(text)!r} cannot be read", remedy="write a range such as 60-75 psi")
    return _Written(
        value_of(first[0]),
        rest[: separator.start()].strip(),
        value_of(second[0]),
        rest[second.end() :].strip(),
        separator["plusminus"] is not None,
    )


def _unit_meant(name: str, usual: Unit) -> tuple[Unit, bool]:
    """The unit a spelling means where the usual one is known, and whether it had to be assumed."""
    if not name:
        return usual, usual.name != ""
    candidates = spelled(name)
    if not candidates:
        raise QuantityError(f"unknown unit {shortened(name)!r}", remedy=nearest_units(name))
    fitting = tuple(found for found in candidates if found.dimension == usual.dimension)
    if not fitting:
        right = ", ".join(found.symbol or "no unit" for found in units_of(usual.dimension))
        raise QuantityError(
            f"{shortened(name)!r} is a unit of {candidates[0].dimension}, but this is a {usual.dimension}",
            remedy=f"give it in {right}",
        )
    bare = name.casefold() in _BARE_DEGREES and usual.dimension.startswith("temperature")
    return (usual if usual in fitting else fitting[0]), bare


def _ordered(low: float, high: float, text: str) -> tuple[float, float]:
    if low > high:
        raise QuantityError(
            f"{shortened(text)!r} does not run from low to high", remedy="write the lower end first"
        )
    return low, high


def _finite(value: float, text: str) -> float:
    if not isfinite(value):
        raise QuantityError(f"{shortened(text)!r} is too large a number", remedy="look for a slip of the key")
    return value


def _refuse_impossible(
    written: _Written, taken: Unit, assumed: bool, possible: tuple[float, float], text: str
) -> None:
    window = show_interval(possible[0], possible[1], taken.name)
    entered = show(taken.to_si(written.first), taken.name)
    if assumed:
        others = tuple(
            other.name
            for other in units_of(taken.dimension)
            if other != taken and possible[0] <= other.to_si(written.first) <= possible[1]
        )
        if others:
            raise AmbiguousUnitError(
                f"{shortened(text)!r} has no unit, and {entered} is impossible here ({window} is possible)",
                candidates=others,
                remedy="say which is meant: " + " or ".join(f"{shortened(text)} {name}" for name in others),
            )
    said = shortened(text)
    raise QuantityError(
        f"{entered} is impossible here",
        where=None if said == entered else said,
        remedy=f"possible is {window}",
    )
