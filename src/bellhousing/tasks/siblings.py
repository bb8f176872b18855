"""What else a reading could have been: the same measure in another range, warmth or throttle."""

from __future__ import annotations

from collections.abc import Iterable

from bellhousing.diagnosis.prepare import Prepared
from bellhousing.quantities.units import to_si, unit
from bellhousing.tasks.answers import Alternative, FindingAnswer

MOST = 3


def with_siblings(prepared: Prepared, answer: FindingAnswer) -> FindingAnswer:
    """A reading with the findings that differ from it in one word of their name, where it could be them.

    Something that was assumed is what a tap puts right; words that were near ties come before.
    """
    near = tuple(_siblings(prepared, answer))
    offered = {other.finding for other in answer.alternatives}
    more = tuple(other for other in near if other.finding not in offered)
    return (
        answer.model_copy(update={"alternatives": (*answer.alternatives, *more)[:MOST]}) if more else answer
    )


def _siblings(prepared: Prepared, answer: FindingAnswer) -> Iterable[Alternative]:
    known = prepared.catalogue.findings
    own = known.get(answer.finding or "")
    if own is None or answer.unit is None or not isinstance(answer.value, float | int):
        return
    value, dimension = float(to_si(answer.value, answer.unit)), unit(answer.unit).dimension
    words = own.id.split("-")
    for other in known.values():
        if other.kind != "reading" or other.unit is None or other.id == own.id:
            continue
        theirs = other.id.split("-")
        differ = sum(mine != their for mine, their in zip(words, theirs, strict=False))
        if len(theirs) != len(words) or differ != 1 or unit(other.unit).dimension != dimension:
            continue
        low, high = other.possible or (value, value)
        if low <= value <= high and (other.part is None or other.part not in prepared.box.missing_parts):
            yield Alternative(finding=other.id, name=other.name)
