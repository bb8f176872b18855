"""The web app over one shop: pages and JSON for people on this machine."""

from __future__ import annotations

from collections.abc import Iterable
from importlib import resources
from pathlib import Path

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.routing import Mount
from starlette.staticfiles import StaticFiles

from bellhousing.errors import BellhousingError
from bellhousing.tasks.shop import Shop
from bellhousing.web import (
    problems,
    routes_adjust,
    routes_bench,
    routes_job,
    routes_leaks,
    routes_learn,
    routes_note,
    routes_plan,
    routes_proof,
    routes_road,
    routes_shop,
    routes_tools,
)
from bellhousing.web.guard import LOCAL_HOSTS, Guard


def create_app(
    shop: Shop, *, hosts: Iterable[str] = LOCAL_HOSTS, largest_log: int = routes_road.LARGEST_LOG
) -> Starlette:
    """The app that serves a shop under the names in `hosts`, this machine's own unless told otherwise.

    Logs of drives may hold up to `largest_log` bytes; everything else that is sent is small.
    """
    static = Path(str(resources.files("bellhousing.web") / "static"))
    larger = {routes_road.TAKES_LOGS: largest_log}
    app = Starlette(
        routes=[
            *routes_shop.ROUTES,
            *routes_job.ROUTES,
            *routes_note.ROUTES,
            *routes_leaks.ROUTES,
            *routes_adjust.ROUTES,
            *routes_learn.ROUTES,
            *routes_plan.ROUTES,
            *routes_proof.ROUTES,
            *routes_bench.ROUTES,
            *routes_road.ROUTES,
            *routes_tools.ROUTES,
            Mount("/static", StaticFiles(directory=static), name="static"),
        ],
        middleware=[Middleware(Guard, refuse=problems.on_http, hosts=tuple(hosts), larger=larger)],
        exception_handlers={
            BellhousingError: problems.on_refused,
            HTTPException: problems.on_http,
            Exception: problems.on_broken,
        },
    )
    app.state.shop = shop
    return app
