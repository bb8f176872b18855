"""The service plan: what is due on which car, noting what was done, the calendar and letters to owners."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from bellhousing.errors import BellhousingError, RecordError
from bellhousing.tasks import service
from bellhousing.tasks.reminders import letter_pdf, letter_text, plan_calendar
from bellhousing.tasks.service_shapes import ServicePlanAnswer
from bellhousing.web.pages import (
    Filled,
    Sent,
    address,
    as_json,
    kept,
    page,
    sent_back,
    shop_of,
    taking,
    wants_json,
    whole_of,
)
from bellhousing.web.problems import NotFound


def due(request: Request) -> Response:
    """The plan of the shop, or of one car with ?car=."""
    if wants_json(request):
        return as_json(_plan(request))
    return _page(request)


def _page(request: Request, filled: Filled | None = None, status: int = 200, car: str = "") -> Response:
    plan = _plan(request, car)
    one = plan.cars[0] if plan.cars and (car or request.query_params.get("car")) else None
    return page(request, "due.html", status=status, plan=plan, one=one, filled=filled or Filled())


def _plan(request: Request, car: str = "") -> ServicePlanAnswer:
    try:
        return service.service_plan(shop_of(request), car or request.query_params.get("car") or None)
    except RecordError as error:
        raise NotFound(error.what, remedy=error.remedy) from None


def done(request: Request, sent: Sent) -> Response:
    """Note that a service was done."""
    return _note(
        request,
        sent,
        "done",
        lambda car: service.note_service(
            shop_of(request),
            car,
            sent.text("service"),
            day=sent.text("day") or "today",
            odometer=sent.text("odometer"),
            note=sent.text("note"),
            key=sent.given("key"),
        ),
    )


def odometer(request: Request, sent: Sent) -> Response:
    """Note what an odometer showed."""
    return _note(
        request,
        sent,
        "odometer",
        lambda car: service.note_odometer(
            shop_of(request), car, sent.text("odometer"), day=sent.text("day") or "today"
        ),
    )


def withdraw(request: Request, sent: Sent) -> Response:
    """Take back a service noted by mistake."""
    number = whole_of(sent.text("number")) or 0
    return _note(
        request,
        sent,
        "withdraw",
        lambda car: service.withdraw_service(shop_of(request), car, number),
    )


def _note(request: Request, sent: Sent, form: str, write: Callable[[str], ServicePlanAnswer]) -> Response:
    try:
        answer = write(sent.text("car"))
    except BellhousingError as error:
        return sent_back(
            request, error, form, sent, partial(_page, request, status=422, car=sent.text("car"))
        )
    return kept(request, answer, address("/due", car=answer.cars[0].car))


def calendar(request: Request) -> Response:
    """Every day of the plan as an iCalendar file."""
    content = plan_calendar(shop_of(request), _plan(request))
    return Response(
        content,
        media_type="text/calendar; charset=utf-8",
        headers={"content-disposition": 'attachment; filename="service.ics"'},
    )


def letter(request: Request) -> Response:
    """The letter to the owner of one car, as text or PDF."""
    shop, slug = shop_of(request), request.path_params["car"]
    try:
        plan = service.service_plan(shop, slug)
        if request.url.path.endswith(".pdf"):
            return Response(
                letter_pdf(shop, plan.cars[0], plan.today),
                media_type="application/pdf",
                headers={"content-disposition": f'inline; filename="service-{plan.cars[0].car}.pdf"'},
            )
        return Response(letter_text(shop, plan.cars[0], plan.today), media_type="text/plain; charset=utf-8")
    except RecordError as error:
        raise NotFound(error.what, remedy=error.remedy) from None


ROUTES = [
    Route("/due", due),
    Route("/due.json", due),
    Route("/due/calendar.ics", calendar),
    Route("/due/letter/{car}.pdf", letter),
    Route("/due/letter/{car}.txt", letter),
    Route("/due/done", taking(done), methods=["POST"]),
    Route("/due/odometer", taking(odometer), methods=["POST"]),
    Route("/due/withdraw", taking(withdraw), methods=["POST"]),
]
