"""What a "not" in a piece of text denies of what a pattern says, and what it leaves as it is."""

from __future__ import annotations

from collections.abc import Sequence

from bellhousing.words.item import Item
from bellhousing.words.model import FindingShape
from bellhousing.words.pattern import Give, Pattern

# What is felt in each range by itself, and may be right in one and missing in another.
_BY_RANGE = frozenset({"enginebrake"})


def follows_not(wanted: frozenset[str], items: Sequence[Item]) -> bool:
    """Whether a "not" stands directly before one of some meanings."""
    after_not = False
    for item in items:
        if item.kind == "not":
            after_not = True
        elif item.weight:
            if after_not and not item.concepts.isdisjoint(wanted):
                return True
            after_not = False
    return False


def denied(pattern: Pattern, items: Sequence[Item]) -> bool:
    """Whether every "not" denies what the pattern says: "no bother, hose dry" leaves the hose as it is.

    Either a word of the pattern comes after it in its own part of the statement, or all of the pattern does.
    What is found right in a part of its own is not denied: "no braking in second, low ok".
    """
    if _right_apart(pattern, items):
        return False
    for place, denial in enumerate(items):
        if denial.kind != "not":
            continue
        part = [item for item in items if item.part == denial.part]
        after = [item for item in items[place + 1 :] if item.part == denial.part]
        if any(not item.concepts.isdisjoint(pattern.concepts) for item in after):
            continue
        known = all(item.kind != "unknown" for item in after)
        whole = all(any(not choice.isdisjoint(item.concepts) for item in part) for choice in pattern.required)
        last = not any(item.weight for item in after)
        if not (known and whole) and not (last and any(item.weight for item in part if item is not denial)):
            return False
    return True


def _right_apart(pattern: Pattern, items: Sequence[Item]) -> bool:
    """Whether a word that judges for the pattern stands in a part that nothing denies."""
    denied = {item.part for item in items if item.kind == "not"}
    needed = frozenset().union(*pattern.required)
    return not needed.isdisjoint(_BY_RANGE) and any(
        "normal" in item.concepts and item.part not in denied and not item.concepts.isdisjoint(needed)
        for item in items
    )


def _reaches(items: Sequence[Item], place: int, item: Item, pattern: Pattern) -> bool:
    """Whether a "not" at a place denies a later word: "no slipping, reverse good" denies the slipping."""
    denial = items[place]
    if denial.kind != "not":
        return False
    own = [word for word in items[place + 1 :] if word.part == denial.part and word.weight]
    return item.part == denial.part or all(not word.concepts.isdisjoint(pattern.concepts) for word in own)


def _judged_apart(pattern: Pattern, items: Sequence[Item]) -> bool:
    """Whether what a pattern needs stands in a part found right: "no drive in reverse, forward fine"."""
    if any("normal" in choice or "works" in choice for choice in pattern.required):
        return False
    denied = {item.part for item in items if item.kind == "not"}
    right = {item.part for item in items if "normal" in item.concepts} - denied
    needed = frozenset().union(*pattern.required)
    return any(item.part in right and not item.concepts.isdisjoint(needed) for item in items)


def denies(pattern: Pattern, items: Sequence[Item]) -> bool:
    """Whether a "not" denies what a pattern denies: "cherry red, no smell" does not say "not red"."""
    if _judged_apart(pattern, items):
        return False
    for place, item in enumerate(items):
        if all(choice.isdisjoint(item.concepts) for choice in pattern.negated):
            continue
        if any(_reaches(items, back, item, pattern) for back in range(place)):
            return True
        for after, other in enumerate(items[place + 1 :], place + 1):
            if other.kind == "not" and other.part == item.part:
                rest = next((word for word in items[after + 1 :] if word.weight), None)
                if rest is None or rest.part != item.part or not rest.concepts.isdisjoint(pattern.concepts):
                    return True
    return False


def denied_here(pattern: Pattern, items: Sequence[Item]) -> bool:
    """Whether a "not" stands alone in its part, or beside a word of the pattern."""
    for denial in items:
        if denial.kind != "not":
            continue
        beside = [item for item in items if item.part == denial.part and item.weight and item is not denial]
        if not beside or any(not item.concepts.isdisjoint(pattern.concepts) for item in beside):
            return True
    return False


def only_judged(pattern: Pattern, items: Sequence[Item]) -> bool:
    """Whether every "not" denies a word that only judges the figure: "not high, 44 psi"."""
    after_not = False
    for item in items:
        if item.kind == "not":
            after_not = True
        elif item.weight and after_not:
            if item.concepts.isdisjoint(pattern.judging):
                return False
            after_not = False
    return not after_not


def can_turn(shape: FindingShape, give: Give) -> bool:
    """Whether "not" in front of what a pattern says leaves some other state of the finding."""
    return shape.kind == "states" and bool(give.states) and len(give.states) < len(shape.states)
