"""What stands before every route: whose page may ask, how much may be sent, what a page may load."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LARGEST_BODY = 64 * 1024
# How many times the largest body is let go by before a connection is cut.
PASSED_OVER = 16
# A number no record can have: databases count to nineteen figures, and reading thousands of them takes long.
ENDLESS_NUMBER = re.compile(r"/[0-9]{19,}(?=[/.]|$)")
LOCAL_HOSTS = ("127.0.0.1", "localhost", "::1")
SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
POLICY = "; ".join(
    (
        "default-src 'self'",
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    # Stricter would make browsers hide the origin of our own forms.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "geolocation=(), microphone=(), camera=()",
}


class TooLarge(HTTPException):
    """More was sent than this address takes [bytes]."""

    def __init__(self, largest: int) -> None:
        super().__init__(413, "this is too large to be sent")
        self.largest = largest


class Guard:
    """Refuses strange hosts, posts from other sites and bodies too large; marks every answer with its policy.

    The Host check keeps a page elsewhere from reaching this machine under a name of its own.  A post is
    taken when the browser says it comes from our own pages, or when no browser sent it.  Where people log
    in, `browsers_only`, a post that says nothing of where it comes from is refused.
    `larger` names the addresses, as patterns, that take larger bodies than the others.
    """

    def __init__(
        self,
        app: ASGIApp,
        refuse: Callable[[Request, Exception], Response],
        hosts: Iterable[str] = LOCAL_HOSTS,
        largest_body: int = LARGEST_BODY,
        larger: Mapping[str, int] | None = None,
        browsers_only: bool = False,
    ) -> None:
        self.app = app
        self.refuse = refuse
        self.hosts = frozenset(hosts)
        self.largest_body = largest_body
        self.browsers_only = browsers_only
        self.larger = {re.compile(pattern): largest for pattern, largest in (larger or {}).items()}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        largest = self._largest(scope["path"])
        refusal = self._refusal(scope, Headers(scope=scope), largest)
        inner: ASGIApp = self.app
        if refusal is not None:
            inner = self.refuse(Request(scope), refusal)
            if isinstance(refusal, TooLarge) and largest > self.largest_body:
                await _passed_over(receive, PASSED_OVER * largest)
        await inner(scope, _limited(receive, largest), _marked(send, scope["path"]))

    def _largest(self, path: str) -> int:
        found = (largest for pattern, largest in self.larger.items() if pattern.fullmatch(path))
        return next(found, self.largest_body)

    def _from_our_pages(self, scheme: str, host: str, headers: Headers) -> bool:
        told = headers.get("sec-fetch-site")
        if told is not None:
            return told in ("same-origin", "none")
        origin = headers.get("origin")
        if origin is None:
            return not self.browsers_only
        return origin.casefold() == f"{scheme}://{host}".casefold()

    def _refusal(self, scope: Scope, headers: Headers, largest: int) -> HTTPException | None:
        host = headers.get("host", "")
        if _name_of(host) not in self.hosts:
            return HTTPException(421, "this address is not served here")
        if scope["method"] not in SAFE_METHODS and not self._from_our_pages(scope["scheme"], host, headers):
            return HTTPException(403, "this was sent from another site")
        length = headers.get("content-length", "")
        if length.isdecimal() and (len(length) > 18 or int(length) > largest):
            return TooLarge(largest)
        if ENDLESS_NUMBER.search(scope["path"]):
            return HTTPException(404)
        return None


def _name_of(host: str) -> str:
    try:
        return urlsplit(f"//{host}").hostname or ""
    except ValueError:
        return ""


def _limited(receive: Receive, largest: int) -> Receive:
    got = 0

    async def limited() -> Message:
        nonlocal got
        message = await receive()
        if message["type"] == "http.request":
            got += len(message.get("body", b""))
            if got > largest:
                raise TooLarge(largest)
        return message

    return limited


async def _passed_over(receive: Receive, most: int) -> None:
    """Let go by what is sent, since a browser only reads the answer when it has sent everything."""
    got = 0
    while got <= most:
        message = await receive()
        got += len(message.get("body", b""))
        if message["type"] != "http.request" or not message.get("more_body", False):
            return


def _marked(send: Send, path: str) -> Send:
    async def marked(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers[name] = value
            if path.startswith("/shared/"):
                # The address itself is the key: no other site is told it, no search engine keeps it.
                headers["Referrer-Policy"] = "no-referrer"
                headers["X-Robots-Tag"] = "noindex, nofollow, noarchive"
            # A picture named by its content says itself that it never changes.
            headers.setdefault("Cache-Control", "no-cache" if path.startswith("/static/") else "no-store")
        await send(message)

    return marked
