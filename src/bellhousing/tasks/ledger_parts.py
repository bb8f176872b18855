"""Parts of a job: off and on, what they look like, where bags lie, what was measured, reasons in writing.

Functions write as those of the ledger do.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Unpack

from bellhousing.boxes.parts_tree import Part, PartsTree
from bellhousing.errors import FindingError, RecordError
from bellhousing.tasks.ledger_answer import Said, ledger_answer, said_of
from bellhousing.tasks.ledger_shapes import LedgerAnswer
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.work_book import (
    Book,
    Sender,
    find_flange,
    find_part,
    one_of,
    read_book,
    read_tag,
    write,
)
from bellhousing.work.account import account
from bellhousing.work.entries import DECISIONS, DECLINED
from bellhousing.work.ledger import ledger
from bellhousing.work.open_items import open_items, plain, the
from bellhousing.work.orders import one_use


def move_part(
    shop: Shop, job: int, part: str, *, off: bool, note: str = "", **sender: Unpack[Sender]
) -> LedgerAnswer:
    """Tick a part off or on again; `note` says where it lies.

    What is not measured yet, not undone, or not authorised is among the warnings.

    Raises
    ------
    FindingError, BoxFileError : as `tick`
    """
    book = read_book(shop, job)
    tree = book.need_tree()
    found = find_part(tree, part)
    entry = write(book, "part-off" if off else "part-on", found.slug, {"note": note.strip()}, **sender)
    warnings = _off_warnings(tree, found, book) if off else _on_warnings(tree, found, book)
    said = Said(f"{found.name} is {'off' if off else 'on'}.", tuple(warnings), entry.id)
    return ledger_answer(read_book(shop, job), said)


def _off_warnings(tree: PartsTree, part: Part, book: Book) -> list[str]:
    state = ledger(tree, book.entries)
    told = [
        f"{plain(one.measure)} was not measured: {one.why}"
        for one in part.measure_before
        if not state.parts[part.slug].measured(one.measure, book.taken)
    ]
    flange = state.flanges.get(part.flange or "")
    if flange is not None and flange.count.never_out:
        told.append(f"{flange.count.never_out} of its {flange.count.drawn} bolts are not ticked out")
    under = [
        other for group in part.after if group and not _any_off(group, state.parts) for other in group[:1]
    ]
    told += [f"the {the(tree.parts[slug].name)} is not ticked off" for slug in under if slug in tree.parts]
    stages = {authority.stage for authority in account(book.entries, book.usual).authorities}
    if not stages & {"open", "repair"}:
        told.append(f"opening up is not authorised yet: bellhousing hours authorise {book.job} open SUM")
    return told


def _any_off(group: tuple[str, ...], parts: Mapping[str, Any]) -> bool:
    return any(parts[slug].ever_off for slug in group if slug in parts)


def _on_warnings(tree: PartsTree, part: Part, book: Book) -> list[str]:
    state = ledger(tree, book.entries)
    told = []
    for seal in one_use(tree, part):
        new = state.parts[part.slug].seals_new.get(seal.slug, 0)
        if state.parts[part.slug].ever_off and new < seal.count:
            told.append(f"{new} of {seal.count} new: {seal.name}")
    pockets = state.parts[part.slug].count
    if pockets.to_go_back:
        told.append(f"{pockets.to_go_back} check balls are not ticked back")
    return told


def note_bag(
    shop: Shop, job: int, tag: str, place: str, *, flange: str = "", **sender: Unpack[Sender]
) -> LedgerAnswer:
    """Note where a bag or tray lies, and of which flange it is; raises as `tick`."""
    book = read_book(shop, job)
    if not tag.strip() or not place.strip():
        raise RecordError("a bag has a tag and a place", remedy="name both: B1, 'shelf 3'")
    tag = read_tag(tag)
    data = {"place": place.strip()}
    if flange.strip():
        data["flange"] = find_flange(book.need_tree(), flange).slug
    entry = write(book, "bag", tag, data, **sender)
    return said_of(shop, job, f"Bag {tag}: {place.strip()}.", entry)


def note_baseline(
    shop: Shop,
    job: int,
    part: str,
    measure: str,
    *,
    value: str = "",
    declined: str = "",
    **sender: Unpack[Sender],
) -> LedgerAnswer:
    """Note what was measured before a part came off, or decline it with a reason from the short list.

    Raises
    ------
    FindingError, BoxFileError : as `tick`; nothing said, both said, or nothing of that name is asked there
    """
    book = read_book(shop, job)
    found = find_part(book.need_tree(), part)
    asked = [one.measure for one in found.measure_before]
    if not asked:
        raise FindingError(f"nothing must be measured before the {found.name} comes off")
    name = one_of(measure, asked, f"measure of the {found.name}")
    if bool(value.strip()) == bool(declined.strip()):
        raise FindingError("either the figure or a reason", remedy=f"reasons: {', '.join(DECLINED)}")
    if declined.strip():
        data = {"measure": name, "reason": one_of(declined, DECLINED, "reason")}
        entry = write(book, "baseline-declined", found.slug, data, **sender)
        return said_of(shop, job, f"{found.name}: {plain(name)} declined, {plain(data['reason'])}.", entry)
    data = {"measure": name, "value": value.strip()}
    entry = write(book, "baseline", found.slug, data, **sender)
    return said_of(shop, job, f"{found.name}: {plain(name)} {value.strip()}.", entry)


def note_part(
    shop: Shop,
    job: int,
    part: str,
    condition: str,
    decision: str,
    *,
    reason: str = "",
    number: str = "",
    **sender: Unpack[Sender],
) -> LedgerAnswer:
    """Note the condition of a part and what is decided: reuse, replace or machine.

    Raises
    ------
    FindingError, BoxFileError : as `tick`; no words, or replace and machine without a reason or a number
    """
    book = read_book(shop, job)
    found = find_part(book.need_tree(), part)
    chosen = one_of(decision, DECISIONS, "decision")
    if not condition.strip():
        raise FindingError("say what it looks like", where=found.name)
    if chosen != "reuse" and not (reason.strip() or number.strip()):
        raise FindingError(
            f"to {chosen} needs a reason or a number", where=found.name, remedy="what was measured, or seen?"
        )
    data = {
        "condition": condition.strip(),
        "decision": chosen,
        "reason": reason.strip(),
        "number": number.strip(),
    }
    entry = write(book, "part-finding", found.slug, data, **sender)
    return said_of(shop, job, f"{found.name}: {condition.strip()}; {chosen}.", entry)


def give_reason(shop: Shop, job: int, item: str, text: str, **sender: Unpack[Sender]) -> LedgerAnswer:
    """Close one open item by a written reason; it covers what the item says now.

    Raises
    ------
    RecordError : nothing of that name is open, or nothing is written
    """
    book = read_book(shop, job)
    found = {one.id: one for one in open_items(book.tree, book.entries, book.usual, book.taken)}
    if item not in found:
        names = ", ".join(list(found)[:8]) or "nothing is open"
        raise RecordError(f"'{item[:80]}' is not open", where=f"job {job}", remedy=f"open are: {names}")
    if not text.strip():
        raise RecordError("a reason has to be written", where=item)
    entry = write(book, "reason", item, {"text": text.strip(), "covers": found[item].what}, **sender)
    return said_of(shop, job, f"{found[item].what}: {text.strip()}.", entry)
