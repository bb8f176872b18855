"""What has to be got: what strip, fits and parts ask for, what is on order, and what blocks the job."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any

from bellhousing.boxes.parts_tree import Part, PartsTree, Seal
from bellhousing.work.entries import WorkEntry, number_of, standing
from bellhousing.work.ledger import Ledger, ledger, washers_needed

SOFT = "soft"
HARD = "hard"
TO_ORDER, ORDERED, SENT, ARRIVED = "to-order", "ordered", "sent", "arrived"
OVER = ("fitted", "returned", "cancelled")
AWAITED = (ORDERED, SENT)
BOUGHT = (ORDERED, SENT, ARRIVED, "fitted")
SETTLED_OLD = ("offered", "taken-by-owner", "declined", "sent-in-exchange", "scrapped")


@dataclass(frozen=True)
class Need:
    """Something that has to be got: its line, what it is called, how many, soft or hard, and why."""

    line: str
    name: str
    count: int
    hardness: str
    why: str
    part: str = ""


@dataclass(frozen=True)
class OrderLine:
    """One line of the order as the book leaves it.

    Parameters
    ----------
    line, name, count, hardness, why, part : as for a need
    status : to-order, ordered, sent, arrived, fitted, returned or cancelled
    supplier, note : in words, empty if not said
    price : of the whole line, None if not known
    promised : the day it was promised for, None if none was
    check, check_note : new laid against old on arrival: same, differs, no-old-part; empty if not done
    old_part : what became of the old one, empty if not said
    entries : the entries it comes from
    """

    line: str
    name: str
    count: int
    hardness: str
    why: str = ""
    part: str = ""
    status: str = TO_ORDER
    supplier: str = ""
    note: str = ""
    price: Decimal | None = None
    promised: date | None = None
    check: str = ""
    check_note: str = ""
    old_part: str = ""
    entries: tuple[int, ...] = ()

    @property
    def closed(self) -> bool:
        """Whether nothing more is awaited of it."""
        return self.status in OVER

    @property
    def came_different(self) -> bool:
        """Whether it differs from the old one and was not yet sent back."""
        return self.check == "differs" and not self.closed

    def late(self, today: date) -> bool:
        """Whether it was promised for a day that has passed."""
        return self.status in AWAITED and self.promised is not None and self.promised < today


def order_lines(entries: Iterable[WorkEntry]) -> tuple[OrderLine, ...]:
    """Return every line of the order; ordered twice it is one line, as said last."""
    lines: dict[str, OrderLine] = {}
    old: dict[str, tuple[str, int]] = {}
    for entry in standing(entries):
        known = lines.get(entry.subject)
        if entry.kind == "order":
            lines[entry.subject] = _ordered(known, entry)
        elif entry.kind == "old-part":
            old[entry.subject] = (entry.text("what"), number_of(entry))
        elif known is None:
            continue
        elif entry.kind == "order-status":
            lines[entry.subject] = _said(replace(known, status=entry.text("status")), entry)
        elif entry.kind == ARRIVED:
            status = known.status if known.status == "fitted" else ARRIVED
            lines[entry.subject] = replace(
                known,
                status=status,
                check=entry.text("check"),
                check_note=entry.text("note"),
                entries=(*known.entries, number_of(entry)),
            )
    return tuple(
        replace(one, old_part=old[name][0], entries=(*one.entries, old[name][1])) if name in old else one
        for name, one in lines.items()
    )


def _ordered(known: OrderLine | None, entry: WorkEntry) -> OrderLine:
    line = OrderLine(
        line=entry.subject,
        name=entry.text("name"),
        count=int(entry.data["count"]),
        hardness=entry.text("hardness"),
        why=entry.text("why"),
        part=entry.text("part"),
    )
    if known is not None:
        line = replace(
            line,
            status=TO_ORDER if known.closed else known.status,
            supplier=known.supplier,
            note=known.note,
            price=known.price,
            promised=known.promised,
            entries=known.entries,
        )
    return _said(line, entry)


def _said(line: OrderLine, entry: WorkEntry) -> OrderLine:
    changes: dict[str, Any] = {"entries": (*line.entries, number_of(entry))}
    for name in ("supplier", "note"):
        if name in entry.data:
            changes[name] = entry.text(name)
    if "price" in entry.data:
        changes["price"] = entry.sum_of("price")
    if "promised" in entry.data:
        said = entry.text("promised")
        changes["promised"] = date.fromisoformat(said) if said else None
    return replace(line, **changes)


def identification(tree: PartsTree | None, entries: Iterable[WorkEntry]) -> dict[str, str]:
    """Return the numbers a supplier asks for, each with what was read off, empty where nothing was."""
    numbers = dict.fromkeys(tree.identification if tree is not None else (), "")
    for entry in standing(entries):
        if entry.kind == "identification":
            numbers[entry.subject] = entry.text("value")
    return numbers


def needs(
    tree: PartsTree | None,
    entries: Sequence[WorkEntry],
    *,
    planned: Iterable[str] = (),
    fits: Iterable[Need] = (),
) -> tuple[Need, ...]:
    """Return what has to be got: seals and washers of what is off or planned, parts decided on, fits.

    Parameters
    ----------
    tree : the box's parts, None if it has none
    entries : the job's book of work
    planned : parts that are to come off
    fits : what the choice of selective parts found wanting
    """
    found: dict[str, Need] = {}
    if tree is not None:
        book = ledger(tree, entries)
        soon = set(planned)
        for part in tree.parts.values():
            if part.slug in soon or book.parts[part.slug].ever_off:
                found |= {need.line: need for need in _soft(tree, part)}
        for flange in tree.flanges.values():
            moved = washers_needed(flange, book.flanges[flange.slug])
            off = any(
                part.slug in soon or book.parts[part.slug].ever_off for part in tree.held_by(flange.slug)
            )
            count = len(flange.washers) if off and flange.washers_one_use else moved
            if count:
                name = f"{flange.washers[0].washer} for the {flange.name}"
                found[f"washers-{flange.slug}"] = Need(
                    f"washers-{flange.slug}", name, count, SOFT, "never used twice", flange.slug
                )
    for slug, entry in decisions(entries).items():
        if entry.text("decision") == "replace":
            found[f"part-{slug}"] = _decided(tree, slug, entry)
    found |= {need.line: need for need in fits}
    return tuple(found.values())


def decisions(entries: Iterable[WorkEntry]) -> dict[str, WorkEntry]:
    """Return the last decision on each part that was looked at."""
    return {entry.subject: entry for entry in standing(entries) if entry.kind == "part-finding"}


def one_use(tree: PartsTree, part: Part) -> tuple[Seal, ...]:
    """Return the seals of a part that must be new, without washers its flange counts by its bolts."""
    flange = tree.flanges.get(part.flange or "")
    by_bolts = flange is not None and flange.washers_one_use and bool(flange.washers)
    return tuple(
        seal for seal in part.seals if seal.one_use and not (by_bolts and seal.kind == "sealing-washer")
    )


def _soft(tree: PartsTree, part: Part) -> Iterable[Need]:
    for seal in one_use(tree, part):
        yield Need(
            f"seal-{part.slug}-{seal.slug}", seal.name, seal.count, SOFT, "never used twice", part.slug
        )
    if part.hardness == SOFT:
        yield Need(f"part-{part.slug}", part.order_name or part.name, 1, SOFT, "soft part", part.slug)


def _decided(tree: PartsTree | None, slug: str, entry: WorkEntry) -> Need:
    part = tree.parts.get(slug) if tree is not None else None
    name = slug.replace("-", " ") if part is None else part.order_name or part.name
    hardness = HARD if part is None else part.hardness
    told = [entry.text("condition"), entry.text("number"), entry.text("reason")]
    return Need(f"part-{slug}", name, 1, hardness, "; ".join(one for one in told if one), slug)


def still_to_order(wanted: Iterable[Need], lines: Iterable[OrderLine]) -> tuple[Need, ...]:
    """Return what is needed and not on a line that counts: none, too few, cancelled or sent back."""
    known = {line.line: line for line in lines if line.status not in ("returned", "cancelled")}
    short = []
    for need in wanted:
        line = known.get(need.line)
        if line is None:
            short.append(need)
        elif line.count < need.count:
            short.append(replace(need, count=need.count - line.count))
    return tuple(short)


def blocking(lines: Iterable[OrderLine]) -> tuple[OrderLine, ...]:
    """Return the lines the job waits for: those not promised first, then the latest promised first."""
    waiting = [line for line in lines if line.status in (TO_ORDER, *AWAITED) or line.came_different]
    return tuple(sorted(waiting, key=_patience))


def _patience(line: OrderLine) -> tuple[int, int]:
    return (0, 0) if line.promised is None else (1, -line.promised.toordinal())


def old_parts_to_settle(lines: Iterable[OrderLine]) -> tuple[OrderLine, ...]:
    """Return hard parts that were replaced and whose old ones the owner was not yet offered."""
    return tuple(
        line
        for line in lines
        if line.hardness == HARD and line.status == "fitted" and line.old_part not in SETTLED_OLD
    )


def seals_short(tree: PartsTree, book: Ledger) -> Mapping[tuple[str, str], tuple[str, int, int]]:
    """Return by part and seal what must be new and is not: its name, how many, how many are."""
    short: dict[tuple[str, str], tuple[str, int, int]] = {}
    for part in tree.parts.values():
        state = book.parts[part.slug]
        if not state.ever_off:
            continue
        for seal in one_use(tree, part):
            new = state.seals_new.get(seal.slug, 0)
            if new < seal.count:
                short[part.slug, seal.slug] = (seal.name, seal.count, new)
    return short
