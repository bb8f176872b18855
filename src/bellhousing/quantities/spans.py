"""Figures and their units inside a sentence."""

from __future__ import annotations

import re
from typing import NamedTuple

from bellhousing.quantities.numbers import FIGURE, plain
from bellhousing.quantities.units import spelled

_END = r"(?![\d/]|[.,]\d)"
_NUMBER = re.compile(
    rf"(?:(?<![\w)-])[+-])?(?<![\w.,/]){FIGURE}{_END}"
    rf"(?:\s*(?:±|\.\.\.?|-|\bto\b)\s*{FIGURE}{_END})?",
    re.ASCII | re.IGNORECASE,
)
_LONGEST_UNIT = 40
# One letter is a unit only in the case it is written in; as other words these would be found everywhere.
_LETTERS = frozenset("shglLmNVAKFCWJ")
_NEVER_IN_A_SENTENCE = frozenset({"x", "time", "#", "1", "pc"})
# After a whole number, "in" is the unit before these words and a preposition before any other.
_AFTER_INCHES = re.compile(
    r"\s+(?:above|apart|below|clearance|deep|end|gap|higher|less|long|lower|more|of|off|or|over|per|play|short"
    r"|thick|too|travel|under|vacuum|wide)\b",
    re.IGNORECASE,
)


class Found(NamedTuple):
    """One figure in a sentence: where it stands, the figure as written, and its unit's name if one follows.

    `text[start:end]` holds figure and unit and can be handed to `parse_measured`, which knows from the usual
    unit whether the inches are a length or a vacuum.
    """

    start: int
    end: int
    value: str
    unit: str | None


def find_quantity(text: str) -> list[Found]:
    """Every figure in a sentence with the unit that follows it, in order.

    A range (`0.010-0.035`, `5 to 30`) is one figure; so is the name of a shift (`2-3`), without a unit.
    """
    made = plain(text)
    found: list[Found] = []
    for match in _NUMBER.finditer(made.text):
        length, name = _unit_after(made.text[match.end() : match.end() + _LONGEST_UNIT], match[0])
        if name is None and made.text[match.end() : match.end() + 1].isalnum():
            continue  # part of a word: "7b", "2nd"
        start, end = made.origin[match.start()], made.origin[match.end() + length]
        found.append(Found(start, end, text[start : made.origin[match.end()]].strip(), name))
    return found


def _unit_after(rest: str, figure: str) -> tuple[int, str | None]:
    """How many characters after a figure belong to its unit, and the unit's name."""
    for end in range(len(rest), 0, -1):
        if rest[end - 1] in " .-" or (end < len(rest) and _continues(rest[end - 1], rest[end])):
            continue
        written = rest[:end].strip()
        candidates = spelled(written)
        if not candidates or not candidates[0].name or _only_a_word(written, rest[end:], figure):
            continue
        return end, candidates[0].name
    return 0, None


def _continues(last: str, following: str) -> bool:
    return last.isalnum() and (following.isalnum() or following in "²³")


def _only_a_word(written: str, after: str, figure: str) -> bool:
    """Whether what looks like a unit is a word of the sentence."""
    if written.casefold() in _NEVER_IN_A_SENTENCE:
        return True
    if len(written) == 1 and written.isalpha():
        return written not in _LETTERS
    if written.casefold() == "in" and figure.strip("+-").isdigit():
        return re.match(r"\s+[A-Za-z]", after) is not None and _AFTER_INCHES.match(after) is None
    return False
