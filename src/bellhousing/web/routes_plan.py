"""What to do on a job, as JSON; the page has it among its parts."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from bellhousing.tasks.plan import plan_of_job
from bellhousing.web.pages import as_json, see, shop_of, wants_json
from bellhousing.web.sheet import number_of, rate_asked


def plan(request: Request) -> Response:
    """The plan of a job, with ?rate= priced."""
    number = number_of(request)
    if wants_json(request):
        return as_json(plan_of_job(shop_of(request), number, rate=rate_asked(request) or None))
    return see(f"/job/{number}#what-to-do")


ROUTES = [
    Route("/job/{number:int}/plan", plan),
    Route("/job/{number:int}/plan.json", plan),
]
