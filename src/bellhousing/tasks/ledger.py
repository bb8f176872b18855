"""The ledger of a job: what came out, where it lies, what went back, and what still keeps the job open.

Every function that writes takes `who` did it, a `key` made by the sender (sent twice it is kept once) and
`corrects`, the entry it is put in place of; each hands back the whole ledger with what it `said`.
"""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches
from typing import Any, Unpack

from bellhousing.boxes.parts_tree import Flange, Part, PartsTree
from bellhousing.errors import FindingError
from bellhousing.tasks.ledger_answer import Said, count_text, ledger_answer, open_answer, said_of
from bellhousing.tasks.ledger_shapes import BagAnswer, LedgerAnswer, OpenListAnswer
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.work_book import (
    Book,
    Sender,
    find_flange,
    find_part,
    one_of,
    read_book,
    read_numbers,
    read_tag,
    write,
)
from bellhousing.work.entries import ANSWERS, AS_DRAWN, EXCEPTIONS, WorkEntry
from bellhousing.work.ledger import WASHERS, Bag, ledger, washers_needed
from bellhousing.work.open_items import IN_WORDS, all_items, plain, the
from bellhousing.work.orders import one_use
from bellhousing.work.slots import Slots

TICKS = ("bolts-out", "bolts-bagged", "bolts-back")
BALL_TICKS = ("ball-out", "ball-back")
DONE = {
    "bolts-out": "out",
    "bolts-bagged": "bagged",
    "bolts-back": "back in",
    "ball-out": "out",
    "ball-back": "back in",
}
MOST_COUNT = 1000


def ledger_of_job(shop: Shop, job: int) -> LedgerAnswer:
    """Return everything counted on a job; RecordError if there is none."""
    return ledger_answer(read_book(shop, job))


def open_on_job(shop: Shop, job: int) -> OpenListAnswer:
    """Return what keeps a job open and what a written reason closed; RecordError if there is none."""
    book = read_book(shop, job)
    items = [
        (item.reason, open_answer(item))
        for item in all_items(book.tree, book.entries, book.usual, book.taken)
    ]
    return OpenListAnswer(
        job=job,
        open=tuple(answer for reason, answer in items if not reason),
        closed_by_reason=tuple(answer for reason, answer in items if reason),
    )


# Bolts and balls


def tick(
    shop: Shop,
    job: int,
    kind: str,
    flange: str,
    holes: str = AS_DRAWN,
    *,
    tag: str = "",
    place: str = "",
    **sender: Unpack[Sender],
) -> LedgerAnswer:
    """Tick bolts of a flange: `kind` is bolts-out, bolts-bagged (with `tag` and `place`) or bolts-back.

    `holes` are numbers ("1,2,5", "1-4") or all as drawn: those the tick fits and of which nothing else is
    said.

    Raises
    ------
    FindingError : no such flange, or no numbers
    RecordError : a hole that is not drawn, or was noted empty on arrival
    BoxFileError : the box has no list of its parts
    """
    book = read_book(shop, job)
    found = find_flange(book.need_tree(), flange)
    data: dict[str, Any] = {"holes": read_numbers(holes)}
    bagged = one_of(kind, TICKS, "tick") == "bolts-bagged"
    wanted = read_tag(tag) if tag.strip() else ""

    def told(now: Book) -> dict[str, Any]:
        if not bagged:
            return data
        own = wanted or next_tag(ledger(now.need_tree(), now.entries).bags, found.slug)
        return data | {"tag": own, "place": place.strip()}

    entry = write(book, kind, found.slug, told, **sender)
    return _after_tick(shop, book, entry, found.name, found.fastener, entry.text("tag") if bagged else "")


def tick_balls(
    shop: Shop, job: int, kind: str, part: str, pockets: str = AS_DRAWN, **sender: Unpack[Sender]
) -> LedgerAnswer:
    """Tick check balls of a part: `kind` is ball-out or ball-back; raises as `tick`."""
    book = read_book(shop, job)
    found = _with_balls(book.need_tree(), part)
    data = {"pockets": read_numbers(pockets)}
    entry = write(book, one_of(kind, BALL_TICKS, "tick"), found.slug, data, **sender)
    return _after_tick(shop, book, entry, found.name, "check ball", "")


def _after_tick(shop: Shop, book: Book, entry: WorkEntry, name: str, word: str, tag: str) -> LedgerAnswer:
    tree, after = book.need_tree(), read_book(shop, book.job)
    before, now = (_slots(tree, one, entry) for one in (book, after))
    changed = [number for number, slot in now.by_number.items() if slot != before.by_number[number]]
    state = ledger(tree, after.entries)
    count = (
        state.flanges[entry.subject].count
        if entry.subject in state.flanges
        else state.parts[entry.subject].count
    )
    where = f" in bag {tag}" if tag else f" {DONE[entry.kind]}"
    done = (
        f"{len(changed)} {word}{'' if len(changed) == 1 else 's'}{where}" if changed else "it was so already"
    )
    warnings = [
        f"hole {slot.number}: {IN_WORDS[line.what]}, no answer yet"
        for slot in now.by_number.values()
        for line in slot.open_exceptions
    ]
    if entry.subject in tree.flanges and entry.kind == "bolts-back":
        warnings += _reminders(tree, tree.flanges[entry.subject], after)
    said = Said(f"{name}: {done}. {count_text(count, word)}.", tuple(warnings), entry.id)
    return ledger_answer(after, said)


def _slots(tree: PartsTree, book: Book, entry: WorkEntry) -> Slots:
    state = ledger(tree, book.entries)
    if entry.kind in TICKS:
        return state.flanges[entry.subject].holes
    return state.parts[entry.subject].pockets


def _reminders(tree: PartsTree, flange: Flange, book: Book) -> list[str]:
    state = ledger(tree, book.entries).flanges[flange.slug]
    told = []
    needed = washers_needed(flange, state)
    if state.washers_new < needed:
        told.append(f"{state.washers_new} of {needed} sealing washers are new: they seal once")
    if state.jack_bolts:
        told.append(f"{state.jack_bolts} puller bolts are still in")
    return told


def next_tag(bags: Sequence[Bag | BagAnswer], flange: str) -> str:
    """The tag for what is bagged next of a flange: that of its own bag, else the first that is free."""
    own = [bag.tag for bag in bags if bag.flange == flange]
    known = {bag.tag for bag in bags}
    return own[-1] if own else next(tag for n in range(1, len(bags) + 2) if (tag := f"B{n}") not in known)


def note_exception(
    shop: Shop,
    job: int,
    where: str,
    number: int,
    what: str,
    *,
    note: str = "",
    where_now: str = "",
    pocket: bool = False,
    **sender: Unpack[Sender],
) -> LedgerAnswer:
    """Note that a hole of a flange, or a `pocket` of a part, is not as drawn: a line that wants an answer.

    Raises
    ------
    FindingError, BoxFileError : as `tick`, or no such exception
    RecordError : no such hole
    """
    book = read_book(shop, job)
    subject, name, slot = _place(book.need_tree(), where, pocket)
    kind = one_of(what, EXCEPTIONS, "exception")
    data = {slot: number, "what": kind, "note": note.strip(), "where_now": where_now.strip()}
    entry = write(book, "exception", subject, data, **sender)
    return said_of(shop, job, f"{name}, {slot} {number}: {IN_WORDS[kind]}.", entry)


def answer_exception(
    shop: Shop,
    job: int,
    where: str,
    number: int,
    how: str,
    *,
    note: str = "",
    what: str = "",
    pocket: bool = False,
    **sender: Unpack[Sender],
) -> LedgerAnswer:
    """Answer what is open at a hole or pocket: refitted, replaced, thread-insert, or a reason in `note`.

    `what` answers only the exception of that kind.

    Raises
    ------
    FindingError, BoxFileError : as `tick`, or no such answer
    RecordError : nothing is open there, or a reason without words
    """
    book = read_book(shop, job)
    subject, name, slot = _place(book.need_tree(), where, pocket)
    kind = one_of(how, ANSWERS, "answer")
    data = {slot: number, "how": kind, "note": note.strip()}
    if what:
        data["what"] = one_of(what, EXCEPTIONS, "exception")
    entry = write(book, "cleared", subject, data, **sender)
    return said_of(shop, job, f"{name}, {slot} {number}: {plain(kind)}.", entry)


def _place(tree: PartsTree, where: str, pocket: bool) -> tuple[str, str, str]:
    """A flange and its holes, or a part and its pockets."""
    if pocket:
        part = _with_balls(tree, where)
        return part.slug, part.name, "pocket"
    flange = find_flange(tree, where)
    return flange.slug, flange.name, "hole"


def _with_balls(tree: PartsTree, where: str) -> Part:
    found = find_part(tree, where)
    if not found.check_balls:
        others = (
            ", ".join(part.slug for part in tree.parts.values() if part.check_balls) or "none of this box"
        )
        raise FindingError(f"the {the(found.name)} has no check balls", remedy=f"they lie in: {others}")
    return found


def puller(
    shop: Shop, job: int, flange: str, *, into: bool, left: int = 0, **sender: Unpack[Sender]
) -> LedgerAnswer:
    """Note that puller bolts went `into` their holes, or came out with so many `left`; raises as `tick`."""
    book = read_book(shop, job)
    found = find_flange(book.need_tree(), flange)
    holes = found.jack_holes.count if found.jack_holes is not None else 0
    if not 0 <= left <= max(holes, 1):
        raise FindingError(
            f"the {the(found.name)} has {holes} holes for puller bolts", remedy="say how many are left"
        )
    kind = "jack-bolts-in" if into else "jack-bolts-out"
    entry = write(book, kind, found.slug, {"count": holes} if into else {"left": left}, **sender)
    said = f"{holes} puller bolts in" if into else f"puller bolts out, {left} left in"
    return said_of(shop, job, f"{found.name}: {said}.", entry)


def renewed(
    shop: Shop, job: int, what: str, count: int | None = None, **sender: Unpack[Sender]
) -> LedgerAnswer:
    """Note how many of a one-use part are new, all told: a seal, or a flange for its sealing washers.

    Raises
    ------
    FindingError, BoxFileError : as `tick`, or nothing of that name is used once
    """
    book = read_book(shop, job)
    tree = book.need_tree()
    subject, slug, name, drawn = _one_use(tree, what)
    number = drawn if count is None else count
    if not 0 <= number <= MOST_COUNT:
        raise FindingError("that is no count", where=name, remedy=f"there are {drawn}")
    entry = write(book, "one-use-replaced", subject, {"what": slug, "count": number}, **sender)
    return said_of(shop, job, f"{name}: {number} new.", entry)


def _one_use(tree: PartsTree, what: str) -> tuple[str, str, str, int]:
    wanted = " ".join(what.lower().replace("-", " ").split())
    for part in tree.parts.values():
        for seal in one_use(tree, part):
            if wanted in (seal.name.lower(), seal.slug.replace("-", " ")):
                return part.slug, seal.slug, seal.name, seal.count
    try:
        flange = find_flange(tree, wanted.removesuffix(" washers"))
    except FindingError:
        seals = [seal.name for part in tree.parts.values() for seal in one_use(tree, part)]
        near = [name for name in seals if set(wanted.split()) & set(name.lower().split())]
        near = near or get_close_matches(wanted, seals, n=3, cutoff=0.3) or seals[:3]
        raise FindingError(
            f"nothing called '{what[:60]}' is used once", remedy=f"did you mean {' or '.join(near[:4])}?"
        ) from None
    if not flange.washers_one_use:
        raise FindingError(f"the {the(flange.name)} has no one-use washers", remedy="name the seal")
    return flange.slug, WASHERS, f"Sealing washers of the {the(flange.name)}", len(flange.washers)
