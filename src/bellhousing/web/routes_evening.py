"""The evening view: a page for a projector, and the tables, drives and cases it moves with."""

from __future__ import annotations

import math

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from bellhousing.boxes.box import Box
from bellhousing.errors import BellhousingError, QuantityError
from bellhousing.quantities.turn import turned
from bellhousing.tasks import evening, evening_drives, evening_game
from bellhousing.web.pages import as_json, page, refused, shop_of, speed_unit, units_of

USUAL_BOX = "box-a"
USUAL_SEVERITY = 0.5


def show(request: Request) -> Response:
    """The evening view; of the shop it names boxes only, never a car, a job or an owner."""
    shop = shop_of(request)
    boxes = evening.boxes(shop)
    asked = request.query_params.get("box", USUAL_BOX)
    chosen = asked if any(box.slug == asked for box in boxes) else USUAL_BOX
    return page(
        request,
        "evening.html",
        boxes=boxes,
        chosen=chosen,
        not_shown=evening.not_shown(shop),
        breaks={box.slug: evening.breaks(evening.box_of(shop, box.slug)) for box in boxes},
        drives=evening_drives.drives(),
        cases=evening_game.titles(shop),
    )


def table(request: Request) -> Response:
    """The valve body of one car over throttle and speed, with ?broken= as often as something is broken."""
    try:
        answer = evening.evening(
            _box(request), _broken(request), severity=_severity(request), unit=speed_unit(request)
        )
    except BellhousingError as error:
        return _refused(request, error)
    return as_json(answer)


def drive(request: Request) -> Response:
    """A simulated drive of the same car."""
    try:
        answer = evening_drives.evening_drive(
            _box(request),
            request.query_params.get("drive", ""),
            _broken(request),
            severity=_severity(request),
            unit=speed_unit(request),
        )
    except BellhousingError as error:
        return _refused(request, error)
    return as_json(answer)


def case(request: Request) -> Response:
    """An invented case, told whole."""
    try:
        answer = evening_game.told(shop_of(request), request.path_params["name"])
    except BellhousingError as error:
        return _refused(request, error)
    units = units_of(request)
    steps = [
        step.model_copy(
            update={"tell": turned(step.tell, units), "understood": turned(step.understood, units)}
        )
        for step in answer.steps
    ]
    return as_json(answer.model_copy(update={"steps": tuple(steps), "reveal": turned(answer.reveal, units)}))


def _refused(request: Request, error: BellhousingError) -> Response:
    answer = refused(request, error, 422)
    assert answer is not None  # every address that leads here ends in .json
    return answer


def _box(request: Request) -> Box:
    return evening.box_of(shop_of(request), request.query_params.get("box", USUAL_BOX))


def _broken(request: Request) -> tuple[str, ...]:
    return tuple(request.query_params.getlist("broken"))


def _severity(request: Request) -> float:
    text = request.query_params.get("how", str(USUAL_SEVERITY))
    try:
        found = float(text)
    except ValueError:
        found = math.nan
    if not math.isfinite(found):
        raise QuantityError(f"'{text[:40]}' is no severity", remedy="from 0, a little, to 1, badly")
    return found


ROUTES = [
    Route("/evening", show),
    Route("/evening/table.json", table),
    Route("/evening/drive.json", drive),
    Route("/evening/case/{name}.json", case),
]
