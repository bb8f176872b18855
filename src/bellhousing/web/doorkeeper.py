"""What stands before every route of a shop that is open to others: who is there, and what each may do."""

from __future__ import annotations

from urllib.parse import unquote

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from bellhousing.records.people import Person
from bellhousing.tasks import letting_in
from bellhousing.tasks.shop import Shop
from bellhousing.web import roles
from bellhousing.web.guard import SAFE_METHODS
from bellhousing.web.pages import Problem, page, wants_json
from bellhousing.web.problems import tell
from bellhousing.web.session import PERSON, held_by, take_back

# What is sent here changes nothing in the book.
QUIET = ("/login", "/logout", "/unit")
PREVIEW = "/understand"
# An entry that waited in a browser says who wrote it.
WRITTEN_BY = "x-written-by"


class Doorkeeper:
    """Looks up who is there by the session, and lets nobody past what their role allows."""

    def __init__(self, app: ASGIApp, shop: Shop) -> None:
        self.app = app
        self.shop = shop

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        request = Request(scope)
        held = "" if scope["path"].startswith("/static/") else held_by(request)
        person = await run_in_threadpool(letting_in.who_is_it, self.shop, held) if held else None
        scope.setdefault("state", {})[PERSON] = person
        refusal = self._refusal(request, person, held)
        if refusal is not None:
            if scope["method"] not in SAFE_METHODS:
                await _let_by(receive)
            await refusal(scope, receive, send)
            return
        status = 500

        async def noted(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
            await send(message)

        await self.app(scope, receive, noted)
        path = scope["path"]
        quiet = scope["method"] in SAFE_METHODS or path in QUIET or path.endswith(PREVIEW)
        if person is not None and status < 400 and not quiet:
            add = self.shop.store.access.people.add_deed
            await run_in_threadpool(add, person.name, path, at=self.shop.clock())

    def _refusal(self, request: Request, person: Person | None, held: str) -> Response | None:
        wanted = roles.role_for(request.method, request.url.path)
        if wanted == roles.ANYBODY:
            return None
        if person is None:
            return ask(request, expired=bool(held))
        if not roles.may(person.role, wanted):
            needed = roles.PROPRIETOR if wanted is None else wanted
            what = f"{person.name} is a {person.role} here, and this is for a {needed}"
            return tell(request, Problem(what, request.url.path, "ask the proprietor for it"), 403)
        writer = unquote(request.headers.get(WRITTEN_BY, ""))
        if writer and writer != person.name and request.method not in SAFE_METHODS:
            remedy = f"log in as {writer} and send it again, or drop it and write it anew"
            return tell(
                request, Problem(f"{writer} wrote this, and {person.name} is logged in", None, remedy), 409
            )
        return None


async def _let_by(receive: Receive) -> None:
    """Let go by what is sent: a browser that is cut off while sending never reads why."""
    try:
        while True:
            message = await receive()
            if message["type"] != "http.request" or not message.get("more_body", False):
                return
    except HTTPException:
        # Larger than anything that is taken: no need to hear the end of it.
        return


def ask(request: Request, *, expired: bool) -> Response:
    """Ask who is there: the page to log in at the very address, or 401 as JSON."""
    what = "the login has ended" if expired else "nobody is logged in"
    problem = Problem(what, None, "log in; what you wrote stays in this browser and is sent then")
    if wants_json(request) or request.url.path.endswith(".svg"):
        answer: Response = tell(request, problem, 401)
    else:
        looking = request.method in SAFE_METHODS
        back = request.url.path + (f"?{request.url.query}" if request.url.query else "") if looking else "/"
        told = problem if expired or not looking else None
        answer = page(request, "login.html", status=401, back=back, problem=told, name="", left=False)
    answer.headers["WWW-Authenticate"] = "Session"
    if expired:
        take_back(request, answer)
    return answer
