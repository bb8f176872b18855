"""What has to be got for a job: the list from strip, fits and parts looked at, the order, what came.

Functions that write take who did it, a key and what it corrects as those of the ledger do; each hands back
the whole order with what it `said`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from difflib import get_close_matches
from typing import Any, Unpack

from bellhousing.errors import BellhousingError, FindingError, RecordError
from bellhousing.tasks.accounting import money_warnings, sum_of
from bellhousing.tasks.days import read_day
from bellhousing.tasks.ledger_answer import Said
from bellhousing.tasks.order_answer import line_text, orders_answer, today_of
from bellhousing.tasks.order_shapes import OrdersAnswer
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.stripping import strip_of_job
from bellhousing.tasks.work_book import Book, Sender, one_of, read_book, write
from bellhousing.work.entries import CHECKS, OLD_PARTS, STATUSES
from bellhousing.work.orders import (
    AWAITED,
    HARD,
    SOFT,
    TO_ORDER,
    Need,
    OrderLine,
    identification,
    needs,
    order_lines,
    still_to_order,
)

EVERYTHING = "all"
MOST_COUNT = 1000


def orders_of_job(shop: Shop, job: int, *, planned: Sequence[str] = (), fits: bool = True) -> OrdersAnswer:
    """Return what has to be got for a job, what is on order, and what blocks it.

    Parameters
    ----------
    shop, job : whose
    planned : parts the strip is to reach, so that what it destroys is on the list before it begins
    fits : whether to choose the selective parts by what was measured

    Raises
    ------
    RecordError : no such job
    FindingError, BoxFileError : a part that is not known, or a box without a list of its parts
    """
    book = read_book(shop, job)
    return orders_answer(book, *_wanted(book, planned, fits))


def note_number(shop: Shop, job: int, name: str, value: str, **sender: Unpack[Sender]) -> OrdersAnswer:
    """Note a number the supplier asks for, as read off the box.

    Raises
    ------
    FindingError : this box asks for no such number
    """
    book = read_book(shop, job)
    known = list(identification(book.tree, book.entries))
    wanted = " ".join(name.lower().split())
    found = [one for one in known if one.lower() == wanted]
    if not found:
        found = [one for one in known if wanted and set(wanted.split()) <= set(one.lower().split())]
    if not found and known:
        raise FindingError(f"no '{name[:60]}' is asked for", remedy=f"asked for are: {'; '.join(known)}")
    if len(found) > 1:
        raise FindingError(f"'{name[:60]}' could be several", remedy=f"say which: {'; '.join(found)}")
    if not value.strip():
        raise FindingError("say what was read off", where=name)
    called = found[0] if found else " ".join(name.split())
    entry = write(book, "identification", called, {"value": value.strip()}, **sender)
    return _after(book, Said(f"{called}: {value.strip()}.", (), entry.id))


def add_line(
    shop: Shop,
    job: int,
    what: str,
    *,
    count: int | None = None,
    hard: bool = False,
    why: str = "",
    planned: Sequence[str] = (),
    **sender: Unpack[Sender],
) -> OrdersAnswer:
    """Put something on the order: a line that is wanted, `all` of them, or anything else by its name.

    Raises
    ------
    FindingError : nothing is named, or a count that cannot be
    """
    book = read_book(shop, job)
    wanted = {need.line: need for need in _wanted(book, planned, True)[0]}
    if not " ".join(what.split()):
        raise FindingError("nothing is named", remedy="name a line of `order list`, or all")
    if count is not None and not 1 <= count <= MOST_COUNT:
        raise FindingError("that is no count", remedy=f"from 1 to {MOST_COUNT}")
    if what.lower() == EVERYTHING:
        chosen = list(wanted.values())
        if sender.get("key") is not None and len(chosen) > 1:
            sender["key"] = None  # a key is of one entry; a line ordered twice is one line all the same
    else:
        chosen = [_need(what, wanted, order_lines(book.entries), count, hard, why)]
    entry = None
    lines = {line.line: line for line in order_lines(book.entries)}
    for need in chosen:
        known = lines.get(need.line)
        more = known.count if known is not None and count is None and not known.closed else 0
        data = {
            "name": need.name,
            "count": need.count + more,
            "hardness": need.hardness,
            "why": need.why,
            "part": need.part,
        }
        entry = write(book, "order", need.line, data, **sender).id
    said = "; ".join(f"{need.count} × {need.name}" for need in chosen) or "nothing is wanted"
    return _after(book, Said(f"On the order: {said}.", _number_warnings(book), entry), planned)


def _need(
    what: str,
    wanted: dict[str, Need],
    lines: Sequence[OrderLine],
    count: int | None,
    hard: bool,
    why: str,
) -> Need:
    said = " ".join(what.split())
    named = [one for one in wanted.values() if said.lower() in (one.line, one.name.lower())]
    if len(named) > 1:
        raise FindingError(
            f"'{said[:60]}' could be several lines",
            remedy=f"say which: {', '.join(one.line for one in named)}",
        )
    if named:
        return named[0] if count is None else _counted(named[0], count)
    known = [line for line in lines if said.lower() in (line.line, line.name.lower())]
    if known:
        line = known[0]
        return Need(line.line, line.name, count or line.count, line.hardness, why or line.why, line.part)
    slug = re.sub(r"[^a-z0-9]+", "-", said.lower()).strip("-")[:120]
    if not slug:
        raise FindingError("a part's name needs letters or figures", where=said[:40])
    return Need(f"other-{slug}", said, count or 1, HARD if hard else SOFT, why.strip())


def _counted(need: Need, count: int) -> Need:
    return Need(need.line, need.name, count, need.hardness, need.why, need.part)


def set_status(
    shop: Shop,
    job: int,
    line: str,
    status: str,
    *,
    supplier: str = "",
    price: str = "",
    promised: str = "",
    note: str = "",
    without_numbers: str = "",
    **sender: Unpack[Sender],
) -> OrdersAnswer:
    """Note how a line stands, with what is known of it; the price is of the whole line, before tax.

    A line is ordered only when the numbers the supplier asks for are read off, or `without_numbers` says why.

    Raises
    ------
    RecordError : no such line, or numbers that are missing
    FindingError, InputFileError : no such status, a price or day that cannot be read
    """
    book = read_book(shop, job)
    found = _line(book, line)
    state = one_of(status, STATUSES, "status")
    if state == "arrived":
        raise RecordError(
            "what arrives is laid against the old one",
            where=found.name,
            remedy="say: same, differs or no-old-part",
        )
    missing = [name for name, value in identification(book.tree, book.entries).items() if not value]
    if state in AWAITED and missing and not without_numbers.strip() and found.status == TO_ORDER:
        raise RecordError(
            f"the supplier asks for: {'; '.join(missing)}",
            where=found.name,
            remedy="read them off first: the wrong part is the longest delay; or say why without them",
        )
    data: dict[str, Any] = {"status": state, "supplier": supplier.strip()}
    data["note"] = "; ".join(text.strip() for text in (note, without_numbers) if text.strip())
    if price.strip():
        data["price"] = str(sum_of(book, price))
    if promised.strip():
        data["promised"] = read_day(promised, shop.clock().date()).isoformat()
    entry = write(book, "order-status", found.line, data, **sender)
    after = read_book(shop, job)
    warnings = money_warnings(after) if state in AWAITED else ()
    return _after(
        after, Said(f"{line_text(_line(after, found.line), today_of(after), after)}.", warnings, entry.id)
    )


def note_arrival(
    shop: Shop, job: int, line: str, check: str, *, note: str = "", **sender: Unpack[Sender]
) -> OrdersAnswer:
    """Note that a line came, the new laid against the old: same, differs (in words), or no-old-part.

    Raises
    ------
    RecordError : no such line, or a difference nobody describes
    FindingError : no such check
    """
    book = read_book(shop, job)
    found = _line(book, line)
    result = one_of(check, CHECKS, "check")
    if result == "differs" and not note.strip():
        raise RecordError("say in what it differs", where=found.name, remedy="in words, with --note")
    entry = write(book, "arrived", found.line, {"check": result, "note": note.strip()}, **sender)
    warnings = ("do not bin the old one, and send this back",) if result == "differs" else ()
    said = f"{found.name} came: {result.replace('-', ' ')}."
    return _after(book, Said(said, warnings, entry.id))


def note_old_part(
    shop: Shop, job: int, line: str, what: str, *, note: str = "", **sender: Unpack[Sender]
) -> OrdersAnswer:
    """Note what became of the old part of a line: kept, offered, taken-by-owner, declined, …

    Raises
    ------
    RecordError, FindingError : no such line, or nothing a part can become
    """
    book = read_book(shop, job)
    found = _line(book, line)
    became = one_of(what, OLD_PARTS, "end of an old part")
    entry = write(book, "old-part", found.line, {"what": became, "note": note.strip()}, **sender)
    return _after(book, Said(f"The old {found.name}: {became.replace('-', ' ')}.", (), entry.id))


def _line(book: Book, said: str) -> OrderLine:
    lines = order_lines(book.entries)
    wanted = " ".join(said.lower().split())
    found = [line for line in lines if wanted in (line.line, line.name.lower())]
    if not found:
        found = [line for line in lines if wanted and wanted in line.name.lower()]
    if len(found) == 1:
        return found[0]
    names = [line.line for line in found or lines]
    if found:
        raise RecordError(f"'{said[:60]}' could be several lines", remedy=f"say which: {', '.join(names)}")
    near = get_close_matches(wanted, names, n=3, cutoff=0.4) or names[:8]
    remedy = f"the lines are: {', '.join(near)}" if near else "put it on the order first: order add JOB NAME"
    raise RecordError(f"nothing called '{said[:60]}' is on the order", where=f"job {book.job}", remedy=remedy)


def _wanted(book: Book, planned: Sequence[str], fits: bool) -> tuple[tuple[Need, ...], tuple[str, ...]]:
    soon: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    if planned:
        soon = tuple(step.part for step in strip_of_job(book.shop, book.job, planned).steps)
    chosen: tuple[Need, ...] = ()
    if fits and book.box is not None and book.box.assemblies and book.taken:
        chosen, notes = _from_fits(book)
    every = needs(book.tree, book.entries, planned=soon, fits=chosen)
    return still_to_order(every, order_lines(book.entries)), notes


def _from_fits(book: Book) -> tuple[tuple[Need, ...], tuple[str, ...]]:
    """What the choice of selective parts found wanting; why, where it cannot be made."""
    from bellhousing.tasks.fits import BY_CLEARANCE, fits_of_job

    try:
        found = fits_of_job(book.shop, book.job)
    except BellhousingError as error:
        return (), (str(error),)
    # What rests on drawn sizes alone is not ordered before it is measured.
    stacks = [stack for stack in found.stacks if stack.basis == BY_CLEARANCE]
    wanted: dict[str, Need] = {}
    for stack in stacks:
        for piece in stack.parts:
            if piece.bought:
                marked = f" ({piece.mark})" if piece.mark else ""
                line = _fit_line(piece.part, piece.size, piece.mark)
                name = f"{piece.name} {piece.shown}{marked}"
                count = piece.bought + (wanted[line].count if line in wanted else 0)
                wanted[line] = Need(line, name, count, HARD, "chosen by what was measured", piece.part)
        for one in stack.orders:
            line = _fit_line(one.part, one.size, "")
            why = f"{stack.name}: nothing on the shelf fits, {one.low:g} to {one.high:g} {one.unit} would"
            wanted[line] = Need(line, f"{one.name} {one.shown}", one.count, HARD, why, one.part)
    return tuple(wanted.values()), ()


def _fit_line(part: str, size: float, mark: str) -> str:
    return f"fit-{part}-{size:g}-{mark}".rstrip("-").lower().replace(" ", "-")


def _number_warnings(book: Book) -> tuple[str, ...]:
    missing = [name for name, value in identification(book.tree, book.entries).items() if not value]
    return (f"not read off yet: {'; '.join(missing)}",) if missing else ()


def _after(book: Book, said: Said, planned: Sequence[str] = ()) -> OrdersAnswer:
    after = read_book(book.shop, book.job)
    return orders_answer(after, *_wanted(after, planned, False), said)
