"""Tags for bags of bolts: what stands on them, drawn, and the address their code opens."""

from __future__ import annotations

from urllib.parse import quote

from bellhousing.boxes.parts_tree import Flange
from bellhousing.errors import RecordError
from bellhousing.reports.tag import Tag, tag_pdf, tag_svg, tags_svg
from bellhousing.tasks.ledger_answer import bolt_length
from bellhousing.tasks.ledger_shapes import TagAnswer
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.work_book import Book, read_book
from bellhousing.work.ledger import Bag, ledger
from bellhousing.work.open_items import IN_WORDS, numbers
from bellhousing.work.slots import Slot

HERE = "http://127.0.0.1:8350"


def bag_address(job: int, tag: str, base: str = HERE) -> str:
    """Return the address of a bag's page: short, so that the code stays coarse and reads when oily."""
    return f"{base.rstrip('/')}/job/{job}/bag/{quote(tag, safe='')}"


def tags_of_job(shop: Shop, job: int, *, base: str = HERE) -> tuple[TagAnswer, ...]:
    """Return the tags of every bag that holds bolts; raises as `tag_of_bag`."""
    book = read_book(shop, job)
    return tuple(_tag(book, bag, base) for bag in ledger(book.need_tree(), book.entries).bags if bag.count)


def tag_of_bag(shop: Shop, job: int, tag: str, *, base: str = HERE) -> TagAnswer:
    """Return one bag's tag.

    Raises
    ------
    RecordError : no such job or bag
    BoxFileError : the box has no list of its parts
    """
    book = read_book(shop, job)
    bags = {bag.tag: bag for bag in ledger(book.need_tree(), book.entries).bags}
    if tag not in bags:
        known = ", ".join(bags) or "none yet"
        raise RecordError(
            f"there is no bag '{tag[:40]}'", where=f"job {job}", remedy=f"the bags are: {known}"
        )
    return _tag(book, bags[tag], base)


def drawn_tag(tag: TagAnswer) -> str:
    """Return a tag as SVG."""
    return tag_svg(_as_tag(tag))


def drawn_tags(tags: tuple[TagAnswer, ...]) -> str:
    """Return several tags as one SVG, below each other."""
    return tags_svg([_as_tag(tag) for tag in tags])


def printed(svg: str) -> bytes:
    """Return an SVG of tags as a PDF."""
    return tag_pdf(svg)


def _as_tag(tag: TagAnswer) -> Tag:
    return Tag(head=tag.lines[0], lines=tag.lines[1:], address=tag.address)


def _tag(book: Book, bag: Bag, base: str) -> TagAnswer:
    tree = book.need_tree()
    flange = tree.flanges.get(bag.flange)
    state = ledger(tree, book.entries)
    held = (
        [slot for slot in state.flanges[flange.slug].holes.at("bagged") if slot.tag == bag.tag]
        if flange is not None
        else []
    )
    car = book.shop.store.car(book.shop.store.job(book.job).car)
    lines = [
        flange.name if flange is not None else bag.tag,
        f"{car.name}, job {book.job}",
        _count_line(bag, flange),
        *(_details(flange, held) if flange is not None else ()),
        _foot(book, bag),
    ]
    return TagAnswer(
        tag=bag.tag,
        car=car.name,
        job=book.job,
        flange=bag.flange,
        flange_name=flange.name if flange is not None else "",
        count=bag.count,
        drawn=len(flange.holes) if flange is not None else 0,
        lines=tuple(line for line in lines if line),
        address=bag_address(book.job, bag.tag, base),
    )


def _count_line(bag: Bag, flange: Flange | None) -> str:
    if flange is None:
        return f"bag {bag.tag}"
    word = flange.fastener if bag.count == 1 else f"{flange.fastener}s"
    thread = f" {flange.thread}" if flange.thread else ""
    return f"bag {bag.tag}: {bag.count} of {len(flange.holes)} {word}{thread}"


def _details(flange: Flange, held: list[Slot]) -> list[str]:
    """Lengths by hole, washers, sealant, and what is not as drawn."""
    drawn = {hole.number: hole for hole in flange.holes}
    lengths: dict[str, list[Slot]] = {}
    sealed: dict[str, list[Slot]] = {}
    for slot in held:
        hole = drawn[slot.number]
        if hole.length is not None:
            lengths.setdefault(bolt_length(hole.length), []).append(slot)
        if hole.sealant:
            sealed.setdefault(hole.sealant, []).append(slot)
    told = []
    if len(lengths) == 1:
        told.append(f"all {next(iter(lengths))} under the head")
    elif lengths:
        told.append("; ".join(f"{length}: {numbers(slots, 'hole')}" for length, slots in lengths.items()))
    washers = [slot for slot in held if drawn[slot.number].washer]
    if washers:
        new = ", fit new ones" if flange.washers_one_use else ""
        told.append(f"{len(washers)} × {drawn[washers[0].number].washer}{new}")
    told += [f"{sealant}: {numbers(slots, 'hole')}" for sealant, slots in sealed.items()]
    if not sealed:
        told.append("threads dry")
    odd = [(slot, line) for slot in held for line in slot.open_exceptions]
    told += [f"hole {slot.number}: {IN_WORDS[line.what]}" for slot, line in odd]
    return told


def _foot(book: Book, bag: Bag) -> str:
    entry = next(entry for entry in book.entries if entry.id == bag.entry)
    place = f", {bag.place}" if bag.place else ""
    return f"{entry.at.date().isoformat()}, {entry.who}{place}"
