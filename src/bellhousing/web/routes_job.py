"""One job: its sheet as a page, and each part of it as JSON."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from bellhousing.reports.shift_map_chart import shift_map_svg
from bellhousing.tasks import ranked_jobs
from bellhousing.web.pages import as_json, see, shop_of, speed_unit, wants_json
from bellhousing.web.sheet import number_of, picture_of, sheet_page


def job(request: Request) -> Response:
    """The sheet of a job."""
    number = number_of(request)
    if wants_json(request):
        return as_json(ranked_jobs.job_sheet(shop_of(request), number))
    return sheet_page(request, number)


def causes(request: Request) -> Response:
    """The causes in order, as JSON; the page has them among its parts."""
    number = number_of(request)
    if wants_json(request):
        return as_json(ranked_jobs.causes_of_job(shop_of(request), number))
    return see(f"/job/{number}#causes")


def next_test(request: Request) -> Response:
    """What to look at next, as JSON; the page has it among its parts."""
    number = number_of(request)
    if wants_json(request):
        return as_json(ranked_jobs.next_of_job(shop_of(request), number))
    return see(f"/job/{number}#next-tests")


def shift_map(request: Request) -> Response:
    """The shift map as JSON, for a sound car or with ?fault=; the page has it among its parts."""
    number = number_of(request)
    if wants_json(request):
        fault = request.query_params.get("fault") or None
        return as_json(ranked_jobs.shift_map_of_job(shop_of(request), number, fault))
    return see(f"/job/{number}#shift-map")


def shift_map_picture(request: Request) -> Response:
    """The shift map as a picture file, for a sound car or with ?fault=."""
    number, shop = number_of(request), shop_of(request)
    fault = request.query_params.get("fault") or None
    sound = ranked_jobs.shift_map_of_job(shop, number)
    suspected = None if fault is None else ranked_jobs.shift_map_of_job(shop, number, fault)
    drawn = shift_map_svg(picture_of(sound, suspected), speed_unit(request))
    return Response(drawn, media_type="image/svg+xml")


ROUTES = [
    Route("/job/{number:int}", job),
    Route("/job/{number:int}.json", job),
    Route("/job/{number:int}/causes", causes),
    Route("/job/{number:int}/causes.json", causes),
    Route("/job/{number:int}/next", next_test),
    Route("/job/{number:int}/next.json", next_test),
    Route("/job/{number:int}/shift-map", shift_map),
    Route("/job/{number:int}/shift-map.json", shift_map),
    Route("/job/{number:int}/shift-map.svg", shift_map_picture),
]
