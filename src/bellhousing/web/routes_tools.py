"""The page of the bench that belongs to no job: stock, rings, bolts, pulling screws; and the same as JSON."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from bellhousing.errors import BellhousingError, QuantityError, RecordError
from bellhousing.tasks import opening, stocking
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.stocking import StockAnswer
from bellhousing.web.bench_tools import GROUPS, TOOLS
from bellhousing.web.pages import (
    Filled,
    Problem,
    Sent,
    as_json,
    kept,
    page,
    sent_back,
    shop_of,
    taking,
    wants_json,
    whole_of,
)
from bellhousing.web.problems import NotFound
from bellhousing.web.tool_shapes import Shown

STALE = "the stock has changed since this page was shown"


@dataclass(frozen=True)
class Kind:
    """A selective part that can be booked: the box it is for, and its name."""

    value: str
    name: str


def tools(request: Request) -> Response:
    """Stock and small sums: the page, with the answer of the form that was sent, if one was."""
    asked = request.query_params.get("tool", "")
    if asked not in TOOLS:
        return stock(request) if wants_json(request) else _page(request)
    if wants_json(request):
        return _worked_out(request, asked)
    sent = Sent({name: value for name, value in request.query_params.items() if len(value) <= 200})
    if not TOOLS[asked].filled(sent.values):
        return _page(request, Filled(asked, sent.values))
    try:
        answer = TOOLS[asked].show(TOOLS[asked].work(sent))
    except BellhousingError as error:
        return _page(request, Filled(asked, sent.values, Problem.of(error)), status=422)
    return _page(request, Filled(asked, sent.values), answer)


def tool(request: Request) -> Response:
    """One small sum as JSON, its figures in the address."""
    name = request.path_params["tool"]
    if name not in TOOLS:
        raise NotFound(f"nothing is worked out under '{name[:40]}'", remedy=f"say one of: {', '.join(TOOLS)}")
    return _worked_out(request, name)


def _worked_out(request: Request, name: str) -> Response:
    return as_json(TOOLS[name].work(Sent(dict(request.query_params))))


def stock(request: Request) -> Response:
    """What is on the shelf and on order, as JSON."""
    found = stocking.stock_of_shop(shop_of(request), request.query_params.get("box"))
    text = json.dumps([entry.model_dump(mode="json") for entry in found], ensure_ascii=False, indent=2)
    return Response(text, media_type="application/json")


def _page(
    request: Request, filled: Filled | None = None, answer: Shown | None = None, *, status: int = 200
) -> Response:
    shop = shop_of(request)
    listed = stocking.stock_of_shop(shop)
    return page(
        request,
        "tools.html",
        status=status,
        stock=listed,
        seen=_seen(listed),
        kinds=_kinds(shop),
        groups=GROUPS,
        answer=answer,
        filled=filled or Filled(),
    )


def _kinds(shop: Shop) -> tuple[Kind, ...]:
    """Every selective part of the boxes of the shop's cars."""
    found = []
    for name in sorted({car.box for car in opening.cars(shop)}):
        try:
            box = shop.box(name)
        except BellhousingError:  # a box file that has gone since
            continue
        found += [
            Kind(f"{name} {part.id}", f"{part.name}, {box.name}") for part in box.selective_parts.values()
        ]
    return tuple(found)


def _seen(listed: tuple[StockAnswer, ...]) -> str:
    """What the page showed, so that the same form sent twice is noticed."""
    return f"{sum(entry.shelf for entry in listed)}-{sum(entry.on_order for entry in listed)}"


def _booked(act: Callable[[Shop, Sent, str, str], StockAnswer]) -> Callable[[Request, Sent], Response]:
    """A route that books something, unless the page it was sent from is out of date."""

    def book(request: Request, sent: Sent) -> Response:
        shop = shop_of(request)
        try:
            seen = sent.given("seen")
            if seen is not None and seen != _seen(stocking.stock_of_shop(shop)):
                raise RecordError(STALE, remedy="look at the list, and send it again if it is still wanted")
            box, _, part = (sent.given("kind") or f"{sent.text('box')} {sent.text('part')}").rpartition(" ")
            answer = act(shop, sent, box, part)
        except BellhousingError as error:
            return sent_back(request, error, "stock", sent, lambda back: _page(request, back, status=422))
        return kept(request, answer, "/bench#stock")

    book.__name__ = act.__name__.lstrip("_")
    book.__doc__ = act.__doc__
    return book


def _add(shop: Shop, sent: Sent, box: str, part: str) -> StockAnswer:
    """Put pieces of a part on the shelf, or note them as ordered."""
    ordered = bool(sent.given("ordered"))
    count = _number(sent, "count", "1")
    return stocking.add_stock(
        shop, box, part, sent.text("size"), count, mark=sent.text("mark"), ordered=ordered
    )


def _take(shop: Shop, sent: Sent, box: str, part: str) -> StockAnswer:
    """Take pieces of a part off the shelf."""
    count, job = _number(sent, "count", "1"), sent.given("job")
    of = None if job is None else _number(sent, "job")
    return stocking.use_stock(shop, box, part, sent.text("size"), count, mark=sent.text("mark"), job=of)


def _arrived(shop: Shop, sent: Sent, box: str, part: str) -> StockAnswer:
    """Ordered pieces of a part are on the shelf now."""
    count = _number(sent, "count", "1")
    return stocking.arrived(shop, box, part, sent.text("size"), count, mark=sent.text("mark"))


def _count(shop: Shop, sent: Sent, box: str, part: str) -> StockAnswer:
    """Put the book right by what was counted of a part."""
    ordered = None if sent.given("on_order") is None else _number(sent, "on_order")
    shelf = _number(sent, "shelf")
    return stocking.count_stock(shop, box, part, sent.text("size"), shelf, ordered, mark=sent.text("mark"))


def _number(sent: Sent, name: str, usual: str = "") -> int:
    text = sent.text(name).strip() or usual
    found = whole_of(text, 9)
    if found is None:
        raise QuantityError("that is no whole number", where=name.replace("_", " "), remedy="such as 2")
    return found


BOOKS: Mapping[str, Callable[[Shop, Sent, str, str], StockAnswer]] = {
    "add": _add,
    "take": _take,
    "arrived": _arrived,
    "count": _count,
}
ROUTES = [
    Route("/bench", tools),
    Route("/bench/{tool}.json", tool),
    Route("/stock.json", stock),
    *(Route(f"/stock/{name}", taking(_booked(act)), methods=["POST"]) for name, act in BOOKS.items()),
]
