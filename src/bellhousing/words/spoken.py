"""Numbers as they are spoken, found among the tokens of a text."""

from __future__ import annotations

from collections.abc import Sequence

from bellhousing.quantities.number_words import UP_TO_NINETEEN
from bellhousing.words.text import Token

ONES = {word: value for value, word in enumerate(UP_TO_NINETEEN)}
ONES |= {"nought": 0, "naught": 0, "nil": 0}
TENS = {
    word: 10 * value
    for value, word in enumerate(
        ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"], start=2
    )
}
TENS |= {"fourty": 40}
# What a dictating machine writes for a digit; only believed beside a number that leaves no doubt.
SOUNDS_LIKE = {"to": 2, "too": 2, "for": 4, "fore": 4, "won": 1, "ate": 8}
_O = frozenset({"o", "oh", "zero", "nought", "naught"})
_FRACTIONS = {"half": "0.5", "quarter": "0.25", "third": "0.333"}
_SMALLER = {"eighth": "0.125", "sixteenth": "0.0625"}
Found = tuple[str, int]  # what was read, and how many tokens it took


def followed_by(items: Sequence[Token], place: int, words: frozenset[str]) -> bool:
    """Whether one of some words stands at a place."""
    return place < len(items) and items[place].text in words


def number_at(items: Sequence[Token], place: int) -> Found | None:
    """The number in digits or words at a token, as decimal text, and its length in tokens."""
    if items[place].kind == "number":
        return _digits(items, place)
    word = items[place].text
    if word in {"point", "oh", "o"} and place + 1 < len(items):
        found = _decimals(items, place + 1 if word == "point" else place + 2)
        if word != "point" and items[place + 1].text != "point":
            return None
        return ("0." + found[0], found[1] + (1 if word == "point" else 2)) if found else None
    if word == "half" and followed_by(items, place + 1, frozenset({"a", "an"})):
        return "0.5", 2
    if word in {"a", "one"} and followed_by(items, place + 1, frozenset({"half", "quarter"})):
        return _FRACTIONS[items[place + 1].text], 2
    if word in {"a", "an", "one"} and followed_by(items, place + 1, frozenset(_SMALLER)):
        return _SMALLER[items[place + 1].text], 2
    if word == "three" and followed_by(items, place + 1, frozenset({"quarters", "quarter"})):
        return "0.75", 2
    if word in {"a", "couple"} and [t.text for t in items[place : place + 2]] == ["a", "couple"]:
        return "2", 3 if followed_by(items, place + 2, frozenset({"of"})) else 2
    whole = _whole(items, place)
    if whole is None:
        return None
    return _with_fraction(items, place, str(whole[0]), whole[1])


def _digits(items: Sequence[Token], place: int) -> Found:
    text, length = items[place].text, 1
    following = [token.text for token in items[place + 1 : place + 4]]
    if len(following) >= 2 and following[0] == "/" and following[1].isdigit() and text.isdigit():
        if int(following[1]) and int(text) < int(following[1]):
            return f"{int(text) / int(following[1]):.6g}", 3
    elif len(following) >= 3 and following[1] == "/" and following[0].isdigit() and following[2].isdigit():
        if int(following[2]) and int(following[0]) < int(following[2]) and text.isdigit():
            return f"{int(text) + int(following[0]) / int(following[2]):.6g}", 4
    elif following[:1] in (["k"], ["hundred"], ["thousand"]):
        scale = 100 if following[0] == "hundred" else 1000
        return f"{float(text) * scale:g}" if float(text) < 100 else text, 2
    elif following[:1] == ["point"]:
        found = _decimals(items, place + 2)
        if found:
            return f"{text}.{found[0]}", 2 + found[1]
    return _with_fraction(items, place, text, length)


def _with_fraction(items: Sequence[Token], place: int, whole: str, length: int) -> Found:
    after = [token.text for token in items[place + length : place + length + 4]]
    if after[:1] == ["point"] or after[:1] == ["dot"]:
        found = _decimals(items, place + length + 1)
        if found:
            return f"{whole}.{found[0]}", length + 1 + found[1]
    if after[:2] == ["and", "a"] and len(after) > 2 and after[2] in _FRACTIONS and "." not in whole:
        return f"{float(whole) + float(_FRACTIONS[after[2]]):g}", length + 3
    if after[:1] == ["and"] and after[1:2] == ["half"] and "." not in whole:
        return f"{float(whole) + 0.5:g}", length + 2
    return whole, length


def _decimals(items: Sequence[Token], place: int) -> Found | None:
    digits, length = "", 0
    while place + length < len(items):
        token = items[place + length]
        if token.kind == "number" and token.text.isdigit():
            digits += token.text
        elif token.text in _O:
            digits += "0"
        elif token.text in TENS:
            small = items[place + length + 1].text if place + length + 1 < len(items) else ""
            if small in ONES and 0 < ONES[small] < 10:
                digits, length = digits + str(TENS[token.text] + ONES[small]), length + 1
            else:
                digits += str(TENS[token.text])
        elif token.text in ONES:
            digits += str(ONES[token.text])
        else:
            break
        length += 1
    return (digits, length) if digits else None


def _small(items: Sequence[Token], place: int) -> tuple[int, int] | None:
    """A number below a hundred in words."""
    if place >= len(items):
        return None
    word = items[place].text
    if word in TENS:
        after = items[place + 1].text if place + 1 < len(items) else ""
        step = place + 1
        if after == "-" and place + 2 < len(items) and items[place + 2].text in ONES:
            after, step = items[place + 2].text, place + 2
        if after in ONES and 0 < ONES[after] < 10:
            return TENS[word] + ONES[after], step - place + 1
        if after in SOUNDS_LIKE and not _number_word(items, place + 2):
            return (
                (TENS[word] + SOUNDS_LIKE[after], 2) if _sound_is_digit(items, place + 1) else (TENS[word], 1)
            )
        return TENS[word], 1
    return (ONES[word], 1) if word in ONES else None


def _sound_is_digit(items: Sequence[Token], place: int) -> bool:
    """Whether "for" or "to" after a ten is the digit: nothing follows, or a unit or throttle does."""
    if place + 1 >= len(items):
        return True
    return items[place + 1].text in {
        "psi", "mph", "rpm", "pounds", "lbs", "miles", "thou", "inches", "light", "degrees", "at", "in",
        "hot", "with", "idle", "percent", "seconds", "medium", ",", ".", ";",
    }  # fmt: skip


def _number_word(items: Sequence[Token], place: int) -> bool:
    return place < len(items) and (
        items[place].text in ONES or items[place].text in TENS or items[place].kind == "number"
    )


def _whole(items: Sequence[Token], place: int) -> tuple[int, int] | None:
    """A whole number in words: "one fifty five", "two thousand one hundred", "twenty one hundred"."""
    first = _small(items, place)
    if first is None:
        word = items[place].text
        if word == "a" and place + 1 < len(items) and items[place + 1].text in {"hundred", "thousand"}:
            first = (1, 1)
        else:
            return None
    value, length = first
    word = items[place + length].text if place + length < len(items) else ""
    if word == "thousand":
        value, length = value * 1000, length + 1
        rest = _below_thousand(items, place + length)
        return (value + rest[0], length + rest[1]) if rest else (value, length)
    if word == "hundred":
        found = _below_thousand(items, place)
        if found is None:
            rest = _below_thousand(items, place + length + 1)
            found = (value * 100 + rest[0], length + 1 + rest[1]) if rest and rest[0] < 100 else None
        return found if found else (value * 100, length + 1)
    if word in _O and 1 <= value <= 9 and place + length + 1 < len(items):
        ones = ONES.get(items[place + length + 1].text)
        if ones is not None and ones < 10:
            return value * 100 + ones, length + 2
    pair = _small(items, place + length)
    if pair is not None and pair[0] >= 10 and 1 <= value <= 29 and value % 10:
        return value * 100 + pair[0], length + pair[1]
    return value, length


def _below_thousand(items: Sequence[Token], place: int) -> tuple[int, int] | None:
    skip = 1 if place < len(items) and items[place].text == "and" else 0
    first = _small(items, place + skip)
    if first is None:
        return None
    value, length = first[0], first[1] + skip
    if place + length < len(items) and items[place + length].text == "hundred":
        value, length = value * 100, length + 1
        joined = 1 if place + length < len(items) and items[place + length].text == "and" else 0
        rest = _small(items, place + length + joined)
        if rest is not None:
            return value + rest[0], length + joined + rest[1]
    return value, length
