"""A text as a row of items: words with their meanings, figures with their units, shifts, and breaks."""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import replace
from itertools import accumulate

from bellhousing.words.falling import before, fallen_to, fell_from, is_amount
from bellhousing.words.gears import shift_at
from bellhousing.words.item import LEAST_RPM, WEIGHT_FIGURE, WEIGHT_NOT, WEIGHT_UNKNOWN, Item, in_unit
from bellhousing.words.pattern import LITERAL, NOT, literal
from bellhousing.words.rows import series_at
from bellhousing.words.spoken import ONES, number_at
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
# What a unit says besides its kind; the marks of a stick lie about a pint apart.
_OF_UNIT = {"year": frozenset({"in_year"}), "qt": frozenset({"in_quart"}), "l": frozenset({"in_quart"})}
MANY_TURNS = 1.25
# What the highest of three gears is called, and what that is where there are four.
_TOPS = frozenset({"top", "high", "direct"})
_INTO = frozenset({"into", "to", "get", "gets", "find", "finds", "go", "goes", "going", "change", "changes"})
_HIGHEST = {"third": "fourth", "upstairs": "intofourth"}
LOW_CHANGES = 2


def items_of(
    text: str, vocabulary: Vocabulary, changes: int = 0, single: Set[int] = frozenset()
) -> list[Item]:
    """The items of a text, in order.

    `changes` is the number of changes up the box has, as many figures as a row of shift speeds takes (nought:
    no rows); at the places `single` a figure stands alone all the same.
    """
    row = _sounds(tokens(text), vocabulary)
    names = {band.concept for band in vocabulary.bands}
    found: list[Item] = []
    place = 0
    while place < len(row):
        series = series_at(row, place, changes, vocabulary.units) if row[place].start not in single else None
        if series is not None:
            item, length = _row_of_speeds(row, place, series), series[2]
        else:
            item, length = _item(row, place, found, vocabulary)
            item = topmost(item, row[place : place + length]) if changes > LOW_CHANGES else item
        if found and item.kind == "figure" and not names.isdisjoint(item.concepts):
            found[-1] = replace(found[-1], kind="quiet", weight=0.0)  # the "to" of "to 35 mph"
        found.append(item)
        place += length
        gap = text[row[place - 1].end : row[place].start] if place < len(row) else ""
        if "\n" in gap or "\r" in gap:
            found.append(Item("break", row[place - 1].end, row[place - 1].end, hard=True))
    parts = accumulate(int(item.kind == "break") for item in found)
    return [
        replace(item, said=text[item.start : item.end], part=part, led=led)
        for item, part, led in zip(found, parts, _led(found, text), strict=True)
    ]


def _led(items: Sequence[Item], text: str) -> list[str]:
    """For each item the break before the part of the sentence it stands in, as written."""
    found: list[str] = []
    led = ""
    for item in items:
        led = text[item.start : item.end].lower() if item.kind == "break" else led
        found.append(led)
    return found


def _row_of_speeds(row: Sequence[Token], place: int, series: tuple[tuple[str, ...], str, int]) -> Item:
    """A row of shift speeds as one item: "8, 15 and 22 mph"."""
    steps, name, length = series
    item = Item("series", row[place].start, row[place + length - 1].end, weight=WEIGHT_FIGURE)
    return replace(item, steps=steps, unit=name or None)


def topmost(item: Item, row: Sequence[Token]) -> Item:
    """An item of a box with four gears, where top is fourth."""
    if item.kind != "word" or not any(token.text in _TOPS for token in row):
        return item
    goes = any(token.text in _INTO for token in row)
    lost = frozenset({literal(("top",))}) | (frozenset() if goes else frozenset({"upstairs"}))
    concepts = frozenset(_HIGHEST.get(concept, concept) for concept in item.concepts - lost)
    exact = frozenset(_HIGHEST.get(concept, concept) for concept in item.exact) - {literal(("top",))}
    return replace(item, concepts=concepts, exact=exact)


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
    figure = None if _no_number(row, place) else _figure(row, place, vocabulary)
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


def _no_number(row: Sequence[Token], place: int) -> bool:
    """Whether a "nil" says that something is missing, as in "kickdown nil", and is no figure."""
    return row[place].text == "nil" and (
        place + 1 == len(row) or row[place + 1].text in HARD | _SOFT | _LINKS
    )


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
    if token.text in {"a", "an", "one"} and place + 1 < len(row):
        unit = _unit(row, place + 1, vocabulary)
        if unit is not None and unit[0] in {"volume", "inches"}:
            after = [t.text for t in row[place + 1 + unit[2] : place + 4 + unit[2]]]
            more = 3 if after == ["and", "a", "half"] else 0
            return _made(row, place, 1 + unit[2] + more, "1.5" if more else "1", unit[:2]), 1 + unit[2] + more
    number = number_at(row, place)
    if number is None:
        return None
    value, length = number
    unit = _unit(row, place + length, vocabulary)
    if unit is None and token.text in ONES and token.text in {"one", "two", "three"} and length == 1:
        lone = Item("figure", token.start, token.end, frozenset({token.text}), 0.3, value)
        return replace(lone, after_at=_after_at(row, place)), 1
    if unit is not None and unit[0] == "turns" and float(value) <= MANY_TURNS:
        unit = None
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


def _made(row: Sequence[Token], place: int, length: int, value: str, unit: tuple[str, str] | None) -> Item:
    measure, name = unit if unit else (None, None)
    if measure is None and place and row[place - 1].text == "since":
        measure = "since"
    if measure:
        # Years are told from shorter spells: a car stood for weeks is another thing.
        concepts = frozenset({f"in_{measure}"}) | _OF_UNIT.get(name or "", frozenset())
    else:  # a bare figure this large can only be a speed of rotation
        concepts = frozenset({"in_rotation"}) if value.isdigit() and int(value) >= LEAST_RPM else frozenset()
    if value.strip("0.") == "":
        concepts |= {literal(("zero",))}
    below = _below_zero(row, place)
    start, end = row[place - below].start, row[place + length - 1].end
    item = Item("figure", start, end, concepts, WEIGHT_FIGURE, value, name, measure)
    if measure in {"distance", "duration"} and before(row, place) == "after":
        item = replace(item, concepts=item.concepts | {"in_after"})
    amount = is_amount(row, place - below)
    if fallen_to(row, place - below):
        item = replace(item, concepts=item.concepts | {"in_fallen"})
        amount = fell_from(row, place - below)
    elif amount:
        ends = {"in_amount", "in_from"} if before(row, place - below) == "from" else {"in_amount"}
        item = replace(item, concepts=item.concepts | ends)
    return replace(item, after_at=_after_at(row, place - below), below_zero=below, amount=amount)


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
