"""Whether the app can do its work, for a watcher or a proxy: without a word of what the shop holds."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse
from starlette.routing import Route

from bellhousing.tasks.checking import health
from bellhousing.tasks.shop import Shop


def show_health(request: Request) -> JSONResponse:
    """200 with the version when all is well, else 503 with what is in the way."""
    shop: Shop = request.app.state.shop
    found = health(shop)
    return JSONResponse(found.model_dump(mode="json"), status_code=200 if found.ok else 503)


ROUTES = [Route("/health", show_health, methods=["GET"])]
