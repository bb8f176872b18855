"""Proof of a repair and the fit of one car, as JSON and as a picture; the page of the job has both."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from bellhousing.errors import BellhousingError
from bellhousing.tasks.fitting_car import fit_of_job
from bellhousing.tasks.one_car_sources import source_of_job
from bellhousing.tasks.proving import proof, proof_picture
from bellhousing.web.pages import (
    Sent,
    address,
    as_json,
    kept,
    refused,
    see,
    shop_of,
    speed_unit,
    taking,
    wants_json,
)
from bellhousing.web.proof_part import earlier
from bellhousing.web.sheet import number_of


def proved(request: Request) -> Response:
    """How surely the car of a job shifts as a sound one, beside an earlier job with ?before=."""
    number, shop = number_of(request), shop_of(request)
    if not wants_json(request):
        return see(f"/job/{number}?prove=1#prove")
    try:
        return as_json(proof(earlier(shop, _before(request)), source_of_job(shop, number, "after")))
    except BellhousingError as error:
        return refused(request, error, 422) or see(f"/job/{number}#prove")


def picture(request: Request) -> Response:
    """Before and after as a picture file."""
    number, shop = number_of(request), shop_of(request)
    drawn = proof_picture(
        earlier(shop, _before(request)), source_of_job(shop, number, "after"), speed_unit(request)
    )
    return Response(drawn, media_type="image/svg+xml")


def fitted(request: Request) -> Response:
    """The car's own parameters."""
    number, shop = number_of(request), shop_of(request)
    if not wants_json(request):
        return see(f"/job/{number}?prove=1#prove")
    try:
        return as_json(fit_of_job(shop, number))
    except BellhousingError as error:
        return refused(request, error, 422) or see(f"/job/{number}#prove")


def keep_fit(request: Request, sent: Sent) -> Response:
    """Keep the fit of a job with its car's records."""
    number, shop = number_of(request), shop_of(request)
    before = sent.given("before")
    try:
        answer = fit_of_job(shop, number, keep=True)
    except BellhousingError as error:
        return refused(request, error, 422) or see(address(f"/job/{number}", "prove", prove=1, before=before))
    return kept(request, answer, address(f"/job/{number}", "prove", prove=1, before=before))


def _before(request: Request) -> str:
    return request.query_params.get("before", "")


ROUTES = [
    Route("/job/{number:int}/proof", proved),
    Route("/job/{number:int}/proof.json", proved),
    Route("/job/{number:int}/proof.svg", picture),
    Route("/job/{number:int}/fit", fitted, methods=["GET"]),
    Route("/job/{number:int}/fit", taking(keep_fit), methods=["POST"]),
    Route("/job/{number:int}/fit.json", fitted),
]
