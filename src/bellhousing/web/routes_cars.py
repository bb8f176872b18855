"""Cars: a list to look one up in, and the page of one car over the years."""

from __future__ import annotations

import math
from dataclasses import dataclass

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from bellhousing.errors import InputFileError, RecordError
from bellhousing.quantities.turn import unit_for
from bellhousing.quantities.units import from_si, to_si, unit
from bellhousing.reports.chart import Table
from bellhousing.reports.history_chart import (
    HistoryPicture,
    HistoryPoint,
    history_svg,
    history_table,
    history_text,
)
from bellhousing.tasks import job_list, shop_boxes
from bellhousing.tasks.car_history import CarHistoryAnswer, SeriesAnswer, car_history
from bellhousing.tasks.service import service_plan
from bellhousing.tasks.service_shapes import CarDueAnswer
from bellhousing.web.pages import as_json, page, page_asked, shop_of, units_of, wants_json
from bellhousing.web.problems import NotFound

MOST_DRAWN = 8
FEWEST = 2


@dataclass(frozen=True)
class SeriesPart:
    """One reading over the years: in words, its table, and a picture where there are days enough for one."""

    series: SeriesAnswer
    table: Table
    text: str
    wide: Markup | None
    narrow: Markup | None


def cars(request: Request) -> Response:
    """The cars by name, a page at a time, or those that hold what is looked for."""
    asked = request.query_params.get("q", "")
    found = job_list.car_page(shop_of(request), page=page_asked(request), asked=asked)
    if wants_json(request):
        return as_json(found)
    boxes = shop_boxes.titles(shop_of(request), (car.box for car in found.cars))
    return page(request, "cars.html", found=found, boxes=boxes)


def car(request: Request) -> Response:
    """One car: its jobs, its readings over the years, its fits, photos and odometer."""
    slug = str(request.path_params["slug"])
    try:
        history = car_history(shop_of(request), slug)
    except RecordError:
        raise NotFound(f"there is no car '{slug[:80]}'", remedy="look it up among the cars") from None
    if wants_json(request):
        return as_json(history)
    return page(
        request,
        "car.html",
        history=history,
        car=history.car,
        box_title=shop_boxes.titles(shop_of(request), [history.car.box])[history.car.box],
        readings=_parts(history.readings, "reading", units_of(request)),
        fits=_parts(history.fits, "fit", units_of(request)),
        open_job=_open_job(history),
        service=_service(request, slug),
    )


def _service(request: Request, slug: str) -> CarDueAnswer | None:
    """What is due on a car, None where the shop's own rules cannot be read; its own page says why."""
    try:
        return service_plan(shop_of(request), slug).cars[0]
    except InputFileError:
        return None


def _open_job(history: CarHistoryAnswer) -> int | None:
    return next((job.number for job in history.jobs if job.status == "open"), None)


def _parts(all_series: tuple[SeriesAnswer, ...], kind: str, units: str) -> list[SeriesPart]:
    """The parts of a page; only the first few of those with several days are drawn."""
    found = []
    drawn = 0
    for place, series in enumerate(all_series):
        picture = _picture(series, units)
        wide = narrow = None
        if len({point.day for point in series.points}) >= FEWEST and drawn < MOST_DRAWN:
            drawn += 1
            wide = Markup(history_svg(picture, name=f"{kind}-{place}-wide"))
            narrow = Markup(history_svg(picture, name=f"{kind}-{place}-narrow", width=310, height=200))
        found.append(SeriesPart(series, history_table(picture), history_text(picture), wide, narrow))
    return found


def _picture(series: SeriesAnswer, units: str) -> HistoryPicture:
    to = unit_for(series.unit, units) if series.unit else ""

    def turned(value: float) -> float:
        return value if to == series.unit else float(from_si(to_si(value, series.unit), to))

    return HistoryPicture(
        name=series.name,
        unit=unit(to).symbol if to else "",
        points=tuple(
            HistoryPoint(
                point.day,
                turned(point.value),
                turned(point.low),
                turned(point.high),
                f"job {point.job}",
            )
            for point in series.points
        ),
        low=-math.inf if series.low is None else turned(series.low),
        high=math.inf if series.high is None else turned(series.high),
        source=series.source,
    )


ROUTES = [
    Route("/cars", cars),
    Route("/cars.json", cars),
    Route("/car/{slug:str}.json", car),
    Route("/car/{slug:str}", car),
]
