"""The ledger in the units people read, for every door."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from bellhousing.boxes.parts_tree import Flange, Hole, Part, PartsTree
from bellhousing.quantities.show import show
from bellhousing.quantities.units import from_si
from bellhousing.tasks.ledger_shapes import (
    BagAnswer,
    CountAnswer,
    FlangeAnswer,
    IgnoredAnswer,
    LedgerAnswer,
    OpenAnswer,
    PartAnswer,
    SealCount,
    SlotAnswer,
    SlotException,
)
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.work_book import Book, read_book
from bellhousing.work.entries import WorkEntry
from bellhousing.work.ledger import Count, FlangeState, Ledger, PartState, ledger, washers_needed
from bellhousing.work.open_items import IN_WORDS, OpenItem, all_items, day
from bellhousing.work.orders import one_use
from bellhousing.work.slots import ExceptionLine, Slot
from bellhousing.work.summary import summary

SIXTEENTHS = 16
PLACES = {"in": "in, not undone", "out": "out", "bagged": "bagged", "back": "back in", "none": "empty"}
HOW = {
    "refitted": "refitted",
    "replaced": "replaced by a new one",
    "thread-insert": "thread insert fitted",
    "reason": "left so",
}


@dataclass(frozen=True)
class Said:
    """What the last command did: in words, with warnings, and the entry it made."""

    text: str = ""
    warnings: tuple[str, ...] = ()
    entry: int | None = None


def ledger_answer(book: Book, said: Said | None = None) -> LedgerAnswer:
    """Return everything counted on a job; a box without a list of its parts has no flanges."""
    told = said or Said()
    items = all_items(book.tree, book.entries, book.usual, book.taken)
    found = None if book.tree is None else ledger(book.tree, book.entries)
    car = book.shop.store.car(book.shop.store.job(book.job).car)
    return LedgerAnswer(
        job=book.job,
        car=car.name,
        box=car.box if book.box is None else book.box.name,
        balances=found is None or found.balances,
        five=summary(book.tree, book.entries, book.shop.clock(), book.usual, book.taken),
        flanges=_flanges(book.tree, found),
        parts=_parts(book, found),
        bags=_bags(book.tree, found),
        open=tuple(open_answer(item) for item in items if not item.reason),
        closed_by_reason=tuple(open_answer(item) for item in items if item.reason),
        ignored=tuple(
            IgnoredAnswer(entry=one.entry, subject=one.subject, why=one.why)
            for one in (found.ignored if found is not None else ())
        ),
        said=told.text,
        warnings=told.warnings,
        entry=told.entry,
    )


def said_of(shop: Shop, job: int, text: str, entry: WorkEntry) -> LedgerAnswer:
    """Return the ledger after an entry, with what it said."""
    return ledger_answer(read_book(shop, job), Said(text, (), entry.id))


def open_answer(item: OpenItem) -> OpenAnswer:
    """Return an open item as it is shown."""
    return OpenAnswer(
        id=item.id, what=item.what, where=item.where, why=item.why, next=item.next, reason=item.reason
    )


def _flanges(tree: PartsTree | None, found: Ledger | None) -> tuple[FlangeAnswer, ...]:
    if tree is None or found is None:
        return ()
    return tuple(flange_answer(tree, flange, found.flanges[flange.slug]) for flange in tree.flanges.values())


def flange_answer(tree: PartsTree, flange: Flange, state: FlangeState) -> FlangeAnswer:
    """Return one flange with its holes and its drawing."""
    slots = state.holes.by_number
    touched = state.jack_bolts or any(slot.disturbed or slot.exceptions for slot in slots.values())
    return FlangeAnswer(
        slug=flange.slug,
        name=flange.name,
        fastener=flange.fastener,
        thread=flange.thread or "",
        seen_from=flange.seen_from,
        outline=flange.outline,
        holds=tuple(part.name for part in tree.held_by(flange.slug)),
        count=count_answer(state.count, flange.fastener),
        holes=tuple(_hole(hole, slots[hole.number]) for hole in flange.holes),
        jack_holes=flange.jack_holes.count if flange.jack_holes is not None else 0,
        jack_bolts=state.jack_bolts,
        washers_needed=washers_needed(flange, state),
        washers_new=state.washers_new,
        touched=bool(touched),
        note=flange.note,
    )


def _hole(hole: Hole, slot: Slot) -> SlotAnswer:
    return SlotAnswer(
        number=hole.number,
        x=hole.at[0],
        y=hole.at[1],
        place=slot.place,
        tag=slot.tag,
        length=bolt_length(hole.length),
        shared_with=hole.shared_with or "",
        hidden=hole.hidden or "",
        washer=hole.washer or "",
        sealant=hole.sealant or "",
        note=hole.note,
        supplied=slot.supplied,
        set_aside=slot.set_aside,
        exceptions=_exceptions(slot),
        entries=slot.entries,
        text=slot_text(slot),
    )


def slot_text(slot: Slot) -> str:
    """Return where one bolt or ball is, and what of it is not as drawn."""
    text = f"in bag {slot.tag}" if slot.place == "bagged" and slot.tag else PLACES[slot.place]
    told = [_exception_text(line) for line in slot.exceptions]
    return "; ".join([text, *told])


def _exception_text(line: ExceptionLine) -> str:
    said = IN_WORDS[line.what]
    if line.answered is None:
        return f"{said}: no answer yet"
    note = f" ({line.answered.note})" if line.answered.note else ""
    return f"{said}: {HOW[line.answered.how]} by {line.answered.who}, {day(line.answered.at)}{note}"


def _exceptions(slot: Slot) -> tuple[SlotException, ...]:
    return tuple(
        SlotException(
            what=line.what,
            in_words=IN_WORDS[line.what],
            note=line.note,
            where_now=line.where_now,
            who=line.who,
            at=day(line.at),
            entry=line.entry,
            answered="" if line.answered is None else _exception_text(line),
        )
        for line in slot.exceptions
    )


def count_answer(count: Count, word: str) -> CountAnswer:
    """Return a count and the sentence that says it."""
    return CountAnswer(
        drawn=count.drawn,
        missing=count.missing,
        supplied=count.supplied,
        set_aside=count.set_aside,
        never_out=count.never_out,
        out=count.out,
        bagged=count.bagged,
        back=count.back,
        empty=count.empty,
        balances=count.balances,
        text=count_text(count, word),
    )


def count_text(count: Count, word: str) -> str:
    """Return a count in words: "7 drawn: 2 in bags, 5 back; 1 new, 1 set aside"."""
    places = (
        (count.never_out, "not undone"),
        (count.out, "out"),
        (count.bagged, "in bags"),
        (count.back, "back in"),
        (count.empty, "empty"),
    )
    told = ", ".join(f"{number} {where}" for number, where in places if number)
    new = [f"{count.supplied} new"] if count.supplied else []
    old = [f"{count.set_aside} set aside"] if count.set_aside else []
    more = f"; {', '.join([*new, *old])}" if new or old else ""
    return f"{count.drawn} {word}{'' if count.drawn == 1 else 's'}: {told}{more}"


def _parts(book: Book, found: Ledger | None) -> tuple[PartAnswer, ...]:
    if book.tree is None or found is None:
        return ()
    return tuple(
        part_answer(book.tree, part, found.parts[part.slug], book.taken) for part in book.tree.parts.values()
    )


def part_answer(tree: PartsTree, part: Part, state: PartState, taken: Mapping[str, datetime]) -> PartAnswer:
    """Return one part with its balls, its seals that must be new, and what was not measured yet."""
    pockets = {ball.pocket: ball for ball in part.check_balls}
    seals = one_use(tree, part) if state.ever_off else ()
    return PartAnswer(
        slug=part.slug,
        name=part.name,
        off=state.off,
        since=day(state.moved) if state.off else "",
        by=state.by if state.off else "",
        flange=part.flange or "",
        balls=count_answer(state.count, "check ball") if pockets else None,
        pockets=tuple(
            _pocket(slot, pockets[number].name) for number, slot in state.pockets.by_number.items()
        ),
        seals=tuple(
            SealCount(
                slug=seal.slug, name=seal.name, needed=seal.count, new=state.seals_new.get(seal.slug, 0)
            )
            for seal in seals
        ),
        to_measure=tuple(
            one.measure for one in part.measure_before if not state.measured(one.measure, taken)
        ),
    )


def _pocket(slot: Slot, name: str) -> SlotAnswer:
    return SlotAnswer(
        number=slot.number,
        x=0.0,
        y=0.0,
        place=slot.place,
        tag=slot.tag,
        length="",
        shared_with="",
        hidden="",
        washer="",
        sealant="",
        note=name,
        supplied=slot.supplied,
        set_aside=slot.set_aside,
        exceptions=_exceptions(slot),
        entries=slot.entries,
        text=slot_text(slot),
    )


def _bags(tree: PartsTree | None, found: Ledger | None) -> tuple[BagAnswer, ...]:
    if tree is None or found is None:
        return ()
    return tuple(
        BagAnswer(
            tag=bag.tag,
            flange=bag.flange,
            flange_name=tree.flanges[bag.flange].name if bag.flange in tree.flanges else bag.flange,
            place=bag.place,
            count=bag.count,
        )
        for bag in found.bags
    )


def bolt_length(metres: float | None) -> str:
    """Return a bolt's length under the head: in sixteenths of an inch if it is so many, else in mm."""
    if metres is None:
        return ""
    inches = float(from_si(metres, "in"))
    parts = round(inches * SIXTEENTHS)
    if abs(inches * SIXTEENTHS - parts) > 0.02:
        return show(metres, "mm", digits=1)
    whole, rest = divmod(parts, SIXTEENTHS)
    under = SIXTEENTHS
    while rest and rest % 2 == 0:
        rest, under = rest // 2, under // 2
    fraction = f"{rest}/{under}" if rest else ""
    return f"{' '.join(piece for piece in (str(whole) if whole else '', fraction) if piece)} in"
