"""Each request as one event of the log: the kind of page, never which car or job, and how long it took."""

from __future__ import annotations

import logging
import re
import time

from starlette.routing import Mount, Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOG = logging.getLogger("bellhousing.web.access")
UNKNOWN = "unknown"
CONVERTER = re.compile(r":\w+}")


class AccessLog:
    """Stands before everything else and tells of each request when it is answered."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or not LOG.isEnabledFor(logging.INFO):
            await self.app(scope, receive, send)
            return
        status = 500
        began = time.perf_counter()

        async def noticed(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
            await send(message)

        try:
            await self.app(scope, receive, noticed)
        finally:
            took = round((time.perf_counter() - began) * 1000, 1)
            fields = {"method": scope["method"], "page": page_of(scope), "status": status, "ms": took}
            LOG.info("answered", extra={"fields": fields})


def page_of(scope: Scope) -> str:
    """The address as the app has it, like /job/{number}, never as it was sent."""
    for route in scope["app"].routes if "app" in scope else ():
        if isinstance(route, Mount) and scope["path"].startswith(f"{route.path}/"):
            return f"{route.path}/…"
        if isinstance(route, Route) and "endpoint" in scope and route.endpoint is scope["endpoint"]:
            return CONVERTER.sub("}", route.path)
    return UNKNOWN
