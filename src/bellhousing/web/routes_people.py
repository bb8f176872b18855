"""Logging in and out, and the people of the shop."""

from __future__ import annotations

from collections.abc import Callable

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from bellhousing.errors import BellhousingError
from bellhousing.tasks import letting_in, people
from bellhousing.web.pages import (
    Filled,
    Problem,
    Sent,
    kept,
    own_path,
    page,
    see,
    sent_back,
    shop_of,
    taking,
    wants_json,
)
from bellhousing.web.problems import tell
from bellhousing.web.session import WORKSHOP, hand_out, held_by, person_of, take_back


def login(request: Request) -> Response:
    """The page to log in."""
    if not getattr(request.app.state, WORKSHOP):
        return see("/")
    back = own_path(request.query_params.get("back", "/"), "/")
    left = "left" in request.query_params
    return page(request, "login.html", back=back, problem=None, name="", left=left)


def let_in(request: Request, sent: Sent) -> Response:
    """Let somebody in by name and pass phrase; a new session each time, and the old one ends."""
    shop = request.app.state.shop
    address = request.client.host if request.client else ""
    back = own_path(sent.text("back") or "/", "/")
    try:
        person, held = letting_in.let_in(shop, sent.text("name"), sent.text("phrase"), address=address)
    except letting_in.NotLetIn as error:
        return _asked_again(request, sent, back, Problem.of(error), 401)
    except letting_in.TooSoon as error:
        answer = _asked_again(request, sent, back, Problem.of(error), 429)
        answer.headers["Retry-After"] = str(error.seconds)
        return answer
    if held_by(request):
        letting_in.let_out(shop, held_by(request))
    answer = JSONResponse({"name": person.name, "role": person.role}) if wants_json(request) else see(back)
    hand_out(request, answer, held)
    return answer


def _asked_again(request: Request, sent: Sent, back: str, problem: Problem, status: int) -> Response:
    if wants_json(request):
        return tell(request, problem, status)
    name = sent.text("name")[: people.LONGEST_NAME]
    return page(request, "login.html", status=status, back=back, problem=problem, name=name, left=False)


def log_out(request: Request, sent: Sent) -> Response:
    """End the session, here and everywhere it was copied to."""
    letting_in.let_out(request.app.state.shop, held_by(request))
    answer = JSONResponse({"left": True}) if wants_json(request) else see("/login?left=1")
    take_back(request, answer)
    return answer


def shown(request: Request) -> Response:
    """The people of the shop, what each may do, and who changed what."""
    return _page(request)


def _page(request: Request, filled: Filled | None = None, status: int = 200) -> Response:
    shop = shop_of(request)
    everybody = people.everybody(shop)
    if wants_json(request):
        return JSONResponse({"people": [person.model_dump(mode="json") for person in everybody]})
    return page(
        request,
        "people.html",
        status=status,
        people=everybody,
        roles=people.ROLES,
        may=people.MAY,
        changes=shop.store.access.people.changes(20),
        deeds=shop.store.access.people.deeds(30),
        fewest=people.FEWEST_LETTERS,
        filled=filled or Filled(),
    )


def _changing(act: Callable[[Request, Sent], people.PersonAnswer], form: str) -> Route:
    def changed(request: Request, sent: Sent) -> Response:
        try:
            answer = act(request, sent)
        except BellhousingError as error:
            # A pass phrase is never sent back.
            safe = Sent({name: value for name, value in sent.values.items() if name != "phrase"})
            return sent_back(request, error, form, safe, lambda filled: _page(request, filled, 422))
        me = person_of(request)
        # Whoever changes the own phrase or role is logged out with it, on purpose.
        gone = me is not None and me.name == answer.name and form != "add"
        return kept(request, answer, "/login?left=1" if gone else "/people", 200)

    changed.__doc__ = act.__doc__
    return Route(f"/people/{form}", taking(changed), methods=["POST"])


def add(request: Request, sent: Sent) -> people.PersonAnswer:
    """Let somebody in."""
    phrase = sent.text("phrase") or None
    return people.add(shop_of(request), sent.text("name"), sent.text("role"), phrase=phrase)


def set_role(request: Request, sent: Sent) -> people.PersonAnswer:
    """Give somebody another role."""
    return people.set_role(shop_of(request), sent.text("name"), sent.text("role"))


def set_phrase(request: Request, sent: Sent) -> people.PersonAnswer:
    """Set somebody's pass phrase."""
    return people.set_phrase(shop_of(request), sent.text("name"), sent.text("phrase"))


def remove(request: Request, sent: Sent) -> people.PersonAnswer:
    """Let somebody in no more."""
    return people.remove(shop_of(request), sent.text("name"))


ROUTES = [
    Route("/login", login),
    Route("/login", taking(let_in), methods=["POST"]),
    Route("/logout", taking(log_out), methods=["POST"]),
    Route("/people", shown),
    Route("/people.json", shown),
    _changing(add, "add"),
    _changing(set_role, "role"),
    _changing(set_phrase, "phrase"),
    _changing(remove, "remove"),
]
