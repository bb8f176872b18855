"""Rows of shift speeds: "changes at 8, 15 and 22 with a light foot" gives a figure for each change up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from bellhousing.quantities.parse import parse_measured
from bellhousing.words.item import Item
from bellhousing.words.items import items_of
from bellhousing.words.model import FindingShape, Understood
from bellhousing.words.pattern import literal
from bellhousing.words.vocabulary import Vocabulary

_STEPS = ("12", "23", "34")
_THROTTLES = ("light", "medium", "full")
_SHIFTS = frozenset({"shift", "shiftspeeds"})
_TOPIC = frozenset({*_SHIFTS, *_THROTTLES, "throttle"})
# What else may be said in the clause of a row and is told by its figures already.
_TOLD = frozenset({*_TOPIC, "late", "early", "normal", "high", "low", "every", "in_speed", "only"})
# What a row of figures may be of instead, and the throttle for which no change up is kept.
_OTHERWISE = frozenset(
    {"line", "pressure", "governor", "govpressure", "gfirst", "gtwo", "gboth", "tv", "vacuum", "stall",
     "revs", "needle", "coast", "downshift", "kickdown", "deep", "engage", "temperature", "idle", "engine",
     "in_pressure", "in_rotation", "in_time", "in_vacuum", "in_volume"}
)  # fmt: skip
_NAMED = frozenset({"shift12", "shift23", "shift34", "shift21", "shift32", "shift43"})
_UNTIL = frozenset({literal((word,)) for word in ("till", "until", "before")})
_CONFIDENCE, _CONFIDENCE_ASSUMED = 0.9, 0.75
_LIGHT = "taken as light throttle"


@dataclass(frozen=True)
class Row:
    """A row of shift speeds, at which throttle, and whether the throttle was said."""

    item: Item
    throttle: str
    throttle_said: bool


def changes_up(findings: Mapping[str, FindingShape]) -> int:
    """How many changes up a box has, by the findings it can have."""
    return sum(f"upshift-{step}-light" in findings for step in _STEPS)


def read_items(text: str, findings: Mapping[str, FindingShape], vocabulary: Vocabulary) -> list[Item]:
    """The items of a text, where only what can be a row of shift speeds is taken for one."""
    count, single = changes_up(findings), frozenset[int]()
    while True:
        items = items_of(text, vocabulary, count, single)
        refused = {item.start for item in items if item.kind == "series" and _row(items, item) is None}
        if not refused - single:
            return items
        single |= refused


def taken_out(items: Sequence[Item]) -> tuple[list[Item], list[Row]]:
    """The rows of shift speeds among some items, and the items without them and what belongs to them."""
    rows: list[Row] = []
    told: set[int] = set()
    for place, item in enumerate(items):
        if item.kind != "series":
            continue
        row = _row(items, item)
        if row is None:
            continue
        rows.append(row)
        start, end = _clause(items, place)
        told |= {place, *_told(items, start, end)}
        outside = _throttle_place(items, place)
        if outside is not None and not start <= outside < end:
            first, last = _clause(items, outside)
            if all(_is_told(other) for other in items[first:last]):
                told |= set(range(first, last))
    rest = [
        replace(item, kind="break", concepts=frozenset(), weight=0.0)
        if item.kind == "series"
        else replace(item, kind="quiet", concepts=frozenset(), weight=0.0)
        if place in told
        else item
        for place, item in enumerate(items)
    ]
    return rest, rows


def speeds_of(row: Row, findings: Mapping[str, FindingShape]) -> list[Understood]:
    """The findings of a row, one for each change up."""
    found: list[Understood] = []
    for step, figure in zip(_STEPS, row.item.steps, strict=False):
        shape = findings.get(f"upshift-{step}-{row.throttle}")
        if shape is None:
            continue
        value = parse_measured(
            f"{figure} {row.item.unit or ''}".strip(), usual_unit=shape.unit, possible=shape.possible
        )
        assumed: tuple[str, ...] = () if row.throttle_said else (_LIGHT,)
        assumed += (f"taken as {value.unit}",) if value.unit_assumed else ()
        sure = _CONFIDENCE if row.throttle_said else _CONFIDENCE_ASSUMED
        found.append(Understood(row.item.said, shape.id, (), None, value, {}, sure, (), assumed))
    return found


def _row(items: Sequence[Item], item: Item) -> Row | None:
    """What a row of figures says, or None where it is not of changes up."""
    place = next(place for place, other in enumerate(items) if other is item)
    start, end = _clause(items, place)
    first, last = _sentence(items, place)
    clause = items[start:end]
    if any(not other.concepts.isdisjoint(_NAMED) for other in items[first:last]):
        return None
    if any(not other.concepts.isdisjoint(_OTHERWISE) and not _of_shift(other) for other in clause):
        return None
    if any("deep" in other.concepts for other in clause):
        return None
    if any(other.kind == "not" for other in clause) and not any(
        not other.concepts.isdisjoint(_UNTIL) for other in clause
    ):
        return None
    if not any(_of_shift(other) for other in clause) and not _topic_beside(items, start, first):
        return None
    at = _throttle_place(items, place)
    throttle = "light" if at is None else _throttle(items[at])
    return Row(item, throttle, at is not None)


def _of_shift(item: Item) -> bool:
    return not item.concepts.isdisjoint(_TOPIC)


def _topic_beside(items: Sequence[Item], start: int, first: int) -> bool:
    """Whether the nearest clause before that has a subject speaks of changes up."""
    for item in reversed(items[first:start]):
        if _of_shift(item) or item.kind == "series":
            return True
        if not item.concepts.isdisjoint(_OTHERWISE):
            return False
    return False


def _parts(item: Item) -> bool:
    """Whether a break parts two clauses: "with a light foot" belongs to what stands before it."""
    return item.kind == "break" and item.said.lower() != "with"


def _clause(items: Sequence[Item], place: int) -> tuple[int, int]:
    """The places between the breaks round a place."""
    start = end = place
    while start > 0 and not _parts(items[start - 1]):
        start -= 1
    while end < len(items) and not _parts(items[end]):
        end += 1
    return start, end


def _sentence(items: Sequence[Item], place: int) -> tuple[int, int]:
    start = end = place
    while start > 0 and not items[start - 1].hard:
        start -= 1
    while end < len(items) and not items[end].hard:
        end += 1
    return start, end


def _throttle_place(items: Sequence[Item], place: int) -> int | None:
    """Where the throttle of a row is said: just before it, else after it, else before it in the sentence."""
    start, end = _clause(items, place)
    first, _ = _sentence(items, place)
    just_before = place - 1
    while just_before >= start and not items[just_before].weight:
        just_before -= 1
    if just_before >= start and _throttle(items[just_before]):
        return just_before
    for after in range(place + 1, end):
        if items[after].kind in {"series", "figure"}:
            break
        if _throttle(items[after]):
            return after
    return next((back for back in range(place - 1, first - 1, -1) if _throttle(items[back])), None)


def _throttle(item: Item) -> str:
    return next((name for name in reversed(_THROTTLES) if name in item.concepts), "")


def _told(items: Sequence[Item], start: int, end: int) -> set[int]:
    """Places in the clause of a row that its figures tell already."""
    return {place for place in range(start, end) if _is_told(items[place]) or items[place].kind == "not"}


def _is_told(item: Item) -> bool:
    return not item.weight or not item.concepts.isdisjoint(_TOLD)
