"""Templates, the choice between page and JSON, and what a form sent."""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from urllib.parse import urlencode

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from pydantic import BaseModel
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from bellhousing.errors import BellhousingError, InputFileError
from bellhousing.quantities.letters import can_be_written
from bellhousing.quantities.turn import INCH, METRIC
from bellhousing.tasks.settings_terms import settings_or_usual
from bellhousing.tasks.shop import Shop
from bellhousing.web import filters
from bellhousing.web.for_readers import as_closed, without_forms
from bellhousing.web.session import person_of
from bellhousing.web.units_shown import page_in_units
from bellhousing.web.wording import Worded, in_words, words_of

UNITS = ("mph", "km/h")
UNITS_COOKIE = "speed"
# Where a page stands that is shown to an owner by a link: its own address, else nothing.
SHARED = "shared"
THEMES = ("device", "light", "dark")
THEME_COOKIE = "theme"


@dataclass(frozen=True)
class Sent:
    """The fields of a form or a JSON object, all text."""

    values: Mapping[str, str]

    def text(self, name: str) -> str:
        """A field as typed, empty where it was not sent."""
        return self.values.get(name, "")

    def given(self, name: str) -> str | None:
        """A field that holds something, else None."""
        return self.text(name).strip() or None


@dataclass(frozen=True)
class Problem:
    """What was wrong, where, and what would be right: the one error shape of pages and JSON."""

    what: str
    where: str | None = None
    remedy: str | None = None

    @classmethod
    def of(cls, error: BellhousingError) -> Problem:
        """The problem an error tells of."""
        what = "; ".join((error.what, *getattr(error, "problems", ())))
        return cls(what, error.where, error.remedy)

    def as_json(self) -> dict[str, object]:
        """As JSON carries it."""
        return {"error": {"what": self.what, "where": self.where, "remedy": self.remedy}}


@dataclass(frozen=True)
class Filled:
    """A form that was refused: its name, what was typed, and why, so that it comes back as it was sent."""

    form: str = ""
    values: Mapping[str, str] = field(default_factory=dict)
    problem: Problem | None = None

    def value(self, form: str, name: str, otherwise: str = "") -> str:
        """What to put into a field of a form."""
        return self.values.get(name, otherwise) if form == self.form else otherwise

    def problem_of(self, form: str) -> Problem | None:
        """Why a form was refused, None for any other form."""
        return self.problem if form == self.form else None


@cache
def environment(country: str, units: str = INCH) -> Environment:
    """The templates in the words of a country and inch or metric, all escaped unless it says otherwise."""
    found = Environment(
        loader=PackageLoader("bellhousing.web"),
        autoescape=select_autoescape(default=True, default_for_string=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    # Set before the first template is compiled, since its sentences are worded then.
    found.country = country  # type: ignore[attr-defined]
    found.units = units  # type: ignore[attr-defined]
    found.add_extension(Worded)
    found.filters.update(filters.FILTERS)
    found.filters["worded"] = words_of(country)
    found.filters.update(filters.in_units(units))
    found.globals["address"] = address
    return found


def address(path: str, fragment: str = "", **query: object) -> str:
    """An address on this site, its query escaped, its fragment last."""
    asked = urlencode({name: value for name, value in query.items() if value not in (None, "")})
    return path + (f"?{asked}" if asked else "") + (f"#{fragment}" if fragment else "")


def page(request: Request, template: str, *, status: int = 200, **context: object) -> HTMLResponse:
    """A page from a template, in the reader's units unless `units` in its context names others.

    `closed` in it is the address of a job on which nothing may be written.
    """
    country = settings_or_usual(shop_of(request)).words
    units = str(context.pop("units", "") or units_of(request))
    closed = str(context.pop("closed", ""))
    say = words_of(country)
    told = {name: in_words(value, say) for name, value in context.items()}
    text = (
        environment(country, units)
        .get_template(template)
        .render(
            unit=speed_unit(request),
            theme=theme_of(request),
            path=request.url.path,
            person=person_of(request),
            shared=request.scope.get("state", {}).get(SHARED, ""),
            **{"filled": Filled()} | told,
        )
    )
    text = page_in_units(text, units)
    if closed:
        text = as_closed(text, closed)
    reader = person_of(request)
    if reader is not None:
        text = without_forms(text, reader.role, request.url.path)
    return HTMLResponse(text, status_code=status)


def wants_json(request: Request) -> bool:
    """Whether the answer is to be JSON: the address ends in .json, or JSON is asked for before a page."""
    if request.url.path.endswith(".json"):
        return True
    accepted = request.headers.get("accept", "")
    return "application/json" in accepted and "text/html" not in accepted


def as_json(answer: BaseModel, status: int = 200) -> Response:
    """An answer as the command line's --json gives it."""
    return Response(answer.model_dump_json(indent=2), status_code=status, media_type="application/json")


def refused(request: Request, error: BellhousingError, status: int) -> Response | None:
    """The error as JSON where JSON was asked for; None where a page is to tell it."""
    return JSONResponse(Problem.of(error).as_json(), status_code=status) if wants_json(request) else None


def sent_back(
    request: Request, error: BellhousingError, form: str, sent: Sent, show: Callable[[Filled], Response]
) -> Response:
    """What was refused: the error as JSON, or the page with the form as it was filled."""
    return refused(request, error, 422) or show(Filled(form, sent.values, Problem.of(error)))


def kept(request: Request, answer: BaseModel, path: str, status: int = 200) -> Response:
    """What was kept: the answer as JSON, or on to the page that shows it."""
    return as_json(answer, status) if wants_json(request) else see(path)


def see(path: str) -> RedirectResponse:
    """Send the browser on to a page after something was kept."""
    return RedirectResponse(path, status_code=303)


def page_asked(request: Request) -> int:
    """The page of a list that was asked for, the first where that is none."""
    found = whole_of(request.query_params.get("page", ""), 7)
    return 1 if found is None else found


def whole_of(text: str, digits: int = 11) -> int | None:
    """The whole number a text is, None where it is none or a longer one."""
    return int(text) if text.isascii() and text.isdecimal() and len(text) <= digits else None


def own_path(path: str, otherwise: str) -> str:
    """A path of this site that was sent along, else another: two slashes would lead to another site."""
    return path if path.startswith("/") and not path.startswith(("//", "/\\")) else otherwise


def shop_of(request: Request) -> Shop:
    """The shop this app serves, in the hands of whoever is logged in."""
    shop = request.app.state.shop
    assert isinstance(shop, Shop)
    person = person_of(request)
    return shop if person is None else shop.signed_as(person.name)


def speed_unit(request: Request) -> str:
    """The unit of road speeds that the reader chose, mph unless it was another."""
    chosen = request.query_params.get("unit") or request.cookies.get(UNITS_COOKIE, "")
    if chosen in UNITS:
        return chosen
    return UNITS[settings_or_usual(shop_of(request)).units == "metric"]


def units_of(request: Request) -> str:
    """Whether the reader reads metric or inch units, which the unit of road speeds tells."""
    return METRIC if speed_unit(request) == "km/h" else INCH


def theme_of(request: Request) -> str:
    """Light, dark or as the device has it: what the reader chose in this browser, else what the shop did."""
    chosen = request.cookies.get(THEME_COOKIE, "")
    return chosen if chosen in THEMES else settings_or_usual(shop_of(request)).theme


def taking(handler: Callable[[Request, Sent], Response]) -> Callable[[Request], Awaitable[Response]]:
    """A route that reads what was sent, then works in a thread of its own."""

    async def endpoint(request: Request) -> Response:
        sent = await _sent(request)
        return await run_in_threadpool(handler, request, sent)

    endpoint.__name__ = handler.__name__
    endpoint.__doc__ = handler.__doc__
    return endpoint


async def _sent(request: Request) -> Sent:
    kind = request.headers.get("content-type", "").partition(";")[0].strip().casefold()
    if kind == "application/json":
        return Sent(_object(await request.body()))
    async with request.form(max_files=0, max_fields=60) as form:
        return Sent({name: value for name, value in form.items() if isinstance(value, str)})


def _object(body: bytes) -> dict[str, str]:
    try:
        found = json.loads(body)
    except (ValueError, RecursionError):
        raise InputFileError(
            "what was sent is not JSON", remedy='send an object such as {"text": "…"}'
        ) from None
    if not isinstance(found, dict):
        raise InputFileError("what was sent is not a JSON object", remedy='send one such as {"text": "…"}')
    wrong = [name for name, value in found.items() if not isinstance(value, str | int | float | None)]
    if wrong:
        raise InputFileError("each value must be text or a figure", where=", ".join(wrong))
    if not can_be_written(found):
        raise InputFileError("the text holds signs that are no letters", remedy="send it as UTF-8")
    return {str(name): str(value) for name, value in found.items() if value is not None}
