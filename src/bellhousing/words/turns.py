"""Turns of an adjusting screw and changes of a rod's length in plain words: "screw in 1 1/2 turns"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from bellhousing.errors import QuantityError
from bellhousing.quantities.parse import parse_measured

Thing = Literal["screw", "rod"]

MOST_TURNS = 40.0
MOST_LENGTH = 0.05
"""Most turns, and most of a rod's length [m], that are taken for one adjustment and not a slip of the pen."""

_COUNTS = {"a": 1.0, "an": 1.0, "one": 1.0, "two": 2.0, "three": 3.0, "four": 4.0, "five": 5.0, "six": 6.0}
_PARTS = {"half": 0.5, "quarter": 0.25, "quarters": 0.25}
_FIGURE = r"\d+(?:[.,]\d+)?(?:[ -]\d+/\d+)?|\d+/\d+"
_SPOKEN = (
    r"(?:(?:a|one|two|three)[ -])?(?:half|quarters?)(?: of)?(?: a)?"
    r"|(?:a|an|one|two|three|four|five|six)(?: and (?:a |one |three )?(?:half|quarters?))?"
)
_TURNS = re.compile(rf"\b(?P<figure>{_FIGURE}|{_SPOKEN})[ -]*(?:full |whole )?turns?\b", re.IGNORECASE)
_TURN_AND = re.compile(r"\b(?P<count>a|one|two|three) turns? and a (?P<part>half|quarter)\b", re.IGNORECASE)
_IN = re.compile(r"\b(?:in|inwards?|clockwise|tighter|tightened)\b", re.IGNORECASE)
_OUT = re.compile(
    r"\b(?:out|outwards?|anti-?clockwise|counter-?clockwise|slacker|slackened|backed off)\b", re.IGNORECASE
)
_LONGER = re.compile(r"\b(?:longer|lengthened|let out)\b", re.IGNORECASE)
_SHORTER = re.compile(r"\b(?:shorter|shortened|taken up)\b", re.IGNORECASE)
_SCREW = re.compile(r"\bscrew\b", re.IGNORECASE)
_ROD = re.compile(r"\b(?:rod|linkage)\b", re.IGNORECASE)
_LENGTH = re.compile(rf"\b(?P<figure>{_FIGURE})\s*(?P<unit>mm|cm|inches|inch|in\b|\"|thou)", re.IGNORECASE)


@dataclass(frozen=True)
class Turned:
    """What was adjusted and how far: turns of a screw, in positive; a rod's length [m], longer positive."""

    thing: Thing
    amount: float


def read_turn(text: str) -> Turned | None:
    """What a sentence says was adjusted, None where it tells of no adjustment or not which way or how far."""
    if _SCREW.search(text):
        return _screw(text)
    return _rod(text) if _ROD.search(text) else None


def _screw(text: str) -> Turned | None:
    turns = _turns(text)
    way = _way(text, _IN, _OUT)
    return (
        None if turns is None or way == 0 or not 0.0 < turns <= MOST_TURNS else Turned("screw", way * turns)
    )


def _rod(text: str) -> Turned | None:
    found = _LENGTH.search(text)
    way = _way(text, _LONGER, _SHORTER)
    if found is None or way == 0:
        return None
    unit = "in" if found["unit"] == '"' else found["unit"]
    try:
        length = parse_measured(f"{found['figure']} {unit}", usual_unit="mm").value
    except QuantityError:
        return None
    return Turned("rod", way * length) if 0.0 < length <= MOST_LENGTH else None


def _way(text: str, forward: re.Pattern[str], back: re.Pattern[str]) -> int:
    behind = bool(back.search(text))
    ahead = bool(forward.search(back.sub(" ", text)))
    return 0 if ahead == behind else 1 if ahead else -1


def _turns(text: str) -> float | None:
    both = _TURN_AND.search(text)
    if both is not None:
        return _COUNTS[both["count"].casefold()] + _PARTS[both["part"].casefold()]
    found = _TURNS.search(text)
    if found is None:
        return None
    figure = found["figure"].casefold()
    return _figure(figure) if figure[0].isdigit() else _spoken(figure)


def _figure(text: str) -> float:
    total = 0.0
    for part in re.split(r"[ -]", text.replace(",", ".")):
        above, _, below = part.partition("/")
        if below and not float(below):
            return 0.0
        total += float(above) / float(below) if below else float(above)
    return total


def _spoken(text: str) -> float:
    words = [word for word in re.split(r"[ -]", text) if word not in ("of", "and")]
    if len(words) > 1 and words[-1] == "a":
        words.pop()
    if words[-1] not in _PARTS:
        return _COUNTS[words[0]]
    part = _PARTS[words[-1]]
    before = words[:-1]
    if "and" not in text.split():
        return part * (_COUNTS[before[0]] if before else 1.0)
    return _COUNTS[before[0]] + part * (_COUNTS[before[1]] if len(before) > 1 else 1.0)
