"""Adjusting the car of a job, as JSON; the page of the job has it among its parts."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from bellhousing.tasks import adjusting
from bellhousing.web.pages import as_json, see, shop_of, wants_json
from bellhousing.web.sheet import number_of


def adjust(request: Request) -> Response:
    """How far to turn the screw or change the rod, or why not."""
    number = number_of(request)
    if wants_json(request):
        return as_json(adjusting.adjusting_of_job(shop_of(request), number))
    return see(f"/job/{number}#adjust")


ROUTES = [
    Route("/job/{number:int}/adjust", adjust),
    Route("/job/{number:int}/adjust.json", adjust),
]
