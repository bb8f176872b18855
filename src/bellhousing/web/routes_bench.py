"""The bench of a job: what was measured, which parts go where, as JSON and as a part of its page."""

from __future__ import annotations

import json

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from bellhousing.errors import BellhousingError
from bellhousing.fits.verdict import Rule
from bellhousing.tasks import fits, measuring
from bellhousing.tasks.bench import bench_of_job
from bellhousing.tasks.rules import rule_called
from bellhousing.web.pages import Sent, as_json, kept, refused, see, sent_back, shop_of, taking, wants_json
from bellhousing.web.sheet import number_of, sheet_page


def measured(request: Request) -> Response:
    """What was measured, as JSON; the page has it among its parts."""
    number = number_of(request)
    if not wants_json(request):
        return see(f"/job/{number}#bench")
    try:
        found = measuring.measured_on_job(shop_of(request), number, rule=_rule(request))
    except BellhousingError as error:
        return refused(request, error, 422) or see(f"/job/{number}#bench")
    text = json.dumps([entry.model_dump(mode="json") for entry in found], ensure_ascii=False, indent=2)
    return Response(text, media_type="application/json")


def chosen(request: Request) -> Response:
    """Which parts go where, as JSON; the page works it out when it is asked for."""
    number = number_of(request)
    if not wants_json(request):
        return see(f"/job/{number}?fits=1#bench")
    try:
        return as_json(fits.fits_of_job(shop_of(request), number, rule=_rule(request)))
    except BellhousingError as error:
        return refused(request, error, 422) or see(f"/job/{number}#bench")


def explained(request: Request) -> Response:
    """What the measured parts explain, as JSON; the page has it beside the measurements."""
    number = number_of(request)
    if not wants_json(request):
        return see(f"/job/{number}#bench-road")
    try:
        return as_json(bench_of_job(shop_of(request), number))
    except BellhousingError as error:
        return refused(request, error, 422) or see(f"/job/{number}#bench")


def _rule(request: Request) -> Rule:
    return rule_called(request.query_params.get("rule") or None)


def measure(request: Request, sent: Sent) -> Response:
    """Keep a measurement; what is none comes back as it was typed."""
    shop, number = shop_of(request), number_of(request)
    try:
        answer = measuring.measure_on_job(shop, number, sent.text("text"), key=sent.given("key"))
    except BellhousingError as error:
        return sent_back(request, error, "measure", sent, lambda back: sheet_page(request, number, back, 422))
    return kept(request, answer, f"/job/{number}#bench")


ROUTES = [
    Route("/job/{number:int}/measured", measured),
    Route("/job/{number:int}/measured.json", measured),
    Route("/job/{number:int}/bench", explained),
    Route("/job/{number:int}/bench.json", explained),
    Route("/job/{number:int}/fits", chosen),
    Route("/job/{number:int}/fits.json", chosen),
    Route("/job/{number:int}/measure", taking(measure), methods=["POST"]),
]
