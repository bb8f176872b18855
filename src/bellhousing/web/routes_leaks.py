"""Leaks of a job: what was seen wet and what drips, as JSON and as a part of the job's page."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from bellhousing.errors import BellhousingError
from bellhousing.tasks import leaks
from bellhousing.web.pages import Filled, Problem, Sent, as_json, refused, see, shop_of, taking, wants_json
from bellhousing.web.sheet import number_of, sheet_page


def shown(request: Request) -> Response:
    """Where it leaks, as JSON; the page has it among its parts."""
    number = number_of(request)
    if wants_json(request):
        return as_json(leaks.leaks_of_job(shop_of(request), number))
    return see(f"/job/{number}#leaks")


def note(request: Request, sent: Sent) -> Response:
    """Keep a wet place or a loss; what tells of neither comes back as it was typed."""
    shop, number = shop_of(request), number_of(request)
    try:
        answer = leaks.note_leak(shop, number, sent.text("text"), key=sent.given("key"))
    except BellhousingError as error:
        filled = Filled("leak", sent.values, Problem.of(error))
        return refused(request, error, 422) or sheet_page(request, number, filled, 422)
    return as_json(answer) if wants_json(request) else see(f"/job/{number}#leaks")


ROUTES = [
    Route("/job/{number:int}/leaks", shown),
    Route("/job/{number:int}/leaks.json", shown),
    Route("/job/{number:int}/leak", taking(note), methods=["POST"]),
]
