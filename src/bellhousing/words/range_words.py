"""Words that name ranges and gears, or say that they drive, are dead or slip, found in a text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bellhousing.words.text import Token

_GEARS = {
    "first": "first", "1st": "first", "bottom": "first",
    "second": "second", "2nd": "second",
    "third": "third", "3rd": "third",
    "fourth": "fourth", "4th": "fourth",
    "top": "top",
}  # fmt: skip
_DIGITS = {"1": "first", "2": "second", "3": "third", "4": "fourth"}
_ENDINGS = {"1": "st", "2": "nd", "3": "rd", "4": "th"}
_RANGES = {
    **dict.fromkeys(("reverse", "r", "rev", "backward", "backwards", "back"), "reverse"),
    **dict.fromkeys(("forward", "forwards", "fwd", "fwds", "ahead"), "forward"),
    "d": "drive",
    **dict.fromkeys(("low", "l"), "low"),
}
_EVERY = frozenset({"every", "all", "each", "everything", "any", "anything"})
_REST = frozenset({"rest", "other", "others", "else", "remaining", "otherwise"})
_NOT = frozenset({"not", "no", "never", "nothing", "none", "neither", "nor", "without"})
_YES = frozenset({"yes"})
_ONLY = frozenset({"only", "just", "solely"})
_MOVES = frozenset(
    {"drive", "drives", "driving", "move", "moves", "go", "goes", "going", "pull", "pulls", "run", "runs"}
)
_RIGHT = frozenset(
    {"fine", "ok", "okay", "good", "normal", "work", "works", "working", "right", "perfect", "great",
     "strong", "alright", "lovely", "well", "hold", "holds", "holding", "held", "perfectly",
     "correct", "solid"}
)  # fmt: skip
_DEAD = frozenset({"dead", "lost", "gone", "missing", "nil", "absent", "inop", "kaput"})
_SLIPS = frozenset({"slip", "slips", "slipping", "slipped"})
_QUIET = frozenset(
    ["the", "a", "an", "it", "car", "she", "he", "i", "we", "they", "will", "is", "are", "was", "has", "have",
     "had", "got", "get", "gets", "in", "into", "of", "gear", "gears", "range", "ranges", "direction",
     "still", "there", "do", "does", "did", "would", "can", "at", "them", "both", "me", "my", "his", "quite",
     "also", "too", "lever", "very", "these", "selected", "select", "that", "which"]
)  # fmt: skip
_STEADY = frozenset({("all", "day"), ("all", "day", "long"), ("under", "load"), ("at", "all"), ("so", "far")})
_WHOLE: dict[tuple[str, ...], tuple[str, ...]] = {
    **dict.fromkeys((("back", "up"), ("backs", "up"), ("backing", "up"), ("reverse", "gear")), ("reverse",)),
    **dict.fromkeys((("forward", "gears"), ("forward", "gear"), ("forward", "ranges")), ("forward",)),
    **dict.fromkeys((("low", "range"), ("manual", "low"), ("low", "gear")), ("low",)),
    **dict.fromkeys((("lets", "go"), ("let", "go"), ("letting", "go")), ("slips",)),
    **dict.fromkeys((("refuses", "to"), ("fails", "to"), ("unable", "to"), ("wants", "not", "to")), ("not",)),
    **dict.fromkeys((("apart", "from"), ("other", "than"), ("aside", "from")), ("except",)),
    **dict.fromkeys((("nothing", "but"), ("none", "but")), ("only",)),
    **dict.fromkeys((("with", "the", "exception", "of"), ("all", "but")), ("except",)),
}
_EXCEPT = frozenset({"except", "excepting", "bar", "barring", "save"})
_BREAKS = frozenset(
    {",", ";", ".", ":", "but", "while", "whereas", "though", "although", "yet", "however", "then"}
)
_JOINS = frozenset({"and", "&", "+", "or", "/"})


@dataclass(frozen=True)
class Unit:
    """A word or phrase, its kind, the range or gear it names, and whether it was written in figures."""

    kind: str
    name: str
    start: int
    end: int
    digit: bool = False


def units_of(row: Sequence[Token]) -> list[Unit]:
    """The words of a text, each with what kind of word it is; `other` where it is none of these."""
    found: list[Unit] = []
    place = 0
    while place < len(row):
        kind, name, length = _unit(row, place)
        digit = row[place].kind == "number"
        found.append(Unit(kind, name, row[place].start, row[place + length - 1].end, digit))
        place += length
    return found


def _unit(row: Sequence[Token], place: int) -> tuple[str, str, int]:
    """Kind, name and length in tokens of what stands at a place."""
    words = tuple(token.text for token in row[place : place + 4])
    word, before = words[0], row[place - 1].text if place else ""
    for length in range(len(words), 1, -1):
        if words[:length] in _STEADY:
            return "quiet", "", length
        for whole in _WHOLE.get(words[:length], ()):
            kind = {"slips": "slip", "except": "except", "only": "only", "not": "not"}.get(whole, "range")
            return kind, whole if kind == "range" else "", length
    if row[place].kind == "number":
        return _numbered(words, before)
    if word in _GEARS:
        of_range = words[1:2] in (("range",), ("hand",)) or before == "at"
        return ("other", "", 1) if of_range else ("range", _GEARS[word], 1)
    if word == "drive" and _names_the_range(words, before):
        return "range", "drive", 1
    if word == "back" and before in {"the", "at"}:
        return "other", "", 1  # a place, not a direction
    if word in _RANGES:
        return "range", _RANGES[word], 1
    if word in _EVERY and words[1:2] and _RANGES.get(words[1]) == "forward":
        return "quiet", "", 1
    for kind, known in _KINDS:
        if word in known:
            return kind, word, 1
    return "other", "", 1


def _numbered(words: Sequence[str], before: str) -> tuple[str, str, int]:
    """A gear in figures: "1st", and "1" where only a gear can stand."""
    word = words[0]
    after = words[1] if len(words) > 1 else ""
    if word in _DIGITS and after == _ENDINGS[word]:
        return "range", _DIGITS[word], 2
    stands = before == "in" or before in _SLIPS or before in _JOINS or before == ","
    pair = after == "/" and len(words) > 2 and words[2] in _DIGITS and abs(int(words[2]) - int(word)) == 1
    ends = after == "" or after in _BREAKS or after in _JOINS or after in _QUIET | _RIGHT | _NOT
    return (
        ("range", _DIGITS[word], 1) if word in _DIGITS and stands and ends and not pair else ("other", "", 1)
    )


def _names_the_range(words: Sequence[str], before: str) -> bool:
    """Whether "drive" is the range and not what the car does: "in drive", "drive dead"."""
    after = [word for word in words[1:] if word not in {"is", "and", "or", "&", "/"}]
    following = after[0] if after else ""
    judged = following in _DEAD | _RIGHT and before not in _NOT
    joined = len(words) > 1 and words[1] in _JOINS and following in _RANGES
    return (
        before in {"in", "into", "neither", "nor"} or judged or joined or (before in _JOINS and not following)
    )


_KINDS = (
    ("quiet", _QUIET), ("not", _NOT), ("yes", _YES), ("only", _ONLY), ("move", _MOVES), ("right", _RIGHT),
    ("dead", _DEAD), ("slip", _SLIPS), ("except", _EXCEPT), ("join", _JOINS), ("break", _BREAKS),
    ("every", _EVERY), ("rest", _REST),
)  # fmt: skip
