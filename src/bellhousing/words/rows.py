"""Rows of figures that can be the speeds of one change up after the other: "8, 15 and 22", "12/21/29"."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from bellhousing.words.spoken import ONES, TENS, number_at
from bellhousing.words.text import Token

LEAST, MOST = 4.0, 120.0
"""Slowest and fastest change up that a row is believed of, in the unit written; common practice."""
_CLOSER = 1.1  # two changes lie further apart than this ratio
_PLAIN = frozenset({",", "/", "and", "then", "&", ">"})
_DASH = "-"
_MOST_BETWEEN = 2
Units = Mapping[tuple[str, ...], tuple[str, str]]


def series_at(
    row: Sequence[Token], place: int, count: int, units: Units
) -> tuple[tuple[str, ...], str, int] | None:
    """A row of `count` rising figures at a token: the figures, their unit (empty where none) and its length.

    Two figures with a dash between are no row: "11-18" is a figure that wanders.
    """
    if count < 2 or _number(row, place) is None or _goes_on_before(row, place):
        return None
    figures: list[str] = []
    unit = ""
    here = place
    while True:
        number = _number(row, here)
        if number is None:
            return None
        figures.append(number[0])
        here += number[1]
        kind, name, size = _unit(row, here, units)
        if kind not in {"", "speed"}:
            return None
        unit, here = name or unit, here + size
        if len(figures) == count:
            break
        between = _between(row, here, dashes=count > 2)
        if between is None:
            return None
        here += between
    values = [float(figure) for figure in figures]
    if not values[0] >= LEAST or values[-1] > MOST or any(b < _CLOSER * a for a, b in pairwise(values)):
        return None
    return None if _goes_on_after(row, here, units, values[-1]) else (tuple(figures), unit, here - place)


def _number(row: Sequence[Token], place: int) -> tuple[str, int] | None:
    if place >= len(row):
        return None
    if row[place].kind == "number":
        return row[place].text, 1
    return number_at(row, place) if row[place].text in ONES or row[place].text in TENS else None


def _between(row: Sequence[Token], place: int, dashes: bool = True) -> int | None:
    """How many tokens stand between two figures of a row, None where they are none that may."""
    size = 0
    while place + size < len(row) and size < _MOST_BETWEEN:
        text = row[place + size].text
        if text not in _PLAIN and not (dashes and text == _DASH):
            break
        size += 1
    return size or None


def _unit(row: Sequence[Token], place: int, units: Units) -> tuple[str, str, int]:
    for length in range(min(4, len(row) - place), 0, -1):
        found = units.get(tuple(token.text for token in row[place : place + length]))
        if found is not None:
            return found[0], found[1], length
    return "", "", 0


def _goes_on_before(row: Sequence[Token], place: int) -> bool:
    """Whether a figure stands before the row, so that it has more figures than it may."""
    back = place - 1
    while back >= 0 and place - back <= _MOST_BETWEEN and row[back].text in _PLAIN | {_DASH}:
        back -= 1
    return (
        back != place - 1 and back >= 0 and (row[back].kind == "number" or row[back].text in {**ONES, **TENS})
    )


def _goes_on_after(row: Sequence[Token], place: int, units: Units, last: float) -> bool:
    """Whether a higher figure of the same kind follows the row."""
    between = _between(row, place)
    number = _number(row, place + between) if between else None
    if between is None or number is None:
        return False
    return _unit(row, place + between + number[1], units)[0] in {"", "speed"} and float(number[0]) > last
