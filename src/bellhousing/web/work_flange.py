"""Flanges, parts and bags as their pages show them."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response

from bellhousing.errors import BellhousingError, RecordError
from bellhousing.tasks.ledger import next_tag
from bellhousing.tasks.ledger_shapes import BagAnswer, TagAnswer
from bellhousing.tasks.measuring import measured_on_job
from bellhousing.tasks.photos import photos_of_job
from bellhousing.tasks.strip_shapes import StripBaseline
from bellhousing.tasks.strip_words import StripTeller, loose_at
from bellhousing.tasks.tagging import drawn_tag, tag_of_bag, tags_of_job
from bellhousing.tasks.work_book import BookLine, book_lines
from bellhousing.web.guard import LOCAL_HOSTS
from bellhousing.web.pages import Filled, shop_of
from bellhousing.web.problems import NotFound
from bellhousing.web.work_frame import Frame, Taps, drawing_of, frame_of, work_page
from bellhousing.web.work_strip import baselines_said
from bellhousing.web.work_words import line_said
from bellhousing.work.entries import DECISIONS, DECLINED, EXCEPTIONS, WITHDRAWN
from bellhousing.work.open_items import IN_WORDS
from bellhousing.work.orders import decisions
from bellhousing.work.strip import StripPlan


@dataclass(frozen=True)
class Told:
    """One entry of the book on a page: what it says, and whether it may be taken back."""

    line: BookLine
    text: str
    may_go: bool


def history(frame: Frame, *subjects: str) -> tuple[Told, ...]:
    """What the book says of some things, newest first; of everything where nothing is named."""
    tree = frame.book.tree
    lines = book_lines(frame.book.shop, frame.number)
    return tuple(
        Told(line, line_said(tree, line), frame.open and line.stands and line.kind != WITHDRAWN)
        for line in reversed(lines)
        if not subjects or line.subject in subjects
    )


def to_measure(frame: Frame, *slugs: str) -> tuple[tuple[str, str, StripBaseline], ...]:
    """What must be known before some parts come off and is not: part, its name, and what."""
    tree, box = frame.book.tree, frame.book.box
    if tree is None or box is None:
        return ()
    left = {part.slug: part.to_measure for part in frame.ledger.parts}
    teller = StripTeller(box, tree, StripPlan((), 0.0, (), ()), {})
    return tuple(
        (slug, tree.parts[slug].name, teller.baseline(row))
        for slug in slugs
        for row in tree.parts[slug].measure_before
        if row.measure in left[slug]
    )


def flange_page(
    request: Request, number: int, slug: str, filled: Filled | None = None, status: int = 200
) -> Response:
    """The page of one flange: its drawing, its bolts, what is not as drawn."""
    frame = frame_of(request, number, f"/job/{number}/flange/{slug}")
    flange = frame.flange(slug)
    tree = frame.book.need_tree()
    held = tree.held_by(slug)
    off = {part.slug for part in frame.ledger.parts if part.off}
    return work_page(
        request,
        "work_flange.html",
        frame,
        filled=filled,
        status=status,
        flange=flange,
        drawing=drawing_of(flange),
        taps=Taps.of(flange.holes),
        held=held,
        blocked=to_measure(frame, *(part.slug for part in held if part.slug not in off)),
        bags=[bag for bag in frame.ledger.bags if bag.flange == slug],
        tag=next_tag(frame.ledger.bags, slug),
        told=history(frame, slug),
        jack=tree.flanges[slug].jack_holes,
        on=[part for part in held if part.slug not in off],
        exceptions=[(kind, IN_WORDS[kind]) for kind in EXCEPTIONS],
        declined=DECLINED,
    )


def part_page(
    request: Request, number: int, slug: str, filled: Filled | None = None, status: int = 200
) -> Response:
    """The page of one part: off or on, what it looks like, its balls, what must be new at it, photos."""
    frame = frame_of(request, number, f"/job/{number}/part/{slug}")
    part = frame.part(slug)
    tree = frame.book.need_tree()
    found = tree.parts[slug]
    teller = StripTeller(frame.book.need_box(), tree, StripPlan((), 0.0, (), ()), {})
    shop = shop_of(request)
    return work_page(
        request,
        "work_part.html",
        frame,
        filled=filled,
        status=status,
        part=part,
        found=found,
        weight=teller.weight(found),
        loose=loose_at(found),
        cautions=[teller.caution(name) for name in found.cautions],
        before=to_measure(frame, slug),
        said=baselines_said(frame),
        measured=[
            one
            for one in measured_on_job(shop, number)
            if one.counts and one.measure in {row.measure for row in found.measure_before}
        ],
        flange=next((one for one in frame.ledger.flanges if one.slug == part.flange), None),
        taps=Taps.of(part.pockets),
        photos=photos_of_job(shop, number, part=part.name),
        photo_part=part.name,
        decided=decisions(frame.book.entries).get(slug),
        told=history(frame, slug),
        decisions=DECISIONS,
        declined=DECLINED,
        exceptions=[(kind, IN_WORDS[kind]) for kind in EXCEPTIONS],
    )


def flanges_page(request: Request, number: int, filled: Filled | None = None, status: int = 200) -> Response:
    """Every flange and every bag of a job."""
    frame = frame_of(request, number, f"/job/{number}/flanges")
    touched = [one for one in frame.ledger.flanges if one.touched]
    return work_page(
        request,
        "work_flanges.html",
        frame,
        filled=filled,
        status=status,
        touched=touched,
        others=[one for one in frame.ledger.flanges if not one.touched],
        bags=frame.ledger.bags,
    )


@dataclass(frozen=True)
class DrawnTag:
    """A tag and its picture."""

    tag: TagAnswer
    svg: Markup


def tags_page(request: Request, number: int) -> Response:
    """The tags of every bag with something in it, to be printed and cut."""
    frame = frame_of(request, number, f"/job/{number}/tags")
    try:
        tags = tags_of_job(shop_of(request), number, base=str(request.base_url))
    except BellhousingError:
        tags = ()
    return work_page(
        request,
        "work_tags.html",
        frame,
        tags=[DrawnTag(tag, Markup(drawn_tag(tag))) for tag in tags],
        away=request.url.hostname not in LOCAL_HOSTS,
    )


def bag_page(
    request: Request, number: int, tag: str, filled: Filled | None = None, status: int = 200
) -> Response:
    """The page of one bag: what is in it, put back one by one or all at once."""
    frame = frame_of(request, number, f"/job/{number}/bag/{tag}")
    try:
        told = tag_of_bag(shop_of(request), number, tag, base=str(request.base_url))
    except RecordError as error:
        raise NotFound(error.what, where=f"job {number}", remedy=error.remedy or "") from None
    bag: BagAnswer = next(one for one in frame.ledger.bags if one.tag == tag)
    flange = None if not bag.flange else frame.flange(bag.flange)
    inside = () if flange is None else tuple(hole for hole in flange.holes if hole.tag == tag)
    return work_page(
        request,
        "work_bag.html",
        frame,
        filled=filled,
        status=status,
        bag=bag,
        tag=told,
        svg=Markup(drawn_tag(told)),
        flange=flange,
        inside=inside,
        drawing=None
        if flange is None
        else drawing_of(flange, link=f"/job/{number}/flange/{flange.slug}#hole-{{}}"),
        told=history(frame, tag),
    )


def book_page(request: Request, number: int, filled: Filled | None = None, status: int = 200) -> Response:
    """The whole book of the work, with what was put right and taken back."""
    frame = frame_of(request, number, f"/job/{number}/book")
    return work_page(request, "work_book.html", frame, filled=filled, status=status, told=history(frame))
