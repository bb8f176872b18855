"""What a piece of text says of the conditions a finding was seen under: engine speed, vacuum, hot or cold."""

from __future__ import annotations

from collections.abc import Sequence

from bellhousing.words.figures import USUAL
from bellhousing.words.item import LEAST_RPM, Item, in_unit, number_of
from bellhousing.words.pattern import Pattern
from bellhousing.words.vocabulary import ReadingRule

# Words that say at which temperature something is so.
WARMTH = ("hot", "cold")
# The share of a condition's weight that counts towards a finding that does not depend on it.
LOOSE = 0.7
_CONDITION_NAMES = {
    "rotation": "rpm", "speed": "speed", "temperature": "temperature", "vacuum": "vacuum",
    "duration": "after", "distance": "after", "time": "time", "since": "since",
    "volume": "amount",
}  # fmt: skip


def conditions_of(
    items: Sequence[Item],
    rule: ReadingRule,
    values: tuple[Item, ...],
    alone: bool,
    whole: Sequence[frozenset[str]] = (),
) -> dict[Item, tuple[str, float]] | None:
    """Figures that are conditions of the finding, or None where one says that it is another finding."""
    found: dict[Item, tuple[str, float]] = {}
    met: set[str] = set()
    for item in items:
        if item.kind != "figure" or item in values:
            continue
        measure = item.measure
        if whole and any(not choice.isdisjoint(item.concepts) for choice in whole):
            continue
        if measure == "inches" and "vacuum" in rule.conditions:
            measure = "vacuum"
        if measure is None and (values or item.after_at):
            measure = _bare_measure(item, rule)
        if measure is not None and measure in rule.conditions:
            (low, high), _ = rule.conditions[measure]
            if not low <= in_unit(item, USUAL.get(measure, "")) <= high:
                return None
            found[item] = (_CONDITION_NAMES.get(measure, measure), 1.0)
            met.add(measure)
        elif item.measure is None and item.after_at and not values:
            found[item] = ("at", LOOSE)
        elif item.measure in _CONDITION_NAMES and not (not values and item.measure == "time"):
            found[item] = (_CONDITION_NAMES[item.measure], LOOSE)
    if alone and any(needed and measure not in met for measure, (_, needed) in rule.conditions.items()):
        return None
    return found


def warmth_of(pattern: Pattern, items: Sequence[Item]) -> str:
    """At which temperature it is so, where one is named and is no part of the finding: "slips when hot"."""
    there = [item for item in items if item.kind == "word" and not item.concepts.isdisjoint(WARMTH)]
    named = {name for item in there for name in WARMTH if name in item.concepts}
    needed = frozenset().union(*pattern.required)
    if len(named) != 1 or any(not item.concepts.isdisjoint(needed) for item in there):
        return ""
    return named.pop()


def _bare_measure(item: Item, rule: ReadingRule) -> str | None:
    """What a condition without a unit measures, where only one thing is likely."""
    figure = number_of(item)
    if figure >= LEAST_RPM:
        return "rotation" if "rotation" in rule.conditions else None
    for measure in ("speed", "vacuum", "rotation"):
        if measure in rule.conditions:
            return measure
    return None
