"""What a line of text says: findings with their states or figures, and the notes that stay."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from bellhousing.errors import FindingError
from bellhousing.words.agreeing import agreed
from bellhousing.words.answer import understood
from bellhousing.words.by_range import ByRange, read_by_range
from bellhousing.words.figures import measures_of
from bellhousing.words.item import Item
from bellhousing.words.leaning import with_context, with_feel, with_neighbours
from bellhousing.words.match import Candidate, Context
from bellhousing.words.model import FindingShape, Note, Reading, Understood
from bellhousing.words.pieces import Piece, pieces_of, sentences
from bellhousing.words.series import Row, read_items, speeds_of, taken_out
from bellhousing.words.told import Told, read_told
from bellhousing.words.two_gears import read_two_gears
from bellhousing.words.vacua import settled
from bellhousing.words.vocabulary import ReadingRule, Vocabulary

LONGEST_TEXT = 4000
# What parts a "no" or "yes" from what it answers, a "yes" with it: "slips in second? no", "flare 2-3: yes".
_END = r"(?=\s*(?:[.;,!\n]|$))"
_ANSWER = re.compile(rf"[?:]\s*yes{_END}|[?:,](?=\s*(?:no|yes){_END})", re.IGNORECASE)
_WORTH_A_NOTE = 0.9


def understand(text: str, findings: Mapping[str, FindingShape], vocabulary: Vocabulary) -> Reading:
    """Every finding a text holds, in the order written, and the rest as notes.

    A line is cut into statements so that as much of its meaning as possible is explained; what no statement
    explains well enough stays a note and is never guessed at.

    Raises
    ------
    FindingError : nothing was written, or more than a page
    QuantityError, AmbiguousUnitError : a figure impossible for its finding, which the error names
    """
    if not text.strip():
        raise FindingError(
            "nothing was written", remedy="write what you found, such as: line pressure D idle 62 psi"
        )
    if len(text) > LONGEST_TEXT:
        raise FindingError(
            f"{len(text)} characters at once", remedy=f"write at most {LONGEST_TEXT} characters at a time"
        )
    context = Context(vocabulary, findings)
    compared = read_two_gears(text, findings)
    if compared is not None:
        return Reading((compared,), ())
    told = read_told(text)
    if told.marks:
        reading = _read(text, told, context)
        if any(item.value is not None for item in reading.found):
            return reading
    return _read(text, Told(text, ()), context)


def _read(text: str, told: Told, context: Context) -> Reading:
    """What a text says, with what was told of how a reading was taken out of it."""
    answered = _ANSWER.sub(lambda found: " " * len(found[0]), told.text)
    ranges = read_by_range(answered, context.findings)
    rest = _without(answered, ranges)
    items, rows = taken_out(settled(read_items(rest, context.findings, context.vocabulary)))
    pieces: list[Piece] = []
    for sentence, first in sentences(items):
        pieces += pieces_of(sentence, context, first)
    pieces = with_feel(with_context(with_neighbours(pieces, context), context), context)
    return _answered(pieces, rows, text, context, told, ranges)


def _without(text: str, ranges: Sequence[ByRange]) -> str:
    """A text with some stretches blanked, letter for letter, as sentences of their own."""
    for stretch in ranges:
        blank = ";" + " " * (stretch.end - stretch.start - 2) + ";"
        text = f"{text[: stretch.start]}{blank}{text[stretch.end :]}"
    return text


def _answered(
    pieces: Sequence[Piece],
    rows: Sequence[Row],
    text: str,
    context: Context,
    told: Told,
    ranges: Sequence[ByRange],
) -> Reading:
    found: list[tuple[int, bool, Understood]] = [
        (row.item.start, True, item) for row in rows for item in speeds_of(row, context.findings)
    ]
    found += [
        (stretch.start, True, replace(item, said=told.text[stretch.start : stretch.end]))
        for stretch in ranges
        for item in stretch.found
    ]
    notes: list[Note] = []
    used = {item for piece in pieces if piece.best for item in piece.items}
    for piece in pieces:
        if piece.best is None:
            if any(item.weight and item not in used for item in piece.own):
                notes.append(Note(_said(piece.own, text)))
            continue
        one = len(piece.best.pattern.gives) == 1
        said = understood(piece.ranked, _said(piece.own, text), context)
        found += [(piece.own[0].start, one, _taken(item, piece, pieces, text, told)) for item in said]
        notes += [Note(item.said) for item in _unread(piece.best, context) if item in piece.own]
        left = [item for item in piece.best.unexplained if item in piece.own]
        if sum(item.weight for item in left) >= _WORTH_A_NOTE:
            notes.append(Note(" … ".join(item.said for item in left)))
    found.sort(key=lambda item: item[0])
    return Reading(agreed(_once(_particular(found)), context.findings), tuple(notes))


def _particular(found: Sequence[tuple[int, bool, Understood]]) -> list[Understood]:
    """What was found, where what is said of one place stands before what is said of all of them.

    "No leaks, wet at the front" is dry in the middle and at the rear.
    """
    alone = {item.finding for _, one, item in found if one}
    return [item for _, one, item in found if one or item.finding not in alone]


def _taken(item: Understood, piece: Piece, pieces: Sequence[Piece], text: str, told: Told) -> Understood:
    """A reading with the instrument and the number of the try that its statement names."""
    if item.value is None or not told.marks:
        return item
    start, end = piece.own[0].start, piece.own[-1].end
    before = max((other.own[-1].end for other in pieces if other.own[-1].end <= start), default=0)
    after = min((other.own[0].start for other in pieces if other.own[0].start >= end), default=len(text))
    marks = told.of(start, end, before, after)
    beside = [mark for mark in marks if before <= mark.start and mark.end <= after]
    start, end = (
        min([start, *(mark.start for mark in beside)]),
        max([end, *(mark.end for mark in beside)]),
    )
    said = {mark.kind: mark.value for mark in marks}
    return replace(item, said=text[start:end].strip(" ,;:"), conditions={**item.conditions, **said})


def _unread(best: Candidate, context: Context) -> list[Item]:
    """Figures that could be the reading of a finding that was answered in words, and so are not used."""
    found: list[Item] = []
    for give in best.pattern.gives:
        shape = context.findings.get(give.finding)
        if give.word is None or shape is None:
            continue
        usual = (None, *measures_of(shape.unit))
        found += [item for item in best.held if item.measure in usual and item not in found]
    rule = context.vocabulary.rules.get(best.pattern.gives[0].finding, ReadingRule())
    return [item for item in found if (item.measure or "") not in rule.conditions]


def _said(items: Sequence[Item], text: str) -> str:
    start, end = min(item.start for item in items), max(item.end for item in items)
    return text[start:end]


def _once(found: Sequence[Understood]) -> tuple[Understood, ...]:
    """Each statement about a finding once, the surest where the same is said twice."""
    kept: dict[tuple[object, ...], Understood] = {}
    for item in found:
        value = item.value.value if item.value else None
        key = (item.finding, item.states, item.word, value, item.conditions.get("try"))
        if key not in kept or kept[key].confidence < item.confidence:
            kept[key] = item
    # A word or a state only judges the figure that stands beside it, and would count it twice.
    figures = {item.finding for item in kept.values() if item.value is not None}
    return tuple(item for item in kept.values() if item.value is not None or item.finding not in figures)
