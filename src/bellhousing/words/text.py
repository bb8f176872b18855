"""From characters to tokens and word stems, each with its place in the text as written."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

_PLAIN = {
    "‘": "'",
    "’": "'",
    "ʼ": "'",
    "`": "'",
    "“": '"',
    "”": '"',
    "″": '"',
    "′": "'",
    "–": "-",
    "—": "-",
    "−": "-",
    "‐": "-",
    "‑": "-",
    "⁄": "/",
    "→": ">",
    "º": "°",
    "℉": "°f",
    "℃": "°c",
}
_TOKEN = re.compile(
    r"(?P<number>\d+(?:,\d{3})+(?:\.\d+)?|(?:\d+(?:[.,]\d+)?|\.\d+)(?:e[+-]?\d+(?!\w))?)"
    r"|(?P<word>[^\W\d_]+(?:'[^\W\d_]+)*)|(?P<mark>[^\s])"
)
_RUN_TOGETHER_NEGATIVES = frozenset(
    [
        "dont",
        "doesnt",
        "didnt",
        "wont",
        "cant",
        "isnt",
        "wasnt",
        "wouldnt",
        "couldnt",
        "hasnt",
        "havent",
        "hadnt",
        "aint",
        "arent",
        "werent",
        "shouldnt",
        "cannot",
        "not",
    ]
)
_AUXILIARIES = frozenset(
    [
        "does",
        "do",
        "did",
        "will",
        "is",
        "are",
        "was",
        "were",
        "would",
        "could",
        "can",
        "has",
        "have",
        "had",
        "should",
        "am",
    ]
)
_AFTER_INCHES = frozenset({"of", "hg", "vac", "vacuum"})
_NOT_DOUBLED = frozenset("lszf")


@dataclass(frozen=True)
class Token:
    """A word, a number in digits or a mark; `start` and `end` count characters of the text as written."""

    text: str
    kind: str
    start: int
    end: int


def plain(text: str) -> tuple[str, list[int]]:
    """Lower-case text with one form of each dash and quote, and the place each character came from."""
    if text.isascii():  # each character stays one
        return text.lower().replace("`", "'"), list(range(len(text)))
    characters: list[str] = []
    places: list[int] = []
    for place, character in enumerate(text):
        for part in unicodedata.normalize("NFKC", _PLAIN.get(character, character)).casefold():
            replaced = _PLAIN.get(part, part)
            characters.append(replaced)
            places.extend([place] * len(replaced))
    return "".join(characters), places


def tokens(text: str) -> list[Token]:
    """Tokens of a text; "doesn't" becomes "does" and "not"."""
    normal, places = plain(text)
    found: list[Token] = []
    for match in _TOKEN.finditer(normal):
        start, end = places[match.start()], places[match.end() - 1] + 1
        word = match.group()
        kind = str(match.lastgroup)
        if kind == "number":
            found.append(Token(_digits(word), kind, start, end))
        elif kind == "word" and (word.endswith("n't") or word in _RUN_TOGETHER_NEGATIVES):
            _drop_auxiliary(found)
            found.append(Token("not", kind, start, end))
        elif kind == "word":
            found.append(Token(re.sub(r"'(s|ll|ve|re|d|m)?$", "", word).replace("'", ""), kind, start, end))
        elif word != "-" or not _within_a_word(normal, match.start()):
            found.append(Token(word, kind, start, end))
    return [token for place, token in enumerate(found) if token.text and not _shortens(found, place)]


def _shortens(found: list[Token], place: int) -> bool:
    """Whether a full stop only shortens inches, as in "18 in. of vacuum"."""
    around = [token.text for token in found[max(place - 1, 0) : place + 2]]
    return found[place].text == "." and len(around) == 3 and around[0] == "in" and around[2] in _AFTER_INCHES


def _within_a_word(text: str, place: int) -> bool:
    """Whether a hyphen joins two words into one, as in "u-joint" and "pull-away"."""
    around = text[place - 1 : place] + text[place + 1 : place + 2]
    return len(around) == 2 and around.isalnum() and not around.isdigit()


def _drop_auxiliary(found: list[Token]) -> None:
    """Forget the verb before a "not", so that "is not" and "isn't" are one."""
    if found and found[-1].text in _AUXILIARIES:
        found.pop()


def _digits(word: str) -> str:
    if re.fullmatch(r"\d+(?:,\d{3})+(?:\.\d+)?", word) and not word.startswith("0"):
        return word.replace(",", "")
    number = word.replace(",", ".")
    return f"0{number}" if number.startswith(".") else number


def stem(word: str) -> str:
    """Word without its plural, -ed or -ing, so that slips, slipped and slipping are one.

    Source: common practice, no source.
    """
    if len(word) <= 3 or not word.isascii():
        return word
    if word.endswith("ies") and len(word) > 4:
        word = word[:-3] + "y"
    elif word.endswith(("sses", "shes", "ches", "xes", "zzes")):
        word = word[:-2]
    elif word.endswith("s") and not word.endswith(("ss", "us", "is")):
        word = word[:-1]
    for ending in ("ing", "ed"):
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            word = word[: -len(ending)]
            if len(word) > 3 and word[-1] == word[-2] and word[-1] not in _NOT_DOUBLED:
                word = word[:-1]
            break
    return word[:-1] if len(word) > 3 and word.endswith("e") else word
