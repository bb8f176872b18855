"""The web app over one shop: pages and JSON for people on this machine."""

from __future__ import annotations

from collections.abc import Iterable
from importlib import resources
from pathlib import Path
from threading import Lock

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import FileResponse
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from bellhousing.errors import BellhousingError
from bellhousing.tasks.shop import Shop
from bellhousing.web import (
    openapi,
    problems,
    routes_adjust,
    routes_bench,
    routes_boxes,
    routes_cars,
    routes_due,
    routes_evening,
    routes_health,
    routes_job,
    routes_leaks,
    routes_learn,
    routes_note,
    routes_people,
    routes_photos,
    routes_plan,
    routes_proof,
    routes_report,
    routes_road,
    routes_settings,
    routes_share,
    routes_shop,
    routes_tools,
    routes_work,
)
from bellhousing.web.access_log import AccessLog
from bellhousing.web.doorkeeper import Doorkeeper
from bellhousing.web.guard import LOCAL_HOSTS, Guard
from bellhousing.web.session import WORKSHOP
from bellhousing.web.under_way import UnderWay

STATIC = Path(str(resources.files("bellhousing.web") / "static"))


def helper(request: Request) -> FileResponse:
    """The browser's helper for pages without the server; it may only help pages below its own address."""
    return FileResponse(STATIC / "worker.js", media_type="text/javascript")


def create_app(
    shop: Shop,
    *,
    hosts: Iterable[str] = LOCAL_HOSTS,
    largest_log: int = routes_road.LARGEST_LOG,
    workshop: bool = False,
) -> Starlette:
    """The app that serves a shop under the names in `hosts`, this machine's own unless told otherwise.

    Open to the `workshop`, everybody logs in first and may do what their role allows.
    Logs of drives may hold up to `largest_log` bytes; everything else that is sent is small.
    """
    larger = {
        routes_road.TAKES_LOGS: largest_log,
        routes_photos.TAKES_PHOTOS: routes_photos.LARGEST_FORM,
        routes_boxes.TAKES_BOXES: routes_boxes.LARGEST_FORM,
    }
    app = Starlette(
        routes=[
            *routes_shop.ROUTES,
            *routes_cars.ROUTES,
            *routes_boxes.ROUTES,
            *routes_settings.ROUTES,
            *routes_job.ROUTES,
            *routes_note.ROUTES,
            *routes_leaks.ROUTES,
            *routes_adjust.ROUTES,
            *routes_learn.ROUTES,
            *routes_plan.ROUTES,
            *routes_proof.ROUTES,
            *routes_report.ROUTES,
            *routes_due.ROUTES,
            *routes_bench.ROUTES,
            *routes_road.ROUTES,
            *routes_tools.ROUTES,
            *routes_evening.ROUTES,
            *routes_photos.ROUTES,
            *routes_people.ROUTES,
            *routes_share.ROUTES,
            *routes_health.ROUTES,
            *routes_work.ROUTES,
            *openapi.ROUTES,
            Route("/worker.js", helper),
            Mount("/static", StaticFiles(directory=STATIC), name="static"),
        ],
        middleware=[
            Middleware(AccessLog),
            Middleware(
                Guard, refuse=problems.on_http, hosts=tuple(hosts), larger=larger, browsers_only=workshop
            ),
            *([Middleware(Doorkeeper, shop=shop)] if workshop else []),
        ],
        exception_handlers={
            BellhousingError: problems.on_refused,
            HTTPException: problems.on_http,
            Exception: problems.on_broken,
        },
    )
    app.state.shop = shop
    setattr(app.state, WORKSHOP, workshop)
    app.state.under_way = UnderWay()
    app.state.pace = routes_share.Pace()
    app.state.writing = Lock()
    return app
