"""The book of the work on a job: entries of a few kinds, only ever added, corrections pointing at the old."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from math import isfinite
from typing import Any

from bellhousing.errors import RecordError

AS_DRAWN = "as-drawn"
WITHDRAWN = "withdrawn"
LONGEST_TEXT = 2000
LONGEST_NAME = 200
MOST_SLOTS = 60
MOST_COUNT = 1000

EXCEPTIONS = ("missing-on-arrival", "wrong-length", "stripped", "shared-and-out", "other")
ANSWERS = ("refitted", "replaced", "thread-insert", "reason")
DECLINED = ("no-access", "no-instrument", "already-apart", "not-worth-it", "owner-declined")
DECISIONS = ("reuse", "replace", "machine")
STATUSES = ("to-order", "ordered", "sent", "arrived", "fitted", "returned", "cancelled")
CHECKS = ("same", "differs", "no-old-part")
OLD_PARTS = ("kept", "offered", "taken-by-owner", "declined", "sent-in-exchange", "scrapped")
STAGES = ("diagnose", "open", "repair")
PRICED = ("part", "fluid", "outside-work", "other")
MONEY = re.compile(r"\d{1,7}(\.\d{1,2})?")
EXACT = re.compile(r"\d{1,4}(\.\d{1,4})?")

Check = Callable[[Any], bool]


def _text(value: Any) -> bool:
    """some words, not too many"""
    return isinstance(value, str) and bool(value.strip()) and len(value) <= LONGEST_TEXT


def _any_text(value: Any) -> bool:
    """words, not too many"""
    return isinstance(value, str) and len(value) <= LONGEST_TEXT


def _count(value: Any) -> bool:
    """a whole number from 0 to 1000"""
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= MOST_COUNT


def _slots(value: Any) -> bool:
    """the numbers of the holes or pockets, or as-drawn"""
    if value == AS_DRAWN:
        return True
    listed = isinstance(value, list | tuple) and 0 < len(value) <= MOST_SLOTS
    return listed and all(_count(one) and one > 0 for one in value)


def _money(value: Any) -> bool:
    """a sum like 420 or 420.50"""
    return isinstance(value, str) and MONEY.fullmatch(value) is not None


def _exact(value: Any) -> bool:
    """a figure like 2.5"""
    return isinstance(value, str) and EXACT.fullmatch(value) is not None


def _day(value: Any) -> bool:
    """a day like 2026-06-30, or nothing"""
    try:
        return bool(value == "" or str(date.fromisoformat(value)) == value)
    except (TypeError, ValueError):
        return False


def _number(value: Any) -> bool:
    """a figure in SI units"""
    return isinstance(value, int | float) and not isinstance(value, bool) and isfinite(value)


def _flag(value: Any) -> bool:
    """yes or no"""
    return isinstance(value, bool)


def _one_of(*choices: str) -> Check:
    def check(value: Any) -> bool:
        return value in choices

    check.__doc__ = f"one of: {', '.join(choices)}"
    return check


@dataclass(frozen=True)
class Kind:
    """One kind of entry: the fields it needs, those it may have, None where it may have any."""

    needs: Mapping[str, Check] = field(default_factory=dict)
    may: Mapping[str, Check] | None = field(default_factory=dict)


_NOTE: Mapping[str, Check] = {"note": _any_text}
_SLOT: Mapping[str, Check] = {"hole": _count, "pocket": _count}
_ORDER: Mapping[str, Check] = {
    "supplier": _any_text,
    "price": _money,
    "promised": _day,
    "note": _any_text,
}
_YES: Mapping[str, Check] = {"sum": _money, "by": _text, "how": _text}

KINDS: Mapping[str, Kind] = {
    "aim": Kind({"parts": _text}),
    "bolts-out": Kind({"holes": _slots}, _NOTE),
    "bolts-bagged": Kind({"holes": _slots, "tag": _text}, {"place": _any_text, **_NOTE}),
    "bolts-back": Kind({"holes": _slots}, _NOTE),
    "exception": Kind({"what": _one_of(*EXCEPTIONS)}, {**_SLOT, **_NOTE, "where_now": _any_text}),
    "cleared": Kind({"how": _one_of(*ANSWERS)}, {**_SLOT, **_NOTE, "what": _one_of(*EXCEPTIONS)}),
    "part-off": Kind(may=_NOTE),
    "part-on": Kind(may=_NOTE),
    "ball-out": Kind({"pockets": _slots}, _NOTE),
    "ball-back": Kind({"pockets": _slots}, _NOTE),
    "one-use-replaced": Kind({"what": _text, "count": _count}, _NOTE),
    "jack-bolts-in": Kind({"count": _count}, _NOTE),
    "jack-bolts-out": Kind({"left": _count}, _NOTE),
    "baseline": Kind({"measure": _text, "value": _text}, _NOTE),
    "baseline-declined": Kind({"measure": _text, "reason": _one_of(*DECLINED)}, _NOTE),
    "bag": Kind({"place": _text}, {"flange": _any_text, **_NOTE}),
    "photo": Kind({"digest": _text}, {"caption": _any_text, **_NOTE}),
    "reason": Kind({"text": _text, "covers": _text}),
    "part-finding": Kind(
        {"condition": _text, "decision": _one_of(*DECISIONS)},
        {"reason": _any_text, "number": _any_text, "measure": _any_text, **_NOTE},
    ),
    "order": Kind(
        {"name": _text, "count": _count, "hardness": _one_of("soft", "hard")},
        {"why": _any_text, "part": _any_text, **_ORDER},
    ),
    "order-status": Kind({"status": _one_of(*STATUSES)}, _ORDER),
    "arrived": Kind({"check": _one_of(*CHECKS)}, _NOTE),
    "old-part": Kind({"what": _one_of(*OLD_PARTS)}, _NOTE),
    "identification": Kind({"value": _text}, _NOTE),
    "gate": Kind(may={"value": _number, "unit": _any_text, "text": _any_text, "done": _flag, **_NOTE}),
    "torque": Kind({"step": _count}, _NOTE),
    "authority": Kind(
        _YES, {"when": _any_text, "hours_low": _exact, "hours_high": _exact, "works": _any_text, **_NOTE}
    ),
    "variation": Kind({**_YES, "why": _text}, {"when": _any_text, **_NOTE}),
    "hours": Kind({"hours": _exact, "what": _text}, _NOTE),
    "price": Kind({"what": _text, "sum": _money}, _NOTE),
    "terms": Kind(may={"rate": _money, "tax": _exact, "before": _any_text, "after": _any_text}),
    WITHDRAWN: Kind({"reason": _text}),
}
SUBJECTS: Mapping[str, tuple[str, ...]] = {"authority": STAGES, "price": PRICED}


@dataclass(frozen=True, kw_only=True)
class WorkEntry:
    """One entry of a job's book of work.

    Parameters
    ----------
    id : its number in the book, None until it is kept
    job : number of the job
    at : when, with its time zone
    who : who did it
    kind : what sort of entry, one of `KINDS`
    subject : what it is about: a flange, a part, a bag, a line of an order, a stage
    data : the rest, as plain data
    supersedes : number of the entry it corrects or withdraws, None if it stands by itself
    key : made by the sender, so that sending it twice keeps it once
    """

    job: int
    at: datetime
    who: str
    kind: str
    subject: str
    data: Mapping[str, Any] = field(default_factory=dict)
    supersedes: int | None = None
    key: str | None = None
    id: int | None = None

    def text(self, name: str) -> str:
        """Return a field as text, empty if it is not there."""
        return str(self.data.get(name, ""))

    def sum_of(self, name: str) -> Decimal | None:
        """Return a field as an exact figure, None if it is not there."""
        return Decimal(str(self.data[name])) if name in self.data else None


def check_work_entry(entry: WorkEntry) -> None:
    """Refuse an entry of no known kind, or with fields its kind does not have.

    Raises
    ------
    RecordError : what is wrong with it
    """
    where = f"{entry.kind[:40]} of {entry.subject[:60]}"
    kind = KINDS.get(entry.kind)
    if kind is None:
        raise RecordError(f"there is no entry of the kind '{entry.kind[:40]}'")
    if not 0 < len(entry.subject.strip()) <= LONGEST_NAME:
        raise RecordError("an entry is about something", where=entry.kind, remedy="name what it is about")
    if not 0 < len(entry.who.strip()) <= LONGEST_NAME:
        raise RecordError("nobody is named", where=where, remedy="say who did it")
    allowed = SUBJECTS.get(entry.kind)
    if allowed is not None and entry.subject not in allowed:
        raise RecordError(
            f"no {entry.kind} for that", where=where, remedy=f"say one of: {', '.join(allowed)}"
        )
    if (entry.kind == WITHDRAWN) and entry.supersedes is None:
        raise RecordError("a withdrawal is of an earlier entry", where=where)
    missing = [name for name in kind.needs if name not in entry.data]
    if missing:
        raise RecordError(f"it does not say its {' and '.join(missing)}", where=where)
    if kind.may is None:
        return
    checks = {**kind.needs, **kind.may}
    for name, value in entry.data.items():
        if name not in checks:
            raise RecordError(
                f"it has no field '{name[:40]}'", where=where, remedy=f"it has {', '.join(checks)}"
            )
        if not checks[name](value):
            raise RecordError(
                f"its {name} cannot be {str(value)[:60]!r}", where=where, remedy=checks[name].__doc__
            )


def standing(entries: Iterable[WorkEntry]) -> tuple[WorkEntry, ...]:
    """Return what counts: the last of each chain of corrections, without those withdrawn.

    Each keeps the place of the first of its chain, because a correction says what should have been noted
    then.
    """
    kept: dict[int, WorkEntry] = {}
    first: dict[int, int] = {}
    for entry in sorted(entries, key=number_of):
        number = number_of(entry)
        root = number if entry.supersedes is None else first.get(entry.supersedes, entry.supersedes)
        first[number] = root
        if entry.kind == WITHDRAWN:
            kept.pop(root, None)
        else:
            kept[root] = entry
    return tuple(kept[root] for root in sorted(kept))


def chain_of(entries: Sequence[WorkEntry], number: int) -> tuple[WorkEntry, ...]:
    """Return an entry with everything that corrects it and that it corrects, oldest first.

    Raises
    ------
    RecordError : there is no such entry
    """
    known = {number_of(entry): entry for entry in entries}
    if number not in known:
        raise RecordError(f"there is no entry {number}", remedy="look through the job's book of work")
    later = {entry.supersedes: entry for entry in known.values() if entry.supersedes is not None}
    first = known[number]
    while first.supersedes is not None and first.supersedes in known:
        first = known[first.supersedes]
    chain = [first]
    while chain[-1].id in later:
        chain.append(later[chain[-1].id])
    return tuple(chain)


def number_of(entry: WorkEntry) -> int:
    """Return an entry's number; raises RecordError if it was not kept yet."""
    if entry.id is None:
        raise RecordError("that entry was not kept yet", where=entry.kind)
    return entry.id
