"""A sentence cut into statements, so that as much of its meaning as possible is explained."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from bellhousing.words.item import WEIGHT_FIGURE, Item
from bellhousing.words.match import Candidate, Context
from bellhousing.words.pattern import KEPT, Pattern, literal

_ATOMS_IN_A_PIECE = 7
_PIECE_COST = 0.3
_NOTE_COST = 0.45
# What it costs to read across a comma what can as well be joined by an "and".
_COMMA_COST = 0.1
# A figure judged in one part of a statement is not of a part judged apart from it.
_JUDGEMENTS = frozenset({"normal", "late", "early"})
_TWO_STATEMENTS = 2
# Kinds of meanings at which a reading is taken.
_SETTINGS = frozenset({"revs", "gear", "throttle"})
_STOPS = frozenset({literal(("closed",)), literal(("half",))})


@dataclass(frozen=True)
class Piece:
    """Consecutive items read as one statement; `best` is None where they stay a note."""

    items: tuple[Item, ...]
    ranked: tuple[Candidate, ...]
    after_hard: bool
    own: tuple[Item, ...] = ()
    kept: bool = False

    @property
    def best(self) -> Candidate | None:
        """What explains it best."""
        return self.ranked[0] if self.ranked else None


def sentences(items: Sequence[Item]) -> list[tuple[list[Item], bool]]:
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


def _atoms(sentence: Sequence[Item], kinds: Mapping[str, str]) -> list[list[Item]]:
    """Smallest pieces: between commas and links, and after a figure directly followed by another."""
    found: list[list[Item]] = [[]]
    held: Item | None = None
    for place, item in enumerate(sentence):
        if item.kind == "break":
            found.append([])
            continue
        if item is held:
            found.append([])
        found[-1].append(item)
        if item.kind == "figure":
            rest = sentence[place + 1 :]
            following = next((other for other in rest if other.kind in {"figure", "break"}), None)
            turning = item.measure == "rotation" or (not item.measure and "in_rotation" in item.concepts)
            bare_after_speed = turning and following is not None and not following.measure
            if following is None or following.kind != "figure" or following.after_at or bare_after_speed:
                continue
            if _said_after(item, following, rest, kinds):
                held = following
                continue
            found.append([])
    return [atom for atom in found if any(item.kind != "quiet" for item in atom)]


def _said_after(figure: Item, following: Item, rest: Sequence[Item], kinds: Mapping[str, str]) -> bool:
    """Whether what a figure is of comes after it: "71 idle 93 on the road", not "idle 71 reverse 120"."""
    at = next(place for place, item in enumerate(rest) if item is following)
    between = [item for item in rest[:at] if item.weight]
    tail = next((item for item in rest[at + 1 :] if item.weight or item.kind == "break"), None)
    return len(between) == 1 and tail is not None and _sets(between[0], kinds) and _sets(tail, kinds)


def _sets(item: Item, kinds: Mapping[str, str]) -> bool:
    """Whether a word says how a reading is taken."""
    return any(kinds.get(concept) in _SETTINGS or concept in _STOPS for concept in item.concepts)


def pieces_of(sentence: Sequence[Item], context: Context, after_hard: bool) -> list[Piece]:
    """The cut of a sentence into pieces that explains most (dynamic programming over the atoms)."""
    atoms = _atoms(sentence, context.vocabulary.kinds)
    patterns = context.fitting(sentence)
    best: list[tuple[float, list[Piece]]] = [(0.0, [])]
    for end in range(1, len(atoms) + 1):
        options: list[tuple[float, list[Piece]]] = []
        for start in range(max(0, end - _ATOMS_IN_A_PIECE), end):
            items = tuple(item for atom in atoms[start:end] for item in atom)
            judged = sum(any(_judges(item) for item in atom) for atom in atoms[start:end])
            piece, worth = _piece(items, patterns, context, after_hard and start == 0, judged)
            if piece.best is None and end - start > 1 and worth < 0:
                continue
            across = sum(atom[0].led == "," for atom in atoms[start + 1 : end])
            options.append((best[start][0] + worth - _COMMA_COST * across, [*best[start][1], piece]))
        best.append(max(options, key=lambda option: (option[0], -len(option[1]))))
    return best[-1][1]


def _judges(item: Item) -> bool:
    """Whether a word judges by itself: "line 70 at idle fine, reverse fine" is two statements."""
    return not item.concepts.isdisjoint(_JUDGEMENTS) and item.kind == "word"


def _piece(
    items: tuple[Item, ...],
    patterns: Sequence[Pattern],
    context: Context,
    after_hard: bool,
    judged: int,
) -> tuple[Piece, float]:
    figures = any(item.kind == "figure" and item.weight >= WEIGHT_FIGURE for item in items)
    ranked = tuple(
        found
        for found in context.candidates(items, patterns)
        if found.enough and (judged < _TWO_STATEMENTS or found.cold is not None or not figures)
    )
    if ranked and ranked[0].pattern.gives == (KEPT,):
        return Piece(items, (), after_hard, items, True), 0.0
    if ranked:
        return Piece(items, ranked, after_hard, items), ranked[0].worth - _PIECE_COST
    return Piece(items, (), after_hard, items), -_NOTE_COST * sum(item.weight for item in items)
