"""The cookie that holds a session, and who is there by it."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from bellhousing.records.people import Person
from bellhousing.tasks.letting_in import LIFE

PERSON = "person"
WORKSHOP = "workshop"


def cookie_name(request: Request) -> str:
    """Over TLS a name that browsers only take from this very host, for its whole site."""
    return "__Host-session" if request.url.scheme == "https" else "session"


def held_by(request: Request) -> str:
    """What the browser holds, empty if nothing."""
    return request.cookies.get(cookie_name(request), "")


def hand_out(request: Request, answer: Response, held: str) -> None:
    """Give the browser a session to hold: no script reads it, no other site sends it."""
    answer.set_cookie(
        cookie_name(request),
        held,
        max_age=int(LIFE.total_seconds()),
        path="/",
        secure=request.url.scheme == "https",
        httponly=True,
        samesite="strict",
    )


def take_back(request: Request, answer: Response) -> None:
    """Let the browser hold nothing any more."""
    secure = request.url.scheme == "https"
    answer.delete_cookie(cookie_name(request), path="/", secure=secure, httponly=True, samesite="strict")


def person_of(request: Request) -> Person | None:
    """Who is logged in; None on this machine only, where nobody needs to."""
    found = request.scope.get("state", {}).get(PERSON)
    assert found is None or isinstance(found, Person)
    return found
