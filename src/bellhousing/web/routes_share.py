"""Links for owners: made and taken back on the job, and what they open for somebody who is not logged in."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from bellhousing.errors import BellhousingError, InputFileError
from bellhousing.tasks import sharing
from bellhousing.tasks.letting_in import TooSoon
from bellhousing.tasks.owner_report import MOST_PHOTOS
from bellhousing.tasks.photos import photos_of_job
from bellhousing.web import routes_photos, routes_report
from bellhousing.web.pages import (
    SHARED,
    Filled,
    Problem,
    Sent,
    as_json,
    page,
    sent_back,
    shop_of,
    taking,
    whole_of,
)
from bellhousing.web.problems import NotFound, tell
from bellhousing.web.sheet import number_of

# A report takes a moment to work out: so many of one link in a minute, no more.
VIEWS = 60
MINUTE = 60.0
SIZES = ("small", "large")


@dataclass
class Pace:
    """How often each link was opened in the last minute, by this process."""

    seen: dict[int, deque[float]] = field(default_factory=dict)

    def wait(self, link: int, now: float) -> float:
        """How long to wait before the next [s]; none is booked as opened now."""
        times = self.seen.setdefault(link, deque())
        while times and times[0] <= now - MINUTE:
            times.popleft()
        if len(times) >= VIEWS:
            return times[0] + MINUTE - now
        times.append(now)
        return 0.0


def links(request: Request) -> Response:
    """The links of a job."""
    return _links(request)


def _links(
    request: Request,
    made: sharing.ShareAnswer | None = None,
    filled: Filled | None = None,
    status: int = 200,
) -> Response:
    shop, number = shop_of(request), number_of(request)
    address = f"{request.base_url}shared/{made.token}" if made else ""
    known = sharing.shares_of(shop, number)
    return page(
        request,
        "share.html",
        status=status,
        job=number,
        links=known,
        made=made,
        address_made=address,
        days=sharing.USUAL_DAYS,
        filled=filled or Filled(),
    )


def make(request: Request, sent: Sent) -> Response:
    """Make a link; what opens it is shown this once."""
    asked = sent.given("days") or str(sharing.USUAL_DAYS)
    days = whole_of(asked, 4)
    try:
        if days is None:
            raise InputFileError(
                "a link holds for a number of days", where=asked[:20], remedy="for example 30"
            )
        number, kind = number_of(request), sent.given("page") or sharing.REPORT
        made = sharing.share(shop_of(request), number, kind, days=days)
    except (InputFileError, sharing.NotShown) as error:
        return sent_back(request, error, "share", sent, lambda filled: _links(request, None, filled, 422))
    if request.headers.get("accept", "").startswith("application/json"):
        return as_json(made, 201)
    return _links(request, made, status=201)


def revoke(request: Request, sent: Sent) -> Response:
    """Take a link back."""
    sharing.revoke(shop_of(request), number_of(request), int(request.path_params["link"]))
    return _links(request)


def _shown(show: Callable[[Request], Response]) -> Callable[[Request], Response]:
    def shared(request: Request) -> Response:
        try:
            inner = _inside(request)
        except TooSoon as error:
            answer = tell(_marked(request), Problem.of(error), 429)
            answer.headers["Retry-After"] = str(error.seconds)
            return answer
        except sharing.NotShown as error:
            return tell(_marked(request), Problem.of(error), 410 if error.over else 404)
        try:
            answer = show(inner)
        except BellhousingError as error:
            return tell(_marked(request), Problem.of(error), 404 if isinstance(error, NotFound) else 422)
        answer.headers["Cache-Control"] = "no-store"
        return answer

    shared.__doc__ = show.__doc__
    return shared


def _inside(request: Request) -> Request:
    """The request as one for the page the link shows, and for nothing else."""
    token = str(request.path_params["token"])
    address = request.client.host if request.client else ""
    link = sharing.opened(request.app.state.shop, token, address=address)
    wait = request.app.state.pace.wait(link.id, time.monotonic())
    if wait > 0.0:
        raise TooSoon(timedelta(seconds=wait))
    asked = {"units": request.query_params.get("units", "")}
    if link.page == sharing.ESTIMATE:
        asked["kind"] = "estimate"
    inner = _marked(request, f"/shared/{token}")
    inner.scope["query_string"] = urlencode({name: value for name, value in asked.items() if value}).encode()
    inner.scope["path_params"] = {**request.path_params, "number": link.job}
    return inner


def _marked(request: Request, base: str = "/shared") -> Request:
    scope = dict(request.scope)
    scope["state"] = {SHARED: base}
    return Request(scope)


def photo(request: Request) -> Response:
    """A photo of the report, without what the camera wrote into it."""
    shop, number = shop_of(request), number_of(request)
    shown = {one.digest for one in photos_of_job(shop, number)[:MOST_PHOTOS]}
    if request.path_params["digest"] not in shown or request.path_params["size"] not in SIZES:
        raise NotFound("that photo is not in the report", remedy="go back to the report")
    return routes_photos.picture(request)


ROUTES = [
    Route("/job/{number:int}/share", links),
    Route("/job/{number:int}/share", taking(make), methods=["POST"]),
    Route("/job/{number:int}/share/{link:int}/revoke", taking(revoke), methods=["POST"]),
    Route("/shared/{token}", _shown(routes_report.report)),
    Route("/shared/{token}/report.pdf", _shown(routes_report.pdf)),
    Route("/shared/{token}/photo/{digest}/{size}", _shown(photo)),
]
