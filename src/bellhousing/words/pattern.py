"""Concepts and patterns: how the phrases of the vocabulary are kept and compared."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Any

from rapidfuzz import process
from rapidfuzz.distance import OSA

from bellhousing.errors import CatalogueError
from bellhousing.words.text import stem, tokens

NOT = "not"
LITERAL = "="
_BUILT_IN = re.compile(r"(in|given)_|shift\d\d$")
_NEGATIVES = frozenset({"not", "no", "without", "never", "nothing", "off"})
_PARTS = re.compile(r"\[[^\]]*\]|\([^)]*\)|!\([^)]*\)|\S+")


@lru_cache(maxsize=1 << 15)
def key_of(phrase: str) -> tuple[str, ...]:
    """The stems of a phrase, by which it is looked up."""
    return tuple(stem(token.text) for token in tokens(phrase))


def literal(key: tuple[str, ...]) -> str:
    """The concept that is just these words."""
    return LITERAL + "_".join(key)


@dataclass(frozen=True)
class Give:
    """What a pattern says: a finding with states, an answer word, a value as text, or `reads` a figure.

    `of_two` says what is made of a hot figure and a cold one: "hot", or the "share" that hot is of cold.
    """

    finding: str
    states: tuple[str, ...]
    word: str | None
    value: str | None
    reads: bool = False
    of_two: str = ""


# What a phrase gives that says nothing one finding could hold, such as "all in order".
KEPT = Give("", (), None, None)


@dataclass(frozen=True)
class Pattern:
    """Concepts that must all be there, concepts that may be, concepts that must not, and what they say.

    `judging` are the words that may judge a figure ("low, 44 psi"); a pattern that says findings by itself
    (`whole`) needs no figure for a condition of theirs.
    """

    phrase: str
    required: tuple[frozenset[str], ...]
    optional: frozenset[str]
    forbidden: frozenset[str]
    negative: bool
    negated: tuple[frozenset[str], ...]
    gives: tuple[Give, ...]
    judging: frozenset[str] = frozenset()
    whole: bool = False

    @property
    def concepts(self) -> frozenset[str]:
        """Every concept that helps to recognise the pattern."""
        return self.optional.union(self.judging, *self.required)


@dataclass(frozen=True)
class Phrasebook:
    """From words to concepts: phrases of several words, single words, and what a misspelt word should be.

    `exact` holds what a single word or a whole phrase says by itself, without what it merely contains.
    """

    phrases: Mapping[tuple[str, ...], frozenset[str]]
    exact: Mapping[tuple[str, ...], frozenset[str]]
    longest: int
    names: frozenset[str]
    quiet: frozenset[str] = frozenset()
    known: frozenset[str] = frozenset()
    spellings: tuple[str, ...] = ()

    @cached_property
    def silent(self) -> frozenset[str]:
        """The concepts of words that have no weight."""
        return frozenset(literal((word,)) for word in self.quiet)

    @classmethod
    def made_of(
        cls,
        pages: Sequence[tuple[str, Mapping[str, Any]]],
        quiet: Set[str],
        fading: Set[str],
        joined: Set[str],
    ) -> Phrasebook:
        """The phrasebook of some vocabulary pages, each with its file name.

        `fading` names the concepts a word loses inside a longer phrase: "cooler line" is no line pressure;
        `joined` are the phrases that patterns write as `two_words`.

        Raises
        ------
        CatalogueError : a concept that is no list of phrases
        """
        phrases: dict[tuple[str, ...], set[str]] = {}
        names: set[str] = set()
        for where, concepts in pages:
            for concept, said in concepts.items():
                if not isinstance(said, list):
                    raise CatalogueError("a list of words is wanted", where=f"{where}, {concept}")
                names.add(concept)
                for phrase in said:
                    phrases.setdefault(key_of(str(phrase)), set()).add(concept)
        for phrase in joined:
            key = key_of(phrase.replace("_", " "))
            phrases.setdefault(key, set()).add(literal(key))
        kept = {key: frozenset(found | _lasting(key, phrases, fading)) for key, found in phrases.items()}
        exact = {
            key: frozenset(found) if len(key) > 1 else frozenset({literal(key)})
            for key, found in phrases.items()
        }
        return cls(
            kept, exact, max((len(key) for key in kept), default=1), frozenset(names), frozenset(quiet)
        )

    def knowing(self, patterns: Iterable[str], ordinary: Iterable[str], units: Iterable[str]) -> Phrasebook:
        """The same book with every word that is spelt right, so that only others are corrected."""
        spelt = {word for key in self.phrases for word in key}
        for phrase in patterns:
            spelt |= {stem(token.text) for token in tokens(phrase) if token.kind == "word"}
        believed = tuple(sorted(word for word in spelt if len(word) >= 4 and word.isalpha()))
        known = spelt | {stem(word) for word in (*ordinary, *units)} | self.quiet
        return replace(self, known=frozenset(known), spellings=believed)

    def concepts_of(self, word: str) -> frozenset[str]:
        """Concepts a word of a pattern stands for: the concept of that name, else the word itself.

        `two_words` are a phrase.
        """
        key = key_of(word.replace("_", " "))
        if word in self.names:
            same = word in self.phrases.get(key, frozenset())
            return frozenset({word, literal(key)}) if same else frozenset({word})
        if _BUILT_IN.match(word):
            return frozenset({word})
        return frozenset({literal(key)})

    def corrected(self, word: str) -> str | None:
        """The known word nearest to a misspelt one, or None where none is near enough.

        Distance counts letters added, dropped, changed or swapped with a neighbour (optimal string
        alignment); one is allowed up to five letters, two up to nine, three beyond.
        """
        if len(word) < 4 or not word.isalpha():
            return None
        allowed = 1 if len(word) <= 5 else 2 if len(word) <= 9 else 3
        near = process.extract(word, self.spellings, scorer=OSA.distance, score_cutoff=allowed, limit=8)
        best = [found for found in near if found[0][0] == word[0] or (found[1] == 1 and len(word) > 5)]
        best = [found for found in best if abs(len(found[0]) - len(word)) <= allowed and len(found[0]) > 3]
        return min(best, key=lambda found: (found[1], found[0][0] != word[0], found[0]))[0] if best else None


def _lasting(key: tuple[str, ...], phrases: Mapping[tuple[str, ...], set[str]], fading: Set[str]) -> set[str]:
    """What the single words of a phrase still say inside it."""
    if not _NEGATIVES.isdisjoint(key):
        return set()
    found = {literal((word,)) for word in key}
    for start in range(len(key)):
        for end in range(start + 1, len(key) + 1):
            if end - start < len(key):
                found |= {concept for concept in phrases.get(key[start:end], ()) if concept not in fading}
    return found


def compiled(phrase: str, gives: tuple[Give, ...], book: Phrasebook, where: str) -> Pattern:
    """The pattern written in a phrase.

    `word` is needed, `(a|b)` one of them, `[c d]` may be there, `!e` must not be there.

    Raises
    ------
    CatalogueError : a phrase with nothing in it that is needed
    """
    required: list[frozenset[str]] = []
    optional: set[str] = set()
    forbidden: set[str] = set()
    negated: list[frozenset[str]] = []
    negative = follows_not = False
    for part in _PARTS.findall(phrase):
        if part.startswith("["):
            for word in part[1:-1].split():
                for choice in word.split("|"):
                    optional |= book.concepts_of(choice)
        elif part.startswith("!"):
            for word in part[1:].strip("()").split("|"):
                forbidden |= book.concepts_of(word)
        elif part == NOT:
            negative = follows_not = True
        else:
            choices = part.strip("()").split("|")
            wanted = frozenset().union(*(book.concepts_of(choice) for choice in choices)) - book.silent
            if not wanted:
                raise CatalogueError(
                    f"{part!r} has no weight and cannot be needed",
                    where=where,
                    remedy=f"leave it out of {phrase!r}",
                )
            required.append(wanted)
            if follows_not:
                negated.append(wanted)
                follows_not = False
    if not required:
        raise CatalogueError("a phrase with nothing in it", where=where, remedy=repr(phrase))
    return Pattern(
        phrase, tuple(required), frozenset(optional), frozenset(forbidden), negative, tuple(negated), gives
    )
