"""Errors as pages and as JSON: what was wrong, where, and what would be right."""

from __future__ import annotations

import logging
import re

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from bellhousing.errors import BellhousingError
from bellhousing.web.guard import HEADERS, LARGEST_BODY, TooLarge
from bellhousing.web.pages import Problem, page, see, wants_json

LOG = logging.getLogger("bellhousing.web")
REMEDIES = {
    401: "log in; what you wrote stays in this browser and is sent then",
    403: "open Bellhousing in this browser and do it from its own pages",
    404: "go back to the shop's first page",
    405: "use the buttons of the page, or send it the other way (GET to read, POST to keep)",
    413: "what is sent at once may hold 64 kB; send it in pieces",
    421: "use the address that was printed when Bellhousing was started",
}
# Where a form stands that is sent to an address of its own, asked for again by somebody who reads.
FORMS = tuple(
    (re.compile(sent_to), stands)
    for sent_to, stands in (
        (r"(/job/\d+)/(?:note|understand)", r"\1#write"),
        (r"(/job/\d+)/answer", r"\1#complaint"),
        (r"(/job/\d+)/entry/\d+/\w+", r"\1#findings"),
        (r"(/job/\d+)/(?:close|reopen)", r"\1#job-end"),
        (r"(/job/\d+)/work", r"\1#strip"),
        (r"(/job/\d+)/leak", r"\1/leaks"),
        (r"(/job/\d+)/measure", r"\1/bench"),
        (r"(/job/\d+/photos/\d+)/\w+", r"\1"),
        (r"(/job/\d+/share)/\d+/revoke", r"\1"),
        (r"/jobs", "/#open-job"),
        (r"(/learn|/due|/people)/\w+", r"\1"),
        (r"/boxes/check", "/boxes/new"),
        (r"/stock/\w+", "/bench#stock"),
        (r"/unit|/logout", "/"),
    )
)
WHAT = {404: "there is no such page", 405: "this address does not take that"}
TITLES = {
    401: "Not logged in",
    409: "Not taken",
    410: "This link shows nothing any more",
    429: "Too often",
    403: "Not taken",
    404: "Not found",
    413: "Too large",
    500: "Something broke",
}


class NotFound(BellhousingError):
    """A job or entry that is not in the book."""


def tell(request: Request, problem: Problem, status: int) -> Response:
    """One problem, as JSON or as a page of its own."""
    if wants_json(request):
        return JSONResponse(problem.as_json(), status_code=status)
    title = TITLES.get(status, "Not as sent")
    return page(request, "problem.html", status=status, problem=problem, title=title)


def on_refused(request: Request, error: Exception) -> Response:
    """An error that the user may see."""
    assert isinstance(error, BellhousingError)
    return tell(request, Problem.of(error), 404 if isinstance(error, NotFound) else 422)


def on_http(request: Request, error: Exception) -> Response:
    """An error of the protocol: no such page, too large, not from here."""
    assert isinstance(error, HTTPException)
    status = error.status_code
    if status == 405 and request.method in ("GET", "HEAD") and not wants_json(request):
        for sent_to, stands in FORMS:
            found = sent_to.fullmatch(request.url.path)
            if found is not None:
                return see(found.expand(stands))
    remedy = REMEDIES.get(status)
    if isinstance(error, TooLarge) and error.largest > LARGEST_BODY:
        most = max(1, error.largest // 2**20)
        remedy = f"a log may hold {most} MB here; add a larger one with: bellhousing road add JOB LOG"
        if "/photos" in request.url.path:
            remedy = f"a photo may hold {most} MB; set the camera to a smaller size"
    problem = Problem(WHAT.get(status, error.detail), request.url.path, remedy)
    answer = tell(request, problem, status)
    answer.headers.update(error.headers or {})
    return answer


def on_broken(request: Request, error: Exception) -> Response:
    """A fault of the program itself: said plainly, with nothing of its inside."""
    LOG.error("%s %s failed", request.method, _without_keys(request.url.path), exc_info=error)
    problem = Problem(
        f"something went wrong inside the program: {type(error).__name__}",
        request.url.path,
        "go back and try again; what was kept before is still kept",
    )
    answer = tell(request, problem, 500)
    # Told from outside the guard, so it is marked here.
    answer.headers.update(HEADERS)
    return answer


def _without_keys(path: str) -> str:
    """An address as it may stand in a log: what opens a link for an owner is left out."""
    head, shared, rest = path.partition("/shared/")
    return path if head or not shared else f"/shared/…{rest[rest.find('/') :] if '/' in rest else ''}"
