"""Numbers as they are spoken, and the names of shifts, found among the tokens of a text."""

from __future__ import annotations

from collections.abc import Sequence

from bellhousing.words.text import Token

ONES = {
    word: value
    for value, word in enumerate(
        [
            "zero",
            "one",
            "two",
            "three",
            "four",
            "five",
            "six",
            "seven",
            "eight",
            "nine",
            "ten",
            "eleven",
            "twelve",
            "thirteen",
            "fourteen",
            "fifteen",
            "sixteen",
            "seventeen",
            "eighteen",
            "nineteen",
        ]
    )
}
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
_FRACTIONS = {"half": "0.5", "quarter": "0.25", "third": "0.333"}
Found = tuple[str, int]  # what was read, and how many tokens it took


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
        if not _followed_by(items, place + length, _SHIFT_WORDS):
            return None
    if second is None:
        return None
    first, second = _top_of_four(items, place, first, second, joined)
    if abs(first[0] - second[0]) != 1 or _is_amount(items, place, length, units):
        return None
    if 4 in (first[0], second[0]) and _followed_by(items, place + length, _COUNTED):
        return None
    if _only_sounds(
        items[place].text, items[after + joined - (joined > 0)].text, first[0], second[0], joined
    ):
        return None
    if not joined and _bare_pair(items, place, first, second, units):
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


def _bare_pair(
    items: Sequence[Token], place: int, first: tuple[int, int], second: tuple[int, int], units: frozenset[str]
) -> bool:
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


def _followed_by(items: Sequence[Token], place: int, words: frozenset[str]) -> bool:
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
    if word == "half" and _followed_by(items, place + 1, frozenset({"a", "an"})):
        return "0.5", 2
    if word in {"a", "one"} and _followed_by(items, place + 1, frozenset({"half", "quarter"})):
        return _FRACTIONS[items[place + 1].text], 2
    if word == "three" and _followed_by(items, place + 1, frozenset({"quarters", "quarter"})):
        return "0.75", 2
    if word in {"a", "couple"} and [t.text for t in items[place : place + 2]] == ["a", "couple"]:
        return "2", 3 if _followed_by(items, place + 2, frozenset({"of"})) else 2
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
