"""The work on a job: strip, flanges, parts, bags, build, orders, money, what is open, the book."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from urllib.parse import unquote

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from bellhousing.errors import BellhousingError
from bellhousing.tasks import ledger
from bellhousing.tasks.accounting import account_of_job
from bellhousing.tasks.answers import NoteAnswer
from bellhousing.tasks.building import building
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.stripping import strip_of_job
from bellhousing.tasks.tagging import tag_of_bag
from bellhousing.tasks.work_book import Sender, book_lines
from bellhousing.web.pages import (
    Filled,
    Sent,
    address,
    as_json,
    own_path,
    see,
    sent_back,
    shop_of,
    taking,
    wants_json,
)
from bellhousing.web.sheet import number_of, sheet_page
from bellhousing.web.work_build import build_page
from bellhousing.web.work_deeds import do
from bellhousing.web.work_flange import bag_page, book_page, flange_page, flanges_page, part_page, tags_page
from bellhousing.web.work_frame import frame_of, who_signs
from bellhousing.web.work_parts import money_page, open_page, orders_shown, parts_page
from bellhousing.web.work_strip import strip_page

Page = Callable[[Request, int, Filled | None, int], Response]
PLAIN: dict[str, Page] = {
    "strip": strip_page,
    "flanges": flanges_page,
    "build": build_page,
    "parts": parts_page,
    "money": money_page,
    "open": open_page,
    "book": book_page,
}
NAMED: dict[str, Callable[[Request, int, str, Filled | None, int], Response]] = {
    "flange": flange_page,
    "part": part_page,
    "bag": bag_page,
}
OWN = re.compile(r"/job/\d+/(?P<page>[a-z]+)(?:/(?P<name>[^/]+))?")


def show(
    request: Request, number: int, path: str, filled: Filled | None = None, status: int = 200
) -> Response:
    """The page a form stood on, with the form as it was filled."""
    found = OWN.fullmatch(path)
    if found is not None and found["name"] is None and found["page"] in PLAIN:
        return PLAIN[found["page"]](request, number, filled, status)
    if found is not None and found["name"] is not None and found["page"] in NAMED:
        return NAMED[found["page"]](request, number, unquote(found["name"]), filled, status)
    return sheet_page(request, number, filled, status)


def work(request: Request, sent: Sent) -> Response:
    """Write in the book of work; what is refused comes back on its page as it was sent."""
    shop, number = shop_of(request), number_of(request)
    back = own_path(sent.text("back"), f"/job/{number}/strip")
    sender = Sender(who=who_signs(request, sent.text("who")), key=sent.given("key"))
    try:
        # One at a time in this program; what others write meanwhile is minded when the entry is kept.
        with request.app.state.writing:
            before = _last(shop, number)
            answer = do(shop, number, sent, sender)
            after = _last(shop, number)
    except BellhousingError as error:
        form = sent.text("form") or sent.text("deed")
        return sent_back(request, error, form, sent, lambda filled: show(request, number, back, filled, 422))
    if wants_json(request):
        return as_json(answer)
    entry = getattr(answer, "entry", None) or (after if after != before else None)
    noted = answer.findings[0].number if isinstance(answer, NoteAnswer) and answer.findings else None
    return see(address(back, sent.text("form"), did=entry, noted=noted))


def _last(shop: Shop, number: int) -> int | None:
    entries = shop.store.work_entries(number)
    return entries[-1].id if entries else None


def strip(request: Request) -> Response:
    """The strip: its page, or the plan as JSON, with ?to= to other parts."""
    number = number_of(request)
    if not wants_json(request):
        return strip_page(request, number)
    to = [part for part in request.query_params.get("to", "").split(",") if part.strip()]
    return as_json(strip_of_job(shop_of(request), number, to))


def build(request: Request) -> Response:
    """The build: its page, or JSON."""
    number = number_of(request)
    if wants_json(request):
        return as_json(building(shop_of(request), number))
    return build_page(request, number)


def parts(request: Request) -> Response:
    """What has to be got: its page, or JSON."""
    number = number_of(request)
    if wants_json(request):
        frame = frame_of(request, number, request.url.path)
        fits = bool(request.query_params.get("fits"))
        return as_json(orders_shown(shop_of(request), frame, fits=fits))
    return parts_page(request, number)


def money(request: Request) -> Response:
    """Hours and money: the page, or JSON."""
    number = number_of(request)
    if wants_json(request):
        return as_json(account_of_job(shop_of(request), number))
    return money_page(request, number)


def still_open(request: Request) -> Response:
    """What keeps the job open: the page, or JSON."""
    number = number_of(request)
    if wants_json(request):
        return as_json(ledger.open_on_job(shop_of(request), number))
    return open_page(request, number)


def book(request: Request) -> Response:
    """The book of the work: the page, or JSON."""
    number = number_of(request)
    if wants_json(request):
        lines = [line.model_dump(mode="json") for line in book_lines(shop_of(request), number)]
        return Response(json.dumps(lines, ensure_ascii=False, indent=2), media_type="application/json")
    return book_page(request, number)


def flanges(request: Request) -> Response:
    """Every flange and bag: the page, or the whole ledger as JSON."""
    number = number_of(request)
    if wants_json(request):
        return as_json(ledger.ledger_of_job(shop_of(request), number))
    return flanges_page(request, number)


def flange(request: Request) -> Response:
    """One flange: its page, or JSON."""
    return _named(request, "flange")


def part(request: Request) -> Response:
    """One part: its page, or JSON."""
    return _named(request, "part")


def _named(request: Request, kind: str) -> Response:
    number, name = number_of(request), str(request.path_params["name"])
    if not wants_json(request):
        return NAMED[kind](request, number, name, None, 200)
    frame = frame_of(request, number, request.url.path)
    return as_json(frame.flange(name) if kind == "flange" else frame.part(name))


def bag(request: Request) -> Response:
    """One bag: its page, which the code on its tag opens, or JSON."""
    number, name = number_of(request), str(request.path_params["name"])
    if wants_json(request):
        return as_json(tag_of_bag(shop_of(request), number, name, base=str(request.base_url)))
    return bag_page(request, number, name)


def tags(request: Request) -> Response:
    """The tags of all bags, to be printed."""
    return tags_page(request, number_of(request))


_READ = {
    "strip": strip,
    "build": build,
    "parts": parts,
    "money": money,
    "open": still_open,
    "book": book,
    "flanges": flanges,
}
ROUTES = [
    Route("/job/{number:int}/work", taking(work), methods=["POST"]),
    Route("/job/{number:int}/work.json", taking(work), methods=["POST"]),
    *(Route(f"/job/{{number:int}}/{name}", handler) for name, handler in _READ.items()),
    *(Route(f"/job/{{number:int}}/{name}.json", handler) for name, handler in _READ.items()),
    Route("/job/{number:int}/ledger.json", flanges),
    Route("/job/{number:int}/tags", tags),
    Route("/job/{number:int}/flange/{name}.json", flange),
    Route("/job/{number:int}/flange/{name}", flange),
    Route("/job/{number:int}/part/{name}.json", part),
    Route("/job/{number:int}/part/{name}", part),
    Route("/job/{number:int}/bag/{name}.json", bag),
    Route("/job/{number:int}/bag/{name}", bag),
]
