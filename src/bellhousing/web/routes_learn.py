"""What closed jobs have taught: a page, its JSON, the setting, jobs forgotten, tallies out and in."""

from __future__ import annotations

from collections.abc import Callable

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from bellhousing.errors import BellhousingError, RecordError
from bellhousing.tasks import learning
from bellhousing.tasks.learn_shapes import LearnAnswer
from bellhousing.web.pages import (
    Filled,
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

SHOWN = 20


def learn(request: Request) -> Response:
    """What moved, and what it moved on."""
    if wants_json(request):
        return as_json(learning.learning(shop_of(request)))
    return _page(request)


def _page(request: Request, filled: Filled | None = None, status: int = 200) -> Response:
    return page(
        request,
        "learn.html",
        status=status,
        learn=learning.learning(shop_of(request)),
        most=SHOWN,
        filled=filled or Filled(),
    )


def tally(request: Request) -> Response:
    """The shop's own counts as a file to save."""
    return Response(
        learning.tally_text(shop_of(request)),
        media_type="application/json",
        headers={"content-disposition": 'attachment; filename="tally.json"'},
    )


def use(request: Request, sent: Sent) -> Response:
    """Use the shop's own closed jobs or leave them aside."""
    wanted = sent.text("use") == "on"
    return _done(request, "use", sent, lambda: learning.use_own(shop_of(request), wanted))


def forget(request: Request, sent: Sent) -> Response:
    """Learn no more from a job, or again."""
    shop = shop_of(request)
    return _done(
        request,
        "job",
        sent,
        lambda: (learning.recall if sent.text("again") else learning.forget)(shop, _number(sent)),
    )


def take_in(request: Request, sent: Sent) -> Response:
    """Take in the counts that were pasted."""
    content = sent.text("tally").encode("utf-8", "replace")
    return _done(
        request, "tally", sent, lambda: learning.take_in(shop_of(request), content, "what was pasted")
    )


def take_back(request: Request, sent: Sent) -> Response:
    """Take a tally back."""
    return _done(request, "back", sent, lambda: learning.take_back(shop_of(request), sent.text("digest")))


def _number(sent: Sent) -> int:
    number = whole_of(sent.text("job").strip())
    if number is None:
        raise RecordError("no job is named", remedy="give its number")
    return number


def _done(request: Request, form: str, sent: Sent, act: Callable[[], LearnAnswer]) -> Response:
    try:
        answer = act()
    except BellhousingError as error:
        return sent_back(request, error, form, sent, lambda filled: _page(request, filled, 422))
    return kept(request, answer, "/learn")


ROUTES = [
    Route("/learn", learn),
    Route("/learn.json", learn),
    Route("/learn/tally.json", tally),
    Route("/learn/use", taking(use), methods=["POST"]),
    Route("/learn/job", taking(forget), methods=["POST"]),
    Route("/learn/tally", taking(take_in), methods=["POST"]),
    Route("/learn/back", taking(take_back), methods=["POST"]),
]
