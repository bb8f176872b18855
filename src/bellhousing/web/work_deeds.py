"""Everything that may be written in the book of work from a page, by name, with what a form sends for it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from bellhousing.errors import FindingError, RecordError
from bellhousing.tasks import accounting, building, ledger, ledger_parts, noting, ordering, stripping
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.before_off import need_measured, take_baseline
from bellhousing.tasks.part_looks import look_at_part
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.work_book import Sender, book_lines, find_flange, find_part, read_book, withdraw_work
from bellhousing.web.pages import Sent, whole_of
from bellhousing.work.build import build
from bellhousing.work.entries import AS_DRAWN, WITHDRAWN
from bellhousing.work.orders import TO_ORDER
from bellhousing.work.strip import aimed_at

Deed = Callable[[Shop, int, Sent, Sender], Shape]
CHOSEN = "part-"
MOST_DIGITS = 6
BARE = re.compile(r"[+-]?\d+(?:[.,]\d+)?", re.ASCII)


def whole(sent: Sent, name: str, otherwise: int | None = None) -> int:
    """A whole number that was sent.

    Raises
    ------
    FindingError : it is none
    """
    text = sent.text(name).strip()
    if not text and otherwise is not None:
        return otherwise
    found = whole_of(text, MOST_DIGITS)
    if found is None:
        raise FindingError(f"'{text[:40]}' is no whole number", where=name, remedy="write it in figures")
    return found


def figure(sent: Sent, name: str) -> str:
    """A figure as typed; a bare one is meant in the unit its field asked for."""
    text = sent.text(name).strip()
    meant = sent.given("figure_unit")
    return f"{text} {meant}" if meant and BARE.fullmatch(text) else text


def aim(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Choose the parts the strip is to reach: ticked, typed, or both."""
    ticked = [name.removeprefix(CHOSEN) for name in sent.values if name.startswith(CHOSEN)]
    typed = [text.strip() for text in sent.text("parts").replace(";", ",").split(",") if text.strip()]
    return stripping.choose_aims(shop, job, [*ticked, *typed], **sender)


def bolts(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Tick bolts out, into a bag, or back; not out while what it destroys is not known."""
    kind, flange = sent.text("kind"), sent.text("flange")
    if kind != "bolts-back":
        book = read_book(shop, job)
        tree = book.need_tree()
        need_measured(book, tree.held_by(find_flange(tree, flange).slug))
    holes = sent.text("holes") or AS_DRAWN
    tag, place = sent.text("tag"), sent.text("place")
    return ledger.tick(shop, job, kind, flange, holes, tag=tag, place=place, **sender)


def balls(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Tick check balls out or back."""
    pockets = sent.text("pockets") or AS_DRAWN
    return ledger.tick_balls(shop, job, sent.text("kind"), sent.text("part"), pockets, **sender)


def exception(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Note what is not as drawn at a hole or pocket."""
    return ledger.note_exception(
        shop,
        job,
        sent.text("where"),
        whole(sent, "number"),
        sent.text("what"),
        note=sent.text("note"),
        where_now=sent.text("where_now"),
        pocket=bool(sent.given("pocket")),
        **sender,
    )


def answer(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Answer what was not as drawn."""
    return ledger.answer_exception(
        shop,
        job,
        sent.text("where"),
        whole(sent, "number"),
        sent.text("how"),
        note=sent.text("note"),
        what=sent.text("what"),
        pocket=bool(sent.given("pocket")),
        **sender,
    )


def puller(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Note puller bolts in, or out again."""
    into = sent.text("kind") == "in"
    return ledger.puller(shop, job, sent.text("flange"), into=into, left=whole(sent, "left", 0), **sender)


def renewed(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Note how many of a one-use part are new."""
    count = whole(sent, "count") if sent.given("count") else None
    return ledger.renewed(shop, job, sent.text("what"), count, **sender)


def part(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Tick a part off, once what that destroys is known, or on, once what holds is signed."""
    book = read_book(shop, job)
    found = find_part(book.need_tree(), sent.text("part"))
    off = sent.text("kind") == "off"
    if off:
        need_measured(book, (found,))
    else:
        _need_signed(shop, job, found.slug)
    return ledger_parts.move_part(shop, job, found.slug, off=off, note=sent.text("note"), **sender)


def _need_signed(shop: Shop, job: int, slug: str) -> None:
    book = read_book(shop, job)
    steps = build(book.need_tree(), book.entries).steps
    step = next((one for one in steps if one.part.slug == slug and not one.back), None)
    if step is not None and step.waits_for:
        raise RecordError(
            f"hold: {step.waits_for[0]}",
            where=step.part.name,
            remedy="nothing goes on top of it until it is measured or checked and signed",
        )


def bag(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Note where a bag lies."""
    return ledger_parts.note_bag(
        shop, job, sent.text("tag"), sent.text("place"), flange=sent.text("flange"), **sender
    )


def baseline(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Keep what was measured before a part comes off, or that it was declined and why."""
    where, measure, declined = sent.text("part"), sent.text("measure"), sent.text("declined")
    if declined:
        return ledger_parts.note_baseline(shop, job, where, measure, declined=declined, **sender)
    return take_baseline(shop, job, where, measure, figure(sent, "value"), **sender)


def part_finding(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Keep what a part looks like and what is decided."""
    return look_at_part(
        shop,
        job,
        sent.text("part"),
        sent.text("condition"),
        sent.text("decision"),
        reason=sent.text("reason"),
        number=sent.text("figure"),
        **sender,
    )


def reason(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Close one open thing by a written reason."""
    return ledger_parts.give_reason(shop, job, sent.text("item"), sent.text("text"), **sender)


def gate(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Keep what a gate showed, signed by whoever is named."""
    said, typed = sent.text("said"), figure(sent, "text")
    text = {"": typed, "done": f"done {typed}".strip(), "no": f"no, {typed}" if typed else ""}.get(
        said, typed
    )
    if said == "no" and not typed:
        raise FindingError("say what is not right", where=sent.text("gate").replace("-", " "))
    if not text:
        raise FindingError("say what it showed", where=sent.text("gate").replace("-", " "))
    return building.note_gate(shop, job, sent.text("gate"), text, who=sender["who"], key=sender.get("key"))


def torque(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Note one round of a flange torqued, or all that are left."""
    step = whole(sent, "step") if sent.given("step") else None
    return building.note_torque(
        shop, job, sent.text("flange"), step, who=sender["who"], key=sender.get("key")
    )


def number(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Keep a number the supplier asks for."""
    return ordering.note_number(shop, job, sent.text("name"), sent.text("value"), **sender)


def note(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Note something found while working, as on the sheet of the job."""
    return noting.note(shop, job, sent.text("text"), who=sender["who"], key=sender.get("key"))


def order(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Put something on the order."""
    count = whole(sent, "count") if sent.given("count") else None
    planned = aimed_at(shop.store.work_entries(job))
    return ordering.add_line(
        shop,
        job,
        sent.text("what"),
        count=count,
        hard=bool(sent.given("hard")),
        why=sent.text("why"),
        planned=planned,
        **sender,
    )


def order_status(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Say how a line of the order stands."""
    return ordering.set_status(
        shop,
        job,
        sent.text("line"),
        sent.text("status"),
        supplier=sent.text("supplier"),
        price=sent.text("price"),
        promised=sent.text("promised"),
        note=sent.text("note"),
        without_numbers=sent.text("without_numbers"),
        **sender,
    )


def order_kit(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Say of every line of one sort that is still to be ordered that it is ordered, from one supplier."""
    sort, key = sent.text("sort"), sender.get("key")
    lines = ordering.orders_of_job(shop, job, fits=False).lines
    found = [line for line in lines if line.hardness == sort and line.status == TO_ORDER]
    if not found:
        raise RecordError("nothing of it is still to be ordered", remedy="put it on the order first")
    for place, line in enumerate(found):
        own = Sender(who=sender["who"], key=None if key is None else f"{key}-{place}")
        ordering.set_status(
            shop,
            job,
            line.line,
            "ordered",
            supplier=sent.text("supplier"),
            promised=sent.text("promised"),
            without_numbers=sent.text("without_numbers"),
            **own,
        )
    return ordering.orders_of_job(shop, job, fits=False)


def arrived(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Say that a line came and how it compares with the old one."""
    return ordering.note_arrival(
        shop, job, sent.text("line"), sent.text("check"), note=sent.text("note"), **sender
    )


def old_part(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Say what became of an old part."""
    return ordering.note_old_part(
        shop, job, sent.text("line"), sent.text("what"), note=sent.text("note"), **sender
    )


def authority(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Keep the owner's yes to a stage."""
    return accounting.authorise(
        shop,
        job,
        sent.text("stage"),
        sent.text("sum"),
        by=sent.text("by"),
        how=sent.text("how"),
        when=sent.text("when"),
        hours=sent.text("hours"),
        **sender,
    )


def variation(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Keep the owner's yes to more."""
    return accounting.vary(
        shop,
        job,
        sent.text("sum"),
        sent.text("why"),
        by=sent.text("by"),
        how=sent.text("how"),
        when=sent.text("when"),
        **sender,
    )


def hours(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Put hours down."""
    return accounting.put_hours(
        shop, job, sent.text("hours"), sent.text("what"), stage=sent.text("stage"), **sender
    )


def price(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Put something else on the bill."""
    return accounting.put_price(
        shop, job, sent.text("kind") or "other", sent.text("what"), sent.text("sum"), **sender
    )


def terms(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Say the rate and the tax."""
    return accounting.set_terms(shop, job, rate=sent.text("rate"), tax=sent.text("tax"), **sender)


def withdraw(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Take an entry back; sent twice it is done once."""
    entry, why = whole(sent, "entry"), sent.text("reason")
    chain = book_lines(shop, job, entry)
    done = chain[-1].kind == WITHDRAWN and chain[-1].supersedes == entry
    if not (done and chain[-1].data.get("reason") == why.strip()):
        withdraw_work(shop, job, entry, why, who=sender["who"])
    return ledger.ledger_of_job(shop, job)


DEEDS: Mapping[str, Deed] = {
    "aim": aim,
    "answer": answer,
    "arrived": arrived,
    "authority": authority,
    "bag": bag,
    "balls": balls,
    "baseline": baseline,
    "bolts": bolts,
    "exception": exception,
    "gate": gate,
    "hours": hours,
    "note": note,
    "number": number,
    "old-part": old_part,
    "order": order,
    "order-kit": order_kit,
    "order-status": order_status,
    "part": part,
    "part-finding": part_finding,
    "price": price,
    "puller": puller,
    "reason": reason,
    "renewed": renewed,
    "terms": terms,
    "torque": torque,
    "variation": variation,
    "withdraw": withdraw,
}


def do(shop: Shop, job: int, sent: Sent, sender: Sender) -> Shape:
    """Do what a form asks.

    Raises
    ------
    FindingError : there is no deed of that name
    BellhousingError : as the deed
    """
    deed = DEEDS.get(sent.text("deed"))
    if deed is None:
        raise FindingError(
            f"there is no '{sent.text('deed')[:40]}' to do", remedy="use the buttons of a page"
        )
    return deed(shop, job, sent, sender)
