"""Fragments completed with what the statements beside them say: "slips in third and reverse"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bellhousing.words.figures import measure_of, sharing
from bellhousing.words.item import Item
from bellhousing.words.match import INHERITED, Candidate, Context
from bellhousing.words.pattern import KEPT
from bellhousing.words.pieces import Piece
from bellhousing.words.vocabulary import ReadingRule

_AND = frozenset({"and", "&", "or"})
_SHARED = frozenset({"throttle", "heat"})


_FEEL, _SPEED = "shift-feel-", "upshift-"


def with_feel(pieces: Sequence[Piece], context: Context) -> list[Piece]:
    """Changes found right beside one judged by its feel, taken to be felt too: "2-3 flares, 1-2 ok"."""
    done = list(pieces)
    for place, piece in enumerate(pieces):
        if piece.best is None or piece.best.figure is not None or not _gives(piece, _SPEED, "normal"):
            continue
        if not any(_gives(beside, _FEEL) for beside in _beside(pieces, pieces, place)):
            continue
        items = tuple(
            replace(item, concepts=item.concepts | {"clean"}) if "normal" in item.concepts else item
            for item in piece.items
        )
        ranked = tuple(
            found
            for found in context.candidates(items, context.fitting(items))
            if found.enough and found.pattern.gives[0].finding.startswith(_FEEL)
        )
        if ranked:
            done[place] = Piece(items, ranked, piece.after_hard, items)
    return done


def _gives(piece: Piece, kind: str, word: str | None = None) -> bool:
    """Whether a statement gives a finding of some kind, or one answered with a word."""
    gives = () if piece.best is None else piece.best.pattern.gives
    return any(give.finding.startswith(kind) and (word is None or give.word == word) for give in gives)


def with_neighbours(pieces: list[Piece], context: Context) -> list[Piece]:
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


def _filled(done: Sequence[Piece], place: int, context: Context) -> Piece | None:
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


def _is_reading(piece: Piece, context: Context) -> bool:
    """Whether a statement gives a reading, in figures or in words."""
    if piece.best is None:
        return False
    shape = context.findings.get(piece.best.pattern.gives[0].finding)
    return shape is not None and shape.kind == "reading"


def with_context(pieces: list[Piece], context: Context) -> list[Piece]:
    """Readings whose throttle or heat is said only beside them: "WOT 1-2 at 48, 2-3 at 78"."""
    kinds = context.vocabulary.kinds
    done = list(pieces)
    for place, piece in enumerate(done):
        if piece.best is None or piece.best.figure is None:
            continue
        own = {kinds[concept] for item in piece.items for concept in item.concepts if concept in kinds}
        for beside in _beside(done, done, place):
            ahead = place + 1 < len(done) and beside is done[place + 1]
            if ahead and any(item.kind == "figure" for item in beside.own):
                continue  # its throttle is that of its own figure
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


def _lent(piece: Piece, lent: tuple[Item, ...], context: Context) -> Piece | None:
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
    return Piece(items, ranked, piece.after_hard, piece.own) if explained else None


def _beside(done: Sequence[Piece], pieces: Sequence[Piece], place: int) -> list[Piece]:
    """Statements a fragment may lean on: back to the start of its sentence, nearest first, then the next."""
    found: list[Piece] = []
    back = place
    while back > 0 and not done[back].after_hard:
        back -= 1
        found.append(done[back])
    if place + 1 < len(pieces) and not pieces[place + 1].after_hard:
        ahead = pieces[place + 1]
        bound = bool(ahead.own) and ahead.own[0].led in _AND and ahead.best is not None
        if bound and pieces[place].own and pieces[place].own[0].led == ",":
            return [ahead, *found]  # "slips in first, second and fourth hold"
        found.append(ahead)
    return found


def _completed(piece: Piece, beside: Piece, context: Context, unit_only: bool = False) -> Piece | None:
    """A fragment with what the statement beside it says, or only with the unit of its reading."""
    if piece.own and piece.own[0].led == "otherwise":
        return None  # "wet at the pan, otherwise dry" is not dry at the pan
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
    return Piece(items, ranked, piece.after_hard, piece.own) if ranked else None


def _in_the_same_unit(found: Candidate, lent: Item) -> Candidate:
    """A reading whose bare figure is in the unit that was written beside it: "4 bar at idle, 5 at 1000"."""
    return found if found.figure is None else replace(found, figure=sharing(found.figure, lent))


def _all_conditions(found: Candidate, piece: Piece, context: Context) -> bool:
    """Whether every figure of a fragment is a condition of the finding: "fine at 1000 rpm"."""
    rule = context.vocabulary.rules.get(found.pattern.gives[0].finding, ReadingRule())
    return all(
        item in found.held and (item.measure or "") in rule.conditions
        for item in piece.own
        if item.kind == "figure"
    )


def _unit_read(piece: Piece, context: Context) -> str:
    """The usual unit of the reading a statement gives, which a bare figure beside it shares."""
    if piece.best is None or piece.best.figure is None:
        return ""
    return context.findings[piece.best.pattern.gives[0].finding].unit


def _uses_own(found: Candidate, piece: Piece) -> bool:
    """Whether every word of the fragment itself is explained, and at least one is needed."""
    if any(item in piece.items and item.kind != "unknown" for item in found.unexplained):
        return False
    needed = frozenset().union(*found.pattern.required)
    return found.figure is not None or any(not item.concepts.isdisjoint(needed) for item in piece.items)
