"""The first page: the shop's cars and jobs, opening a job, adding a car."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from bellhousing.errors import BellhousingError
from bellhousing.tasks import job_list, opening, shop_boxes
from bellhousing.tasks.findings_file import DEFAULT_BOX
from bellhousing.web.pages import (
    THEME_COOKIE,
    THEMES,
    UNITS,
    UNITS_COOKIE,
    Filled,
    Sent,
    kept,
    own_path,
    page,
    page_asked,
    see,
    sent_back,
    shop_of,
    taking,
    wants_json,
)

MOST_CARS = 60
"""Cars the first page lists; where there are more it shows those that were on the bench last."""

LATELY = 12
A_YEAR = 365 * 24 * 3600


def start(request: Request) -> Response:
    """Cars and jobs of the shop, and what to do first."""
    return _start(request)


def _start(request: Request, filled: Filled | None = None, status: int = 200) -> Response:
    shop = shop_of(request)
    query = request.query_params
    found = job_list.job_page(
        shop, page=page_asked(request), asked=query.get("q", ""), all=query.get("show", "") == "all"
    )
    count = shop.store.job_list.car_count()
    cars = opening.cars(shop) if count <= MOST_CARS else job_list.cars_lately(shop, LATELY)
    if wants_json(request):
        return JSONResponse(
            {
                "cars": [car.model_dump(mode="json") for car in cars],
                **found.model_dump(mode="json"),
            }
        )
    return page(
        request,
        "start.html",
        status=status,
        cars=cars,
        found=found,
        car_count=count,
        all_cars_listed=count <= MOST_CARS,
        chosen=(filled or Filled()).value("job", "car", query.get("car", "")),
        boxes=shop_boxes.box_names(shop),
        box_titles=shop_boxes.titles(shop, (car.box for car in cars)),
        usual_box=DEFAULT_BOX,
        filled=filled or Filled(),
    )


def open_job(request: Request, sent: Sent) -> Response:
    """Open a job; a form that is refused comes back as it was filled."""
    try:
        job = opening.open_job(
            shop_of(request),
            sent.text("car"),
            sent.text("complaint"),
            odometer=sent.given("odometer"),
            key=sent.given("key"),
        )
    except BellhousingError as error:
        return sent_back(request, error, "job", sent, lambda filled: _start(request, filled, 422))
    return kept(request, job, f"/job/{job.number}", 201)


def add_car(request: Request, sent: Sent) -> Response:
    """Add a car; a form that is refused comes back as it was filled."""
    try:
        car = opening.open_car(
            shop_of(request),
            sent.text("name"),
            box=sent.given("box") or DEFAULT_BOX,
            axle_ratio=sent.given("axle_ratio"),
            tyre_radius=sent.given("tyre_radius"),
            altitude=sent.given("altitude"),
            note=sent.text("note"),
        )
    except BellhousingError as error:
        return sent_back(request, error, "car", sent, lambda filled: _start(request, filled, 422))
    return kept(request, car, f"/?car={car.slug}#open-job", 201)


def choose_unit(request: Request, sent: Sent) -> Response:
    """Keep the unit of road speeds or the theme in this browser and go back to the page."""
    back = sent.text("back")
    unit = sent.text("unit")
    answer = see(own_path(back, "/"))
    if unit in UNITS:
        answer.set_cookie(UNITS_COOKIE, unit, max_age=A_YEAR, httponly=True, samesite="strict")
    theme = sent.text("theme")
    if theme in THEMES:
        answer.set_cookie(THEME_COOKIE, theme, max_age=A_YEAR, httponly=True, samesite="strict")
    return answer


ROUTES = [
    Route("/", start),
    Route("/shop.json", start),
    Route("/jobs", taking(open_job), methods=["POST"]),
    Route("/cars", taking(add_car), methods=["POST"]),
    Route("/unit", taking(choose_unit), methods=["POST"]),
]
