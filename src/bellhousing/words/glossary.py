"""Trade words and spellings of two countries, as data in `words/glossary.yaml`: a text in either."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

BRITISH, AMERICAN = "british", "american"
# A word inside a name with hyphens or slashes belongs to an address or a short name, not to a sentence.
LOOSE = r"(?<![\w/#=-])(?:{words})(?![\w/=-])"


@dataclass(frozen=True)
class Glossary:
    """For each country the words to put in place of strange ones, and the pattern that finds those."""

    turned: Mapping[str, Mapping[str, str]]
    patterns: Mapping[str, re.Pattern[str]]

    def say(self, text: str, country: str) -> str:
        """A text in the words of a country; capitals stay where they stood."""
        words, pattern = self.turned.get(country), self.patterns.get(country)
        if words is None or pattern is None or not text:
            return text
        return pattern.sub(lambda found: _put(words, found, text), text)


def _put(words: Mapping[str, str], found: re.Match[str], text: str) -> str:
    # A word alone between quotes is the value of something, not a sentence.
    if text[found.start() - 1 : found.start()] == '"' == text[found.end() : found.end() + 1]:
        return found[0]
    return _as_written(words[found[0].casefold()], found[0])


def _as_written(word: str, like: str) -> str:
    if like.isupper() and len(like) > 1:
        return word.upper()
    return word[:1].upper() + word[1:] if like[:1].isupper() else word


@cache
def glossary(parse: Callable[[str], Any]) -> Glossary:
    """The glossary that comes with the program; `parse` makes data of its text."""
    text = resources.files("bellhousing.words").joinpath("glossary.yaml").read_text("utf-8")
    plain = parse(text)
    turned: dict[str, dict[str, str]] = {BRITISH: {}, AMERICAN: {}}
    for entry in plain["words"]:
        pairs = [(entry["british"], entry["american"])]
        if "plural" in entry:
            pairs.append(tuple(entry["plural"]))
        for british, american in pairs:
            turned[AMERICAN][british] = american
            if entry.get("back", True):
                turned[BRITISH][american] = british
    for british, american in plain["spellings"]:
        turned[AMERICAN][british] = american
    return Glossary(turned, {country: _pattern(words) for country, words in turned.items()})


def _pattern(words: Mapping[str, str]) -> re.Pattern[str]:
    longest = sorted(words, key=len, reverse=True)
    return re.compile(LOOSE.format(words="|".join(re.escape(word) for word in longest)), re.IGNORECASE)
