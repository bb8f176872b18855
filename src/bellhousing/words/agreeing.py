"""Two statements of one line about the same finding, brought into one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from bellhousing.words.model import FindingShape, Understood


def agreed(found: Sequence[Understood], shapes: Mapping[str, FindingShape]) -> tuple[Understood, ...]:
    """Each finding of states once: what its statements allow together, else what is not unremarkable.

    "Red, no smell" is red; "the lever is sloppy but lines up" is sloppy, for the most conspicuous is what is
    seen. Where two remarkable states are told of one finding both stand, and the last counts.
    """
    kept: list[Understood] = []
    for item in found:
        place = next((at for at, other in enumerate(kept) if _of_one(other, item)), None)
        shape = shapes.get(item.finding)
        one = None if place is None or shape is None else _one(kept[place], item, shape)
        if place is None or one is None:
            kept.append(item)
        else:
            kept[place] = one
    return tuple(kept)


def _of_one(other: Understood, item: Understood) -> bool:
    return bool(other.states and item.states) and other.finding == item.finding and other.value is None


def _one(first: Understood, second: Understood, shape: FindingShape) -> Understood | None:
    both = tuple(state for state in first.states if state in second.states)
    if both:
        nearer = first if len(first.states) <= len(second.states) else second
        return replace(nearer, states=both)
    unremarkable = shape.states[:1]
    if first.states == unremarkable:
        return second
    return first if second.states == unremarkable else None
