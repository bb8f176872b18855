"""What a line of text says: findings with their states or figures, and the notes that stay."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from bellhousing.errors import FindingError
from bellhousing.words.answer import understood
from bellhousing.words.items import Item, items_of
from bellhousing.words.match import INHERITED, Candidate, Context, measure_of, measures_of, sharing
from bellhousing.words.model import FindingShape, Note, Reading, Understood
from bellhousing.words.pattern import KEPT, Pattern
from bellhousing.words.told import Told, read_told
from bellhousing.words.vocabulary import ReadingRule, Vocabulary

LONGEST_TEXT = 4000
_ATOMS_IN_A_PIECE = 7
_PIECE_COST = 0.3
_NOTE_COST = 0.45
_WORTH_A_NOTE = 0.9
_SHARED = frozenset({"throttle", "heat"})


@dataclass(frozen=True)
class _Piece:
    """Consecutive items read as one statement; `best` is None where they stay a note."""

    items: tuple[Item, ...]
    ranked: tuple[Candidate, ...]
    after_hard: bool
    own: tuple[Item, ...] = ()
    kept: bool = False

    @property
    def best(self) -> Candidate | None:
        return self.ranked[0] if self.ranked else None


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
    told = read_told(text)
    if told.marks:
        reading = _read(text, told, context)
        if any(item.value is not None for item in reading.found):
            return reading
    return _read(text, Told(text, ()), context)


def _read(text: str, told: Told, context: Context) -> Reading:
    """What a text says, with what was told of how a reading was taken out of it."""
    items = items_of(told.text, context.vocabulary)
    pieces: list[_Piece] = []
    for sentence, first in _sentences(items):
        pieces += _pieces(sentence, context, first)
    pieces = _with_context(_with_neighbours(pieces, context), context)
    return _answered(pieces, text, context, told)


def _sentences(items: Sequence[Item]) -> list[tuple[list[Item], bool]]:
    """Items between full stops, semicolons and line ends."""
    found: list[tuple[list[Item], bool]] = []
    row: list[Item] = []
    for item in items:
        if item.hard:
            found.append((row, True))
            row = []
        else:
            row.append(item)
    found.append((row, True))
    return [(row, hard) for row, hard in found if any(item.kind != "break" for item in row)]


def _atoms(sentence: Sequence[Item]) -> list[list[Item]]:
    """Smallest pieces: between commas and links, and after a figure directly followed by another."""
    found: list[list[Item]] = [[]]
    for place, item in enumerate(sentence):
        if item.kind == "break":
            found.append([])
            continue
        found[-1].append(item)
        if item.kind == "figure":
            rest = sentence[place + 1 :]
            following = next((other for other in rest if other.kind in {"figure", "break"}), None)
            bare_after_speed = item.measure == "rotation" and following is not None and not following.measure
            if (
                following is not None
                and following.kind == "figure"
                and not following.after_at
                and not bare_after_speed
            ):
                found.append([])
    return [atom for atom in found if any(item.kind != "quiet" for item in atom)]


def _pieces(sentence: Sequence[Item], context: Context, after_hard: bool) -> list[_Piece]:
    """The cut of a sentence into pieces that explains most (dynamic programming over the atoms)."""
    atoms = _atoms(sentence)
    patterns = context.fitting(sentence)
    best: list[tuple[float, list[_Piece]]] = [(0.0, [])]
    for end in range(1, len(atoms) + 1):
        options: list[tuple[float, list[_Piece]]] = []
        for start in range(max(0, end - _ATOMS_IN_A_PIECE), end):
            items = tuple(item for atom in atoms[start:end] for item in atom)
            piece, worth = _piece(items, patterns, context, after_hard and start == 0)
            if piece.best is None and end - start > 1 and worth < 0:
                continue
            options.append((best[start][0] + worth, [*best[start][1], piece]))
        best.append(max(options, key=lambda option: (option[0], -len(option[1]))))
    return best[-1][1]


def _piece(
    items: tuple[Item, ...], patterns: Sequence[Pattern], context: Context, after_hard: bool
) -> tuple[_Piece, float]:
    ranked = tuple(found for found in context.candidates(items, patterns) if found.enough)
    if ranked and ranked[0].pattern.gives == (KEPT,):
        return _Piece(items, (), after_hard, items, True), 0.0
    if ranked:
        return _Piece(items, ranked, after_hard, items), ranked[0].worth - _PIECE_COST
    return _Piece(items, (), after_hard, items), -_NOTE_COST * sum(item.weight for item in items)


def _with_neighbours(pieces: list[_Piece], context: Context) -> list[_Piece]:
    """Fragments completed with what the statement beside them says: "slips in third and reverse"."""
    done = list(pieces)
    changed = True
    while changed:
        changed = False
        for place, piece in enumerate(done):
            if (
                piece.best is not None
                or piece.kept
                or not any(item.weight and item.kind != "unknown" for item in piece.items)
            ):
                continue
            filled = _filled(done, place, context)
            if filled is not None:
                done[place] = filled
                changed = True
    return done


def _filled(done: Sequence[_Piece], place: int, context: Context) -> _Piece | None:
    """A fragment completed by the first neighbour that can; what comes after it lends its unit first."""
    piece = done[place]
    for beside in _beside(done, done, place):
        ahead = place + 1 < len(done) and beside is done[place + 1]
        filled = (_completed(piece, beside, context, True) if ahead else None) or _completed(
            piece, beside, context
        )
        if filled is not None:
            return filled
    if place and piece.after_hard and _is_reading(done[place - 1], context):
        # A new sentence without a subject goes on about the reading of the last one.
        return _completed(piece, done[place - 1], context)
    return None


def _is_reading(piece: _Piece, context: Context) -> bool:
    """Whether a statement gives a reading, in figures or in words."""
    if piece.best is None:
        return False
    shape = context.findings.get(piece.best.pattern.gives[0].finding)
    return shape is not None and shape.kind == "reading"


def _with_context(pieces: list[_Piece], context: Context) -> list[_Piece]:
    """Readings whose throttle or heat is said only beside them: "WOT 1-2 at 48, 2-3 at 78"."""
    kinds = context.vocabulary.kinds
    done = list(pieces)
    for place, piece in enumerate(done):
        if piece.best is None or piece.best.figure is None:
            continue
        own = {kinds[concept] for item in piece.items for concept in item.concepts if concept in kinds}
        for beside in _beside(done, done, place):
            lent = tuple(
                item
                for item in beside.own
                for kind in [
                    next((kinds[c] for c in item.concepts if c in kinds and kinds[c] in _SHARED), None)
                ]
                if kind is not None and kind not in own and item.kind == "word"
            )
            filled = _lent(piece, lent, context) if lent and beside.best is not None else None
            if filled is not None:
                done[place] = filled
                break
    return done


def _lent(piece: _Piece, lent: tuple[Item, ...], context: Context) -> _Piece | None:
    items = (*lent, *piece.items)
    ranked = tuple(context.candidates(items, context.fitting(items), len(lent)))
    if (
        not ranked
        or piece.best is None
        or ranked[0].figure is not piece.best.figure
        or not ranked[0].plausible
    ):
        return None
    explained = not any(item in lent for item in ranked[0].unexplained)
    return _Piece(items, ranked, piece.after_hard, piece.own) if explained else None


def _beside(done: Sequence[_Piece], pieces: Sequence[_Piece], place: int) -> list[_Piece]:
    """Statements a fragment may lean on: back to the start of its sentence, nearest first, then the next."""
    found: list[_Piece] = []
    back = place
    while back > 0 and not done[back].after_hard:
        back -= 1
        found.append(done[back])
    if place + 1 < len(pieces) and not pieces[place + 1].after_hard:
        found.append(pieces[place + 1])
    return found


def _completed(piece: _Piece, beside: _Piece, context: Context, unit_only: bool = False) -> _Piece | None:
    """A fragment with what the statement beside it says, or only with the unit of its reading."""
    kinds = context.vocabulary.kinds
    own = {kinds[concept] for item in piece.items for concept in item.concepts if concept in kinds}
    if any("in_rotation" in item.concepts for item in piece.items):
        own.add("revs")
    figures = any(item.kind == "figure" for item in piece.items)
    borrowed = tuple(
        item
        for item in beside.items
        if not unit_only
        and item.weight
        and item.kind not in {"figure", "unknown", "not"}
        and not any(kinds.get(concept) in own for concept in item.concepts)
    )
    bare = any(item.kind == "figure" and item.measure is None for item in piece.own)
    unit = _unit_read(beside, context) if bare else ""
    if unit:
        place = piece.own[0].start
        borrowed += (Item("word", place, place, frozenset({measure_of(unit)}), INHERITED),)
    if not borrowed or (not figures and beside.best is None):
        return None
    items = (*borrowed, *piece.items)
    ranked = tuple(
        found
        for found in context.candidates(items, context.fitting(items), len(borrowed))
        if found.plausible
        and found.coverage >= 0.7
        and ((found.figure is not None) == figures or _all_conditions(found, piece, context))
        and found.pattern.gives != (KEPT,)
        and _uses_own(found, piece)
        and (not unit or unit == context.findings[found.pattern.gives[0].finding].unit)
    )
    lent = beside.best.figure if unit and beside.best is not None else None
    if lent is not None and lent.unit is not None:
        ranked = tuple(_in_the_same_unit(found, lent) for found in ranked)
    return _Piece(items, ranked, piece.after_hard, piece.own) if ranked else None


def _in_the_same_unit(found: Candidate, lent: Item) -> Candidate:
    """A reading whose bare figure is in the unit that was written beside it: "4 bar at idle, 5 at 1000"."""
    return found if found.figure is None else replace(found, figure=sharing(found.figure, lent))


def _all_conditions(found: Candidate, piece: _Piece, context: Context) -> bool:
    """Whether every figure of a fragment is a condition of the finding: "fine at 1000 rpm"."""
    rule = context.vocabulary.rules.get(found.pattern.gives[0].finding, ReadingRule())
    return all(
        item in found.held and (item.measure or "") in rule.conditions
        for item in piece.own
        if item.kind == "figure"
    )


def _unit_read(piece: _Piece, context: Context) -> str:
    """The usual unit of the reading a statement gives, which a bare figure beside it shares."""
    if piece.best is None or piece.best.figure is None:
        return ""
    return context.findings[piece.best.pattern.gives[0].finding].unit


def _uses_own(found: Candidate, piece: _Piece) -> bool:
    """Whether every word of the fragment itself is explained, and at least one is needed."""
    if any(item in piece.items and item.kind != "unknown" for item in found.unexplained):
        return False
    needed = frozenset().union(*found.pattern.required)
    return found.figure is not None or any(not item.concepts.isdisjoint(needed) for item in piece.items)


def _answered(pieces: Sequence[_Piece], text: str, context: Context, told: Told) -> Reading:
    found: list[Understood] = []
    notes: list[Note] = []
    used = {item for piece in pieces if piece.best for item in piece.items}
    for piece in pieces:
        if piece.best is None:
            if any(item.weight and item not in used for item in piece.own):
                notes.append(Note(_said(piece.own, text)))
            continue
        found += [
            _taken(item, piece, pieces, text, told)
            for item in understood(piece.ranked, _said(piece.own, text), context)
        ]
        notes += [Note(item.said) for item in _unread(piece.best, context) if item in piece.own]
        left = [item for item in piece.best.unexplained if item in piece.own]
        if sum(item.weight for item in left) >= _WORTH_A_NOTE:
            notes.append(Note(" … ".join(item.said for item in left)))
    return Reading(_once(found), tuple(notes))


def _taken(item: Understood, piece: _Piece, pieces: Sequence[_Piece], text: str, told: Told) -> Understood:
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
