"""Boxes: a list of them, what one can and cannot yet work out, and typing in a new one."""

from __future__ import annotations

import json

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from bellhousing.errors import BellhousingError, BoxFileError
from bellhousing.tasks import shop_boxes
from bellhousing.web.pages import (
    Filled,
    Problem,
    Sent,
    as_json,
    kept,
    page,
    refused,
    shop_of,
    taking,
    wants_json,
)
from bellhousing.web.problems import NotFound

TAKES_BOXES = r"/boxes(/check|\.json)?"
LARGEST_FORM = 2**20
"""A box file of the largest size takes up to three times as much as a form [bytes]."""


def shown(request: Request) -> Response:
    """Every box the shop can use."""
    boxes = shop_boxes.boxes_of_shop(shop_of(request))
    if wants_json(request):
        text = json.dumps([box.model_dump(mode="json") for box in boxes], ensure_ascii=False, indent=2)
        return Response(text, media_type="application/json")
    return page(request, "boxes.html", boxes=boxes)


def one(request: Request) -> Response:
    """One box: what it can and cannot yet work out, its figures, its windows."""
    shop, slug = shop_of(request), str(request.path_params["slug"])
    try:
        box = shop_boxes.box_of_shop(shop, slug)
        text = shop_boxes.text_of_box(shop, slug)
    except BoxFileError as error:
        if shop_boxes.own_file(shop, slug) is not None:
            return _typing(request, text=_own_text(request, slug), replace=slug, problem=Problem.of(error))
        raise NotFound(f"there is no box '{slug[:80]}'", remedy="look through the boxes") from None
    return as_json(box) if wants_json(request) else page(request, "box.html", box=box, text=text)


def new(request: Request) -> Response:
    """The field for a new box file, begun from a blank or from a copy; or for one of the shop's own."""
    shop = shop_of(request)
    begun, right = request.query_params.get("from", "blank"), request.query_params.get("right", "")
    if right and shop_boxes.own_file(shop, right) is not None:
        return _typing(request, text=_own_text(request, right), replace=right)
    try:
        text = shop_boxes.begun_text(shop, begun)
    except BoxFileError:
        raise NotFound(f"there is no box '{begun[:80]}' to begin from", remedy="choose another") from None
    return _typing(request, text=text, begun=begun)


def check(request: Request, sent: Sent) -> Response:
    """What a typed box file comes to, with nothing kept."""
    found = shop_boxes.check_box(shop_of(request), sent.text("text"), replace=sent.given("replace"))
    return as_json(found) if wants_json(request) else page(request, "box_check.html", found=found)


def save(request: Request, sent: Sent) -> Response:
    """Keep a typed box file; one that is refused comes back as it was typed."""
    try:
        box = shop_boxes.save_box(shop_of(request), sent.text("text"), replace=sent.given("replace"))
    except BellhousingError as error:
        return refused(request, error, 422) or _typing(
            request,
            text=sent.text("text"),
            replace=sent.text("replace"),
            begun=sent.text("begun"),
            problem=Problem.of(error),
            status=422,
        )
    return kept(request, box, f"/boxes/{box.slug}", 201)


def _typing(
    request: Request,
    *,
    text: str,
    replace: str = "",
    begun: str = "",
    problem: Problem | None = None,
    status: int = 200,
) -> Response:
    found = shop_boxes.check_box(shop_of(request), text, replace=replace or None)
    return page(
        request,
        "box_new.html",
        status=status,
        text=text,
        replace=replace,
        begun=begun,
        problem=problem,
        found=found,
        names=(*shop_boxes.BLANKS, *shop_boxes.box_names(shop_of(request))),
        filled=Filled(),
    )


def _own_text(request: Request, slug: str) -> str:
    path = shop_boxes.own_file(shop_of(request), slug)
    assert path is not None
    return path.read_text("utf-8", errors="replace")


ROUTES = [
    Route("/boxes", shown),
    Route("/boxes.json", shown),
    Route("/boxes", taking(save), methods=["POST"]),
    Route("/boxes/check", taking(check), methods=["POST"]),
    Route("/boxes/new", new),
    Route("/boxes/{slug:str}", one),
]
