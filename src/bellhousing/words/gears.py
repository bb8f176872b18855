"""The names of shifts ("2-3", "second to third"), found among the tokens of a text."""

from __future__ import annotations

from collections.abc import Sequence

from bellhousing.words.spoken import ONES, TENS, Found, followed_by
from bellhousing.words.text import Token

_GEARS: dict[str, int] = {
    "1": 1, "one": 1, "first": 1, "1st": 1, "won": 1,
    "2": 2, "two": 2, "second": 2, "2nd": 2, "too": 2, "tu": 2,
    "3": 3, "three": 3, "third": 3, "3rd": 3, "top": 3, "free": 3, "tree": 3,
    "4": 4, "four": 4, "fourth": 4, "4th": 4,
}  # fmt: skip
_ORDINALS = frozenset(["first", "second", "third", "top", "fourth"])
# After "three to four" or "3/4" these say that it is an amount, not a change of gear.
_COUNTED = frozenset(
    ["times", "tries", "goes", "drops", "drips", "spots", "turns", "turn", "runs", "weeks", "months", "years",
     "days", "hours", "minutes", "pints", "quarts", "litres", "throttle", "pedal", "open", "way", "of",
     "more", "or"]
)  # fmt: skip
_JOINS = frozenset({"-", "/", ">", "to", "into", "up", "down", "then"})
_SHIFT_WORDS = frozenset(
    [
        "shift",
        "shifts",
        "shifting",
        "upshift",
        "upshifts",
        "change",
        "changes",
        "changeup",
        "at",
        "late",
        "early",
        "harsh",
        "hard",
        "soft",
        "light",
        "is",
        "was",
        "comes",
        "came",
        "flares",
        "flare",
        "slips",
        "slip",
        "feels",
        "happens",
        "never",
        "bangs",
        "drags",
        "medium",
        "full",
        "kickdown",
        "downshift",
        "downshifts",
        "coast",
        "clean",
        "crisp",
        "smooth",
        "with",
        "on",
        "under",
        "in",
        "wot",
        "normal",
        "ok",
        "okay",
        "fine",
        "good",
        "delayed",
        "does",
        "not",
        "only",
        "change-up",
        "no",
    ]
)


def shift_at(items: Sequence[Token], place: int, starts: bool, units: frozenset[str]) -> Found | None:
    """The shift named at a token ("2-3", "two three", "second to third"), as "23", and its length in tokens.

    `starts` says whether the token opens a statement, where "to three" is a dictated "two three".
    """
    if items[place].kind == "number" and items[place].text in {"12", "23", "34", "21", "32", "43"}:
        word = items[place + 1].text if place + 1 < len(items) else ""
        if word in {
            "shift",
            "shifts",
            "upshift",
            "upshifts",
            "change",
            "changes",
            "downshift",
            "valve",
            "accumulator",
        }:
            return items[place].text, 1
        return None
    first = _gear(items, place)
    if first is None and starts and items[place].text in {"to", "for"}:
        first = (2, 1) if items[place].text == "to" else None
    if first is None:
        return None
    after = place + first[1]
    joined = 0
    while after + joined < len(items) and items[after + joined].text in _JOINS and joined < 2:
        joined += 1
    second = _gear(items, after + joined)
    length = first[1] + joined + (second[1] if second else 0)
    if second is None and joined == 1 and items[after].text == "to" and first[0] == 1:
        second, length = (2, 1), first[1] + 1  # "one to shift at twelve"
        if not followed_by(items, place + length, _SHIFT_WORDS):
            return None
    if second is None:
        return None
    first, second = _top_of_four(items, place, first, second, joined)
    if abs(first[0] - second[0]) != 1 or _is_amount(items, place, length, units):
        return None
    if 4 in (first[0], second[0]) and followed_by(items, place + length, _COUNTED):
        return None
    if _only_sounds(
        items[place].text, items[after + joined - (joined > 0)].text, first[0], second[0], joined
    ):
        return None
    if not joined and _bare_pair(items, place, first, second):
        return None
    return f"{first[0]}{second[0]}", length


def _top_of_four(
    items: Sequence[Token], place: int, first: tuple[int, int], second: tuple[int, int], joined: int
) -> tuple[tuple[int, int], tuple[int, int]]:
    """The two gears, where "third to top" and "top to third" show that top is fourth."""
    closing = items[place + first[1] + joined].text
    if joined and first[0] == second[0] == 3:
        if closing == "top" and items[place].text != "top":
            return first, (4, second[1])
        if items[place].text == "top" and closing != "top":
            return (4, first[1]), second
    return first, second


def _only_sounds(opening: str, closing: str, first: int, second: int, joined: int) -> bool:
    """Whether what sounds like a gear is more likely the word it is ("into top too early", "to first")."""
    if opening in {"to", "too", "tu"} and second != 3:
        return True
    return not joined and ((closing in {"too", "tu"} and first != 1) or opening in {"top", "third"})


def _gear(items: Sequence[Token], place: int) -> tuple[int, int] | None:
    if place >= len(items):
        return None
    word = items[place].text
    following = items[place + 1].text if place + 1 < len(items) else ""
    if word in {"1", "2", "3", "4"} and following in {"st", "nd", "rd", "th"}:
        return int(word), 2
    return (_GEARS[word], 1) if word in _GEARS else None


def _bare_pair(items: Sequence[Token], place: int, first: tuple[int, int], second: tuple[int, int]) -> bool:
    """Whether two numbers side by side with nothing between are no shift ("one two three", "top second")."""
    if _form(items[place]) != _form(items[place + first[1]]):
        return True
    after = place + first[1] + second[1]
    before = items[place - 1].text if place else ""
    if before in ONES or before in TENS or (place and items[place - 1].kind == "number"):
        return True
    return after < len(items) and (items[after].text in ONES or items[after].text in {"hundred", "point"})


def _form(token: Token) -> str:
    """Digits, ordinal or number word: a shift named without a join has two of one form."""
    if token.kind == "number":
        return "digits"
    return "ordinal" if token.text in _ORDINALS or token.text[:1].isdigit() else "word"


def _is_amount(items: Sequence[Token], place: int, length: int, units: frozenset[str]) -> bool:
    """Whether a unit follows, so that "1-2 s" and "two to three seconds" are amounts, not shifts."""
    after = place + length
    if after >= len(items):
        return False
    word = items[after].text
    if word in {"s", "second", "seconds"} and items[after - 1].text in {"third", "first", "second"}:
        return False
    return word in units and word not in {"at", "f", "c", "in", "h"}
