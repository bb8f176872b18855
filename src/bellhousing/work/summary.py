"""A job told in five lines, for whoever opens it after weeks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from bellhousing.boxes.parts_tree import PartsTree
from bellhousing.work.account import Terms
from bellhousing.work.build import build
from bellhousing.work.entries import WorkEntry, standing
from bellhousing.work.ledger import Ledger, ledger
from bellhousing.work.open_items import OpenItem, day, open_items, plain, the, where_lies
from bellhousing.work.orders import OrderLine, blocking, order_lines
from bellhousing.work.strip import aims_left, strip_plan

MOST = 6
ANSWERS_FIRST = ("hole:", "pocket:", "jack-bolts:", "baseline:", "money")
"""Open items that are answered before anything else is done, by the start of their names."""


def summary(
    tree: PartsTree | None,
    entries: Sequence[WorkEntry],
    now: datetime,
    usual: Terms | None = None,
    taken: Mapping[str, datetime] | None = None,
) -> tuple[str, ...]:
    """Return five lines: when it was last touched, what is out, where it lies, what is awaited, what is next.

    Parameters
    ----------
    tree : the parts of the box, None if it has none
    entries : the job's book of work
    now : the present moment
    usual : rate and tax where the job's own do not say
    taken : what else was measured on the job, and when first
    """
    kept = standing(entries)
    if not kept:
        return (
            "Nothing was done yet.",
            "Out: nothing.",
            "Lies: nothing.",
            "Awaited: nothing.",
            "Next: choose what the strip is to reach.",
        )
    book = None if tree is None else ledger(tree, entries)
    waiting = blocking(order_lines(entries))
    found = open_items(tree, entries, usual, taken)
    return (
        _last_touched(tree, kept, now),
        f"Out: {_out(tree, book)}.",
        f"Lies: {_lies(book, entries)}.",
        f"Awaited: {_awaited(waiting, now)}.",
        f"Next: {_next_off(tree, entries, taken or {}) or _next(tree, entries, found, waiting)}.",
    )


def _last_touched(tree: PartsTree | None, kept: Sequence[WorkEntry], now: datetime) -> str:
    last = max(kept, key=lambda entry: (entry.at, entry.id or 0))
    days = (now.date() - last.at.astimezone(now.tzinfo).date()).days
    ago = {0: "today", 1: "yesterday"}.get(days, f"{days} days ago")
    what = (
        "what the strip is to reach"
        if last.kind == "aim"
        else plain(last.kind)
        if last.kind == last.subject
        else f"{plain(last.kind)}, {_called(tree, last.subject)}"
    )
    return f"Last touched {ago}, on {day(last.at)}, by {last.who}: {what}."


def _called(tree: PartsTree | None, subject: str) -> str:
    """A flange or part by the name its box gives it, anything else by its short name in words."""
    named = None if tree is None else tree.flanges.get(subject) or tree.parts.get(subject)
    return plain(subject) if named is None else the(named.name)


def _out(tree: PartsTree | None, book: Ledger | None) -> str:
    if tree is None or book is None:
        return "this box has no list of its parts"
    off = [the(tree.parts[state.slug].name) for state in book.parts_off]
    told = [_some(off)] if off else []
    for state in book.flanges.values():
        if state.count.to_go_back:
            flange = tree.flanges[state.slug]
            loose = f"{state.count.to_go_back} of {state.count.drawn} {flange.fastener}s"
            told.append(f"{loose} of the {the(flange.name)}")
    for part in book.parts.values():
        if part.count.to_go_back:
            told.append(f"{part.count.to_go_back} check balls of the {the(tree.parts[part.slug].name)}")
    jacks = [state.slug for state in book.flanges.values() if state.jack_bolts]
    told += [f"puller bolts still in the {the(tree.flanges[slug].name)}" for slug in jacks]
    return "; ".join(told) or "nothing"


def _lies(book: Ledger | None, entries: Sequence[WorkEntry]) -> str:
    if book is None:
        return "not known"
    told = []
    for state in book.flanges.values():
        loose = state.holes.at("out", "bagged")
        away = [line.where_now for slot in loose for line in slot.open_exceptions if line.where_now]
        plainly = [slot for slot in loose if not any(line.where_now for line in slot.open_exceptions)]
        if plainly:
            told.append(f"{plain(state.slug)}: {where_lies(plainly, book)}")
        told += away
    bags = [bag for bag in book.bags if not bag.count and not bag.flange]
    told += [f"{bag.tag}: {bag.place}" for bag in bags if bag.place]
    notes = {
        entry.subject: entry.text("note")
        for entry in standing(entries)
        if entry.kind == "part-off" and entry.text("note")
    }
    told += [f"{plain(state.slug)}: {notes[state.slug]}" for state in book.parts_off if state.slug in notes]
    return "; ".join(told) or "nothing is noted"


def _awaited(waiting: Sequence[OrderLine], now: datetime) -> str:
    if not waiting:
        return "nothing"
    told = []
    for line in waiting[:MOST]:
        if line.came_different:
            state = "came and differs"
        elif line.late(now.date()):
            state = (
                f"promised for {line.promised}, {(now.date() - (line.promised or now.date())).days} days late"
            )
        elif line.promised is not None:
            state = f"promised for {line.promised}"
        else:
            state = "not ordered yet" if line.status == "to-order" else "no day promised"
        told.append(f"{the(line.name)} ({state})")
    more = len(waiting) - MOST
    return "; ".join(told) + (f"; and {more} more" if more > 0 else "")


def _next_off(tree: PartsTree | None, entries: Sequence[WorkEntry], taken: Mapping[str, datetime]) -> str:
    """What comes off next on the way to what the strip is to reach, empty once it is reached."""
    left = aims_left(entries)
    if tree is None or not left or not all(slug in tree.parts for slug in left):
        return ""
    book = ledger(tree, entries)
    steps = strip_plan(tree, left, [state.slug for state in book.parts_off]).steps
    if not steps:
        return ""
    part = steps[0].part
    first = [
        row.measure for row in part.measure_before if not book.parts[part.slug].measured(row.measure, taken)
    ]
    before = f"{plain(first[0])}, then " if first else ""
    return f"{before}take off the {the(part.name)}"


def _next(
    tree: PartsTree | None,
    entries: Sequence[WorkEntry],
    found: Sequence[OpenItem],
    waiting: Sequence[OrderLine],
) -> str:
    # A bolt shared with a bracket is answered when the bracket goes back.
    first = [
        item
        for item in found
        if item.id.startswith(ANSWERS_FIRST) and not item.id.endswith(":shared-and-out")
    ]
    if first:
        return f"{first[0].what}: {first[0].next}"
    decided = [item for item in found if item.id.startswith("decided:")]
    if decided:
        return f"{decided[0].what}: {decided[0].next}"
    late = [line for line in waiting if line.status == "to-order" or line.came_different]
    if late:
        return f"{'send back' if late[0].came_different else 'order'} {the(late[0].name)}"
    if tree is not None:
        step = next((one for one in build(tree, entries).steps if not one.back), None)
        if step is not None:
            held = [line.name for line in waiting if line.part in {step.part.slug, step.part.flange}]
            first_of_all = [f"chase {the(name)}" for name in held[:1]] or [
                the(name) for name in step.waits_for[:1]
            ]
            return ", then ".join([*first_of_all, f"refit the {the(step.part.name)}"])
    if waiting:
        return f"chase {the(waiting[0].name)}"
    return f"{found[0].what}: {found[0].next}" if found else "nothing is open; hand over and close"


def _some(names: Sequence[str]) -> str:
    more = len(names) - MOST
    return ", ".join(names[:MOST]) + (f" and {more} more" if more > 0 else "")
