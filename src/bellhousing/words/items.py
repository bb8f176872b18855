"""A text as a row of items: words with their meanings, figures with their units, shifts, and breaks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from bellhousing.quantities.parse import parse_measured
from bellhousing.quantities.units import from_si, unit
from bellhousing.words.pattern import LITERAL, NOT, literal
from bellhousing.words.spoken import ONES, number_at, shift_at
from bellhousing.words.text import Token, stem, tokens
from bellhousing.words.vocabulary import Vocabulary

HARD = frozenset({".", ";", "!", "?", "|"})
_SOFT = frozenset({",", ":", "(", ")", "-", "&", "+", "/", ">", "@", "="})
_LINKS = frozenset(
    [
        "and",
        "but",
        "then",
        "also",
        "plus",
        "while",
        "whereas",
        "although",
        "though",
        "or",
        "with",
        "yet",
        "however",
        "otherwise",
        "otherwize",
    ]
)
_NEGATIVE = frozenset(["not", "no", "never", "none", "nothing", "without", "nor", "neither", "non"])
_BEFORE_CONDITION = frozenset({"at", "@", "on", "by", "doing", "around"})
_AFTER_INCHES = frozenset(
    [
        "hg",
        "of",
        "vac",
        "vacuum",
        "mercury",
        "end",
        "play",
        "over",
        "above",
        "under",
        "rise",
        "up",
        "at",
        "on",
        "steady",
        "max",
        "high",
        "from",
        "with",
        "hot",
        "idle",
    ]
)
_TO = frozenset({"to", "-"})
# What a pressure can be of, and what says that it is a vacuum instead; a hose that is off is neither.
_OF_PRESSURE = frozenset({"line", "pressure", "governor", "govpressure", "cutback"})
_VACUUM = frozenset({"vacuum", "vacuumpressure"})
_AT_VACUUM = frozenset({"manifold", "modulator", "vachose"})
_NO_VACUUM = frozenset({"hoseoff", "hoseon"})
ATMOSPHERE = 101325.0  # standard atmosphere [Pa]: no vacuum is deeper
LEAST_RPM = 400
WEIGHT_FIGURE, WEIGHT_UNKNOWN, WEIGHT_NOT = 1.2, 0.8, 0.7


@dataclass(frozen=True)
class Item:
    """A piece of text and what it may mean; `kind` is word, figure, unknown, quiet, not or break."""

    kind: str
    start: int
    end: int
    concepts: frozenset[str] = frozenset()
    weight: float = 0.0
    value: str = ""
    unit: str | None = None
    measure: str | None = None
    after_at: bool = False
    below_zero: bool = False
    hard: bool = False
    corrected: bool = False
    said: str = ""
    exact: frozenset[str] = frozenset()
    words: int = 1


def items_of(text: str, vocabulary: Vocabulary) -> list[Item]:
    """The items of a text, in order."""
    row = _sounds(tokens(text), vocabulary)
    names = {band.concept for band in vocabulary.bands}
    found: list[Item] = []
    place = 0
    while place < len(row):
        item, length = _item(row, place, found, vocabulary)
        if found and item.kind == "figure" and not names.isdisjoint(item.concepts):
            found[-1] = replace(found[-1], kind="quiet", weight=0.0)  # the "to" of "to 35 mph"
        found.append(item)
        place += length
        gap = text[row[place - 1].end : row[place].start] if place < len(row) else ""
        if "\n" in gap or "\r" in gap:
            found.append(Item("break", row[place - 1].end, row[place - 1].end, hard=True))
    return [replace(item, said=text[item.start : item.end]) for item in settled(found)]


def settled(items: Sequence[Item]) -> list[Item]:
    """Items with every pressure that is said to be a vacuum marked as one: "vacuum 55 kPa at idle"."""
    return [
        replace(item, measure="vacuum", concepts=item.concepts - {"in_pressure"} | {"in_vacuum"})
        if item.measure == "pressure" and _of_vacuum(items, place)
        else item
        for place, item in enumerate(items)
    ]


def _of_vacuum(items: Sequence[Item], place: int) -> bool:
    """Whether the nearest word that a pressure can be of speaks of vacuum.

    Words before the figure count first, then those after it. Beyond a comma, or where only the part is named
    ("modulator 50 kPa"), just what can be a vacuum at all is taken for one.
    """
    figure = items[place]
    likely = figure.unit != "psi" and number_of(figure) * unit(figure.unit or "").factor <= ATMOSPHERE
    near, part = True, False
    for item in reversed(items[:place]):
        if item.hard:
            break
        if item.kind == "break":
            near = False
        elif not item.concepts.isdisjoint(_VACUUM) and item.concepts.isdisjoint(_NO_VACUUM):
            return near or likely
        elif not item.concepts.isdisjoint(_OF_PRESSURE):
            return False
        else:
            part |= not item.concepts.isdisjoint(_AT_VACUUM) and item.concepts.isdisjoint(_NO_VACUUM)
    if part:
        return likely
    for item in items[place + 1 :]:
        if item.kind in {"break", "figure"} or not item.concepts.isdisjoint(_OF_PRESSURE - _VACUUM):
            return False
        if not item.concepts.isdisjoint(_VACUUM | _AT_VACUUM) and item.concepts.isdisjoint(_NO_VACUUM):
            return likely or not item.concepts.isdisjoint(_VACUUM)
    return False


def _sounds(row: list[Token], vocabulary: Vocabulary) -> list[Token]:
    """Words as a dictating machine mishears them, put right."""
    if not vocabulary.sounds:
        return row
    longest = max(len(heard) for heard in vocabulary.sounds)
    found: list[Token] = []
    place = 0
    while place < len(row):
        for length in range(min(longest, len(row) - place), 0, -1):
            meant = vocabulary.sounds.get(tuple(token.text for token in row[place : place + length]))
            if meant is not None:
                start, end = row[place].start, row[place + length - 1].end
                found += [Token(word, "word", start, end) for word in meant]
                place += length
                break
        else:
            found.append(row[place])
            place += 1
    return found


def _item(row: Sequence[Token], place: int, before: list[Item], vocabulary: Vocabulary) -> tuple[Item, int]:
    token = row[place]
    starts = (
        not before
        or before[-1].kind == "break"
        or (place > 0 and row[place - 1].text in {"the", "on", "its"})
    )
    phrase = _phrase(row, place, vocabulary)
    shift = shift_at(row, place, starts, vocabulary.unit_words)
    if shift is not None and (phrase is None or phrase[1] <= shift[1]):
        concepts = frozenset({f"shift{shift[0]}"})
        item = Item("word", token.start, row[place + shift[1] - 1].end, concepts, vocabulary.weight(concepts))
        return item, shift[1]
    if phrase is not None and phrase[1] > 1:
        return phrase
    figure = _figure(row, place, vocabulary)
    if figure is not None:
        return figure
    if token.text in {"-", "minus"} and place + 1 < len(row) and _below_zero(row, place + 1):
        return Item("quiet", token.start, token.end), 1
    if token.text in _NEGATIVE:
        return Item("not", token.start, token.end, frozenset({NOT}), WEIGHT_NOT), 1
    if token.kind == "mark" or token.text in _LINKS:
        if phrase is not None:
            return phrase
        kind = "break" if token.text in HARD | _SOFT | _LINKS else "quiet"
        return Item(kind, token.start, token.end, hard=token.text in HARD), 1
    if phrase is not None:
        return phrase
    return _word(token, vocabulary), 1


def _phrase(row: Sequence[Token], place: int, vocabulary: Vocabulary) -> tuple[Item, int] | None:
    """The longest phrase at a token, unless it opens with a small word that keeps a longer one apart."""
    found = _longest_phrase(row, place, vocabulary)
    if found is None or found[1] == 1 or stem(row[place].text) not in vocabulary.book.quiet:
        return found
    following = _longest_phrase(row, place + 1, vocabulary)
    if following is not None and following[1] > found[1] and following[0].weight:
        return None
    return found


def _longest_phrase(row: Sequence[Token], place: int, vocabulary: Vocabulary) -> tuple[Item, int] | None:
    book = vocabulary.book
    stems = [stem(token.text) for token in row[place : place + book.longest]]
    for length in range(len(stems), 0, -1):
        concepts = book.phrases.get(tuple(stems[:length]))
        if concepts is None:
            continue
        weight = vocabulary.weight(concepts)
        own = book.exact[tuple(stems[:length])]
        small = all(word in book.quiet for word in stems[:length])
        if small and (length == 1 or all(concept.startswith(LITERAL) for concept in own)):
            weight = 0.0
        item = Item("word", row[place].start, row[place + length - 1].end, concepts, weight)
        return replace(item, exact=own, words=length), length
    return None


def _word(token: Token, vocabulary: Vocabulary) -> Item:
    book, root = vocabulary.book, stem(token.text)
    if root in book.quiet:
        return Item("quiet", token.start, token.end, frozenset({literal((root,))}))
    if root in book.known:
        if literal((root,)) in vocabulary.weights:
            concepts = frozenset({literal((root,))})
            item = Item("word", token.start, token.end, concepts, vocabulary.weight(concepts))
            return replace(item, exact=concepts)
        return Item("unknown", token.start, token.end, weight=WEIGHT_UNKNOWN)
    meant = book.corrected(root)
    if meant is None:
        return Item("unknown", token.start, token.end, weight=WEIGHT_UNKNOWN)
    concepts = book.phrases.get((meant,), frozenset({literal((meant,))}))
    if meant in book.quiet:
        return Item("quiet", token.start, token.end, concepts)
    weight = vocabulary.weight(concepts)
    return Item("word", token.start, token.end, concepts, weight, corrected=True)


def _figure(row: Sequence[Token], place: int, vocabulary: Vocabulary) -> tuple[Item, int] | None:
    token = row[place]
    if [t.text for t in row[place : place + 5]] == ["a", "second", "and", "a", "half"]:
        return _made(row, place, 5, "1.5", ("time", "s")), 5
    if token.text == "half" and place + 1 < len(row):
        unit = _unit(row, place + 1, vocabulary)
        if unit is not None and unit[0] in {"time", "volume", "inches", "duration"}:
            return _made(row, place, 1 + unit[2], "0.5", unit[:2]), 1 + unit[2]
    number = number_at(row, place)
    if number is None:
        return None
    value, length = number
    unit = _unit(row, place + length, vocabulary)
    if unit is None and token.text in ONES and token.text in {"one", "two", "three"} and length == 1:
        lone = Item("figure", token.start, token.end, frozenset({token.text}), 0.3, value)
        return replace(lone, after_at=_after_at(row, place)), 1
    wider = _range(row, place, length, unit, vocabulary)
    if wider is not None:
        value, length, unit = wider
    size = unit[2] if unit else 0
    made = _made(row, place, length + size, value, unit[:2] if unit else None)
    return replace(made, concepts=made.concepts | _banded(made, row, place, vocabulary)), length + size


def _banded(item: Item, row: Sequence[Token], place: int, vocabulary: Vocabulary) -> frozenset[str]:
    """What a figure means by the word before it: "weak to 35 mph" and "flat over 60"."""
    before = row[place - 1].text if place else ""
    if before == "to" and place > 1 and row[place - 2].text == "up":
        before = "up to"
    return frozenset(
        band.concept
        for band in vocabulary.bands
        if before in (band.after if item.measure == band.measure else band.bare)
        and item.measure in {band.measure, None}
        and band.span[0] <= in_unit(item, band.unit) <= band.span[1]
    )


def number_of(item: Item) -> float:
    """The figure of an item; the first of a range or a tolerance."""
    return float(item.value.split("±")[0].split("-")[0])


def in_unit(item: Item, usual: str) -> float:
    """The figure of an item in a usual unit of its kind; one without a unit is taken to be in that."""
    if item.unit is None or not usual or item.unit == usual or item.measure == "inches":
        return number_of(item)
    name = "degF" if item.unit == "deg" else item.unit
    return from_si(parse_measured(f"{number_of(item):g} {name}", usual_unit=usual).value, usual)


def _made(row: Sequence[Token], place: int, length: int, value: str, unit: tuple[str, str] | None) -> Item:
    measure, name = unit if unit else (None, None)
    if measure is None and place and row[place - 1].text == "since":
        measure = "since"
    if measure:
        # Years are told from shorter spells: a car stood for weeks is another thing.
        concepts = frozenset({f"in_{measure}", "in_year"} if name == "year" else {f"in_{measure}"})
    else:  # a bare figure this large can only be a speed of rotation
        concepts = frozenset({"in_rotation"}) if value.isdigit() and int(value) >= LEAST_RPM else frozenset()
    if value.strip("0.") == "":
        concepts |= {literal(("zero",))}
    below = _below_zero(row, place)
    start, end = row[place - below].start, row[place + length - 1].end
    item = Item("figure", start, end, concepts, WEIGHT_FIGURE, value, name, measure)
    return replace(item, after_at=_after_at(row, place - below), below_zero=below)


def _below_zero(row: Sequence[Token], place: int) -> bool:
    """Whether a minus stands at a figure: "−3 psi" and "minus 3", not "2-3" and not "idle - 62 psi"."""
    if place == 0 or row[place - 1].text not in {"-", "minus"}:
        return False
    if row[place - 1].text == "minus":
        return True
    apart = place < 2 or (row[place - 2].end < row[place - 1].start and row[place - 2].kind != "number")
    return apart and row[place - 1].end == row[place].start


def _after_at(row: Sequence[Token], place: int) -> bool:
    back = place - 1
    while back >= 0 and row[back].text in {"about", "around", "roughly", "a", "approx", "say"}:
        back -= 1
    return back >= 0 and row[back].text in _BEFORE_CONDITION


def _unit(row: Sequence[Token], place: int, vocabulary: Vocabulary) -> tuple[str, str, int] | None:
    """Kind, name and length in tokens of the unit written at a place."""
    for length in range(min(4, len(row) - place), 0, -1):
        found = vocabulary.units.get(tuple(token.text for token in row[place : place + length]))
        if found is None or (length == 1 and not _is_unit(row, place)):
            continue
        return found[0], found[1], length
    if place < len(row) and row[place].text == "in":
        after = row[place + 1].text if place + 1 < len(row) else ""
        decimal = "." in row[place - 1].text
        if not after or after in _AFTER_INCHES or decimal or after in HARD | _SOFT:
            return "inches", "in", 1
    return None


def _is_unit(row: Sequence[Token], place: int) -> bool:
    """Whether what looks like a unit is one: "148 second range" holds no time, "62 c..." no temperature."""
    after = row[place + 1].text if place + 1 < len(row) else ""
    if row[place].text == "second":
        return after not in {"range", "gear", "position", "place", "1000", "hose"}
    return not (row[place].text in {"l", "d"} and row[place].kind == "word")


def _range(
    row: Sequence[Token], place: int, length: int, unit: tuple[str, str, int] | None, vocabulary: Vocabulary
) -> tuple[str, int, tuple[str, str, int] | None] | None:
    """A reading that wanders, "60 to 65 psi", or a tolerance "65 ± 3"."""
    after = place + length + (unit[2] if unit else 0)
    if after + 1 >= len(row) or row[after].text not in _TO | {"±"}:
        return None
    second = number_at(row, after + 1)
    if second is None or row[after + 1].text in {"a"}:
        return None
    last = _unit(row, after + 1 + second[1], vocabulary)
    first_value = number_at(row, place)
    if first_value is None or (row[after].text != "±" and not float(first_value[0]) < float(second[0])):
        return None
    sign = "±" if row[after].text == "±" else "-"
    taken = after + 1 + second[1] - place
    return f"{first_value[0]}{sign}{second[0]}", taken, last or unit
