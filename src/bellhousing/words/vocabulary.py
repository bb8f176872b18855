"""The vocabulary: words of the trade by meaning, and for each finding what is said about it.

Data in `words/data/*.yaml`; the rules of the files stand in `words/data/README.md`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from importlib import resources
from itertools import product
from math import log
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError

from bellhousing.errors import CatalogueError
from bellhousing.words.pattern import KEPT, Give, Pattern, Phrasebook, compiled
from bellhousing.words.text import stem, tokens

Span = tuple[float, float]
# Answers in words beside which no figure can be the reading: "never, even at 60".
_NO_FIGURE = frozenset({"never", "absent"})


@dataclass(frozen=True)
class ReadingRule:
    """What a reading takes besides its value.

    `conditions` maps a kind of unit (rotation, speed, vacuum, temperature) to the span of figures, in the
    unit named, in which it is this finding, and whether one must be given; `assume` pairs the words that
    make a default needless with the sentence that owns up to it.
    """

    conditions: Mapping[str, tuple[Span, bool]] = field(default_factory=dict)
    assume: tuple[tuple[frozenset[str], str], ...] = ()
    figure_unit: str = ""
    figure_states: tuple[tuple[str, float], ...] = ()
    base_state: str = ""
    difference: bool = False


@dataclass(frozen=True)
class Band:
    """What a figure means by itself after some words: "to 35 mph", "over 60", in the unit named.

    After the words `bare` it is believed without its unit too.
    """

    concept: str
    measure: str
    unit: str
    span: Span
    after: frozenset[str]
    bare: frozenset[str]


@dataclass(frozen=True)
class Vocabulary:
    """Everything the reader of notes knows; made by `load_vocabulary` and never changed."""

    book: Phrasebook
    patterns: tuple[Pattern, ...]
    rules: Mapping[str, ReadingRule]
    units: Mapping[tuple[str, ...], tuple[str, str]]
    unit_words: frozenset[str]
    sounds: Mapping[tuple[str, ...], tuple[str, ...]]
    weights: Mapping[str, float]
    kinds: Mapping[str, str]
    bands: tuple[Band, ...] = ()

    def weight(self, concepts: frozenset[str]) -> float:
        """How much a word tells: the rarer among the findings, the more."""
        return max((self.weights.get(concept, 1.0) for concept in concepts), default=0.0)

    def asks(self, finding: str) -> bool:
        """Whether a reading is only one where some condition is said."""
        rule = self.rules.get(finding)
        return rule is not None and any(must for _, must in rule.conditions.values())


def parsed(text: str) -> Any:
    """What a YAML text of plain data holds."""
    return YAML(typ="safe", pure=True).load(text)


def load_vocabulary(parse: Callable[[str], Any] = parsed) -> Vocabulary:
    """The vocabulary that comes with the program; `parse` makes data of the text of each file.

    Raises
    ------
    CatalogueError : a vocabulary file that cannot be read or contradicts its rules
    """
    folder = resources.files("bellhousing.words") / "data"
    files = sorted(
        (entry for entry in folder.iterdir() if entry.name.endswith(".yaml")), key=lambda entry: entry.name
    )
    return made_of({entry.name: entry.read_text(encoding="utf-8") for entry in files}, parse)


def made_of(files: Mapping[str, str], parse: Callable[[str], Any] = parsed) -> Vocabulary:
    """The vocabulary written in some files, given as name and text.

    Raises
    ------
    CatalogueError : a file that cannot be read or contradicts its rules
    """
    pages: dict[str, dict[str, Any]] = {}
    for name, text in files.items():
        try:
            page = parse(text)
        except YAMLError as error:
            raise CatalogueError("not readable as YAML", where=name, remedy=str(error)) from error
        if not isinstance(page, dict):
            raise CatalogueError("not a mapping at the top", where=name)
        pages[name] = page
    return _vocabulary(pages)


def _vocabulary(pages: Mapping[str, Mapping[str, Any]]) -> Vocabulary:
    fading = {concept for page in pages.values() for concept in page.get("fading", ())}
    quiet = {stem(word) for page in pages.values() for word in page.get("quiet", ())}
    concepts = [(name, page.get("concepts", {})) for name, page in pages.items()]
    book = Phrasebook.made_of(concepts, quiet, fading, _joined(pages))
    templates: dict[str, Mapping[str, Any]] = {}
    for page in pages.values():
        templates |= page.get("templates", {})
    patterns: list[Pattern] = []
    rules: dict[str, ReadingRule] = {}
    for name, page in pages.items():
        for finding, entry in page.get("findings", {}).items():
            where = f"{name}, {finding}"
            patterns += _of_finding(finding, entry, templates, book, where)
            rules[finding] = _rule(entry, templates, book)
        for number, entry in enumerate(_each(page.get("together", ()))):
            where = f"{name}, together {number + 1}"
            gives = tuple(_give(give, where) for give in entry["gives"])
            patterns += [
                replace(compiled(phrase, gives, book, where), whole=True)
                for phrase in _strings(entry["phrases"], where)
            ]
        kept = _strings(page.get("kept", []), f"{name}, kept")
        patterns += [compiled(phrase, (KEPT,), book, f"{name}, kept") for phrase in kept]
    units, unit_words = _units(pages)
    weights = _weights(patterns) | dict.fromkeys(quiet, 0.0)
    sounds = {
        _words(heard): _words(meant)
        for page in pages.values()
        for heard, meant in page.get("sounds", {}).items()
    }
    kinds = {
        concept: kind
        for page in pages.values()
        for kind, concepts in page.get("kinds", {}).items()
        for concept in concepts
    }
    book = book.knowing(
        [pattern.phrase for pattern in patterns],
        [word for page in pages.values() for word in page.get("ordinary", ())],
        [word for heard in units for word in heard],
    )
    bands = tuple(
        _band(concept, entry) for page in pages.values() for concept, entry in page.get("bands", {}).items()
    )
    return Vocabulary(book, tuple(patterns), rules, units, unit_words, sounds, weights, kinds, bands)


def _band(concept: str, entry: Mapping[str, Any]) -> Band:
    low, high = entry["from"], entry["to"]
    return Band(
        concept,
        entry["measure"],
        entry["unit"],
        (float(low), float(high)),
        frozenset(entry.get("after", ())) | frozenset(entry.get("bare", ())),
        frozenset(entry.get("bare", ())),
    )


def _joined(pages: Mapping[str, Mapping[str, Any]]) -> set[str]:
    """Every `two_words` phrase that a pattern uses."""
    found: set[str] = set()
    rest: list[Any] = [
        page.get(part) for page in pages.values() for part in ("templates", "findings", "together")
    ]
    while rest:
        value = rest.pop()
        if isinstance(value, str):
            found |= {word for word in re.findall(r"[a-z_]+", value) if "_" in word.strip("_")}
        elif isinstance(value, Mapping):
            rest += [item for key, item in value.items() if key not in {"say", "finding"}]
        elif isinstance(value, list):
            rest += value
    return {word for word in found if not word.startswith(("in_", "given_"))}


def _each(entries: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """Entries of several findings, one for each choice of the words that `each` names, put for `<step>`."""
    found: list[Mapping[str, Any]] = []
    for entry in entries:
        choices = entry.get("each", {})
        for chosen in product(*choices.values()):
            filled: Any = entry
            for name, word in zip(choices, chosen, strict=True):
                filled = _filled(filled, f"<{name}>", str(word))
            found.append(filled)
    return found


def _filled(value: Any, place: str, word: str) -> Any:
    if isinstance(value, str):
        return value.replace(place, word)
    if isinstance(value, Mapping):
        return {key: _filled(item, place, word) for key, item in value.items() if key != "each"}
    return [_filled(item, place, word) for item in value] if isinstance(value, list) else value


def _words(phrase: str) -> tuple[str, ...]:
    return tuple(token.text for token in tokens(phrase))


def _strings(value: Any, where: str) -> list[str]:
    if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
        raise CatalogueError("a list of phrases is wanted", where=where)
    return value


def _give(entry: Mapping[str, Any], where: str) -> Give:
    states = tuple(str(entry.get("states", "")).split("|")) if "states" in entry else ()
    if "finding" not in entry or not (states or entry.keys() & {"word", "value", "of_two", "reads"}):
        raise CatalogueError("a finding and its states, word, value or figure are wanted", where=where)
    of_two = str(entry.get("of_two", ""))
    reads = bool(of_two) or bool(entry.get("reads", False))
    return Give(str(entry["finding"]), states, entry.get("word"), entry.get("value"), reads, of_two)


def _of_finding(
    finding: str,
    entry: Mapping[str, Any],
    templates: Mapping[str, Mapping[str, Any]],
    book: Phrasebook,
    where: str,
) -> list[Pattern]:
    """Every pattern of a finding; a phrase opening with "+" is said after each of its `about` phrases."""
    about = _strings(entry.get("about", []), where)
    found: list[Pattern] = []
    names = entry.get("like", [])
    pages = [entry, *(templates[name] for name in ([names] if isinstance(names, str) else names))]
    for page in pages:
        for kind in ("states", "words", "values"):
            for answer, phrases in page.get(kind, {}).items():
                give = _answer(finding, kind, str(answer))
                for phrase in _strings(phrases, where):
                    full = (
                        [f"{subject} {phrase[1:]}" for subject in about]
                        if phrase.startswith("+")
                        else [phrase]
                    )
                    found += [compiled(text, (give,), book, where) for text in full]
    if any(page.get("reads", False) for page in pages) or "figure" in entry:
        give = Give(finding, (), None, None, True)
        judging = _judging(pages, about, book, where)
        read = [*about, *_strings(entry.get("read_as", []), where)]
        found += [replace(compiled(text, (give,), book, where), judging=judging) for text in read]
    never = frozenset(
        concept
        for page in pages
        for word in _strings(page.get("never", []), where)
        for concept in book.concepts_of(word)
    )
    return [replace(pattern, forbidden=pattern.forbidden | never) for pattern in found] if never else found


def _judging(
    pages: Sequence[Mapping[str, Any]], about: Sequence[str], book: Phrasebook, where: str
) -> frozenset[str]:
    """The meanings by which a reading is judged in words, which may stand beside its figure."""
    found = {
        concept
        for page in pages
        for word in _strings(page.get("judged", []), where)
        for concept in book.concepts_of(word)
    }
    for page in pages:
        for answer, phrases in page.get("words", {}).items():
            if answer in _NO_FIGURE:
                continue
            for subject in about:
                said = compiled(subject, (), book, where).concepts
                for phrase in phrases:
                    if phrase.startswith("+"):
                        found |= compiled(f"{subject} {phrase[1:]}", (), book, where).concepts - said
    return frozenset(found)


def _answer(finding: str, kind: str, answer: str) -> Give:
    if kind == "states":
        return Give(finding, tuple(answer.split("|")), None, None)
    return Give(finding, (), answer, None) if kind == "words" else Give(finding, (), None, answer)


def _rule(
    entry: Mapping[str, Any], templates: Mapping[str, Mapping[str, Any]], book: Phrasebook
) -> ReadingRule:
    names = entry.get("like", [])
    pages = [*(templates[name] for name in ([names] if isinstance(names, str) else names)), entry]
    conditions: dict[str, tuple[Span, bool]] = {}
    assume: list[tuple[frozenset[str], str]] = []
    for page in pages:
        for kind, limits in page.get("conditions", {}).items():
            conditions[kind] = ((float(limits[0]), float(limits[1])), len(limits) > 2)
        for default in page.get("assume", ()):
            unless = frozenset(
                concept for word in default["unless"].split("|") for concept in book.concepts_of(word)
            )
            assume.append((unless, default["say"]))
    figure = entry.get("figure", {})
    return ReadingRule(
        conditions,
        tuple(assume),
        figure.get("unit", ""),
        tuple((str(state), float(limit)) for state, limit in figure.get("over", {}).items()),
        figure.get("otherwise", ""),
        any(page.get("difference", False) for page in pages),
    )


def _units(
    pages: Mapping[str, Mapping[str, Any]],
) -> tuple[dict[tuple[str, ...], tuple[str, str]], frozenset[str]]:
    units: dict[tuple[str, ...], tuple[str, str]] = {}
    for page in pages.values():
        for kind, names in page.get("classes", {}).items():
            for name, spoken in names.items():
                units |= {_words(heard): (kind, name) for heard in spoken}
    return units, frozenset(heard[0] for heard in units if heard)


def _weights(patterns: Sequence[Pattern]) -> dict[str, float]:
    """Weight of each concept, from the number n of findings it is used for out of N: 0.6 + ln(N/n)/ln N.

    The inverse document frequency of text retrieval (K. Spärck Jones, Journal of Documentation 28 (1972)
    11-21), scaled to run from 0.6 to 1.6.
    """
    used: dict[str, set[str]] = {}
    for pattern in patterns:
        for concept in pattern.concepts:
            used.setdefault(concept, set()).update(give.finding for give in pattern.gives)
    total = len({give.finding for pattern in patterns for give in pattern.gives})
    return {
        concept: 0.6 + (log(total / len(findings)) / log(total) if total > 1 else 0.0)
        for concept, findings in used.items()
    }
