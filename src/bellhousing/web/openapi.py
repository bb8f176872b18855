"""An OpenAPI 3.1 description of the app, made from its routes, the table of roles and the tasks' answers."""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cache
from importlib.metadata import version
from typing import Any, get_args, get_origin, get_type_hints

from pydantic import BaseModel
from pydantic.json_schema import models_json_schema
from starlette.requests import Request
from starlette.responses import JSONResponse
from starlette.routing import BaseRoute, Mount, Route

from bellhousing.web import roles
from bellhousing.web.described import JSON, LOOKS, SENDS, Told
from bellhousing.web.field_examples import EXAMPLES

PART = re.compile(r"\{(\w+)(?::(\w+))?\}")
REFERENCE = "#/components/schemas/{model}"
HTML = "text/html"
UNIT = "unit"
REFUSED = {
    "400": "What was sent is no form.",
    "401": "Nobody is logged in, where people log in.",
    "403": "Not for this role, or sent from another site.",
    "404": "There is no such thing.",
    "413": "More was sent than is taken at once.",
    "422": "What was sent or asked cannot be; the answer says what would be right.",
}
PROBLEM = {
    "type": "object",
    "properties": {
        "error": {
            "type": "object",
            "properties": {
                "what": {"type": "string"},
                "where": {"type": ["string", "null"]},
                "remedy": {"type": ["string", "null"]},
            },
            "required": ["what", "where", "remedy"],
        }
    },
    "required": ["error"],
}


def addresses(routes: Iterable[BaseRoute]) -> Iterator[tuple[str, str, Callable[..., Any] | None]]:
    """Every method, address with its parts in braces, and endpoint of an app, as its routes stand."""
    for route in routes:
        if isinstance(route, Mount):
            yield "GET", f"{route.path}/{{path}}", None
        elif isinstance(route, Route):
            # Whatever takes GET takes HEAD, and answers it with no body.
            methods = sorted((route.methods or set()) - {"HEAD"})
            yield from ((method, route.path, route.endpoint) for method in methods)


def plain(path: str) -> str:
    """An address without the kinds of its parts."""
    return PART.sub(r"{\1}", path)


def told_of(method: str, path: str) -> Told | None:
    """What the table says of an address, with or without .json; None where it says nothing."""
    return (LOOKS if method == "GET" else SENDS).get(plain(path).removesuffix(".json"))


def shape_of(answer: Any) -> Any:
    """What a task answers, or the shape itself."""
    if isinstance(answer, type) or get_origin(answer) is not None:
        return answer
    return get_type_hints(answer)["return"]


def answer_type(told: Told) -> Any:
    """The type of an answer as JSON; None where there is none."""
    shapes = tuple(dict.fromkeys(shape_of(answer) for answer in told.answers))
    if not shapes:
        return None
    found: Any = shapes[0]
    for other in shapes[1:]:
        found = found | other
    if told.listed:
        found = tuple[found, ...]
    return found | None if told.nullable else found


@cache
def _schemas() -> tuple[Mapping[type[BaseModel], Mapping[str, Any]], Mapping[str, Any]]:
    """A reference for each shape that is answered, and the definitions of them all."""
    tables = (*LOOKS.values(), *SENDS.values())
    models = dict.fromkeys(model for told in tables for model in _models(answer_type(told)))
    found, definitions = models_json_schema(
        [(model, "serialization") for model in models], ref_template=REFERENCE
    )
    return {model: found[model, "serialization"] for model in models}, definitions["$defs"]


def _models(answer: Any) -> Iterator[type[BaseModel]]:
    if isinstance(answer, type) and get_origin(answer) is None:
        if issubclass(answer, BaseModel):
            yield answer
        return
    for inner in get_args(answer):
        yield from _models(inner)


def _schema(answer: Any) -> Mapping[str, Any]:
    origin = get_origin(answer)
    if origin is tuple:
        return {"type": "array", "items": _schema(get_args(answer)[0])}
    if origin is dict:
        return {"type": "object"}
    if origin is not None:
        return {"anyOf": [_schema(one) for one in get_args(answer)]}
    if answer is type(None):
        return {"type": "null"}
    return _schemas()[0][answer]


def described(routes: Iterable[BaseRoute], *, workshop: bool) -> dict[str, Any]:
    """The description of an app with these routes, open to the workshop or to this machine only."""
    paths: dict[str, dict[str, Any]] = {}
    for method, path, endpoint in addresses(routes):
        paths.setdefault(plain(path), {})[method.lower()] = _operation(method, path, endpoint, workshop)
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Bellhousing",
            "version": version("bellhousing"),
            "description": "A shop's cars and jobs. Every address with .json, or asked for JSON, answers in "
            "JSON; every GET also takes HEAD. Figures are sent as text with their units.",
            "license": {"name": "MIT", "identifier": "MIT"},
        },
        "paths": paths,
        "components": {
            "schemas": {**_schemas()[1], "Problem": PROBLEM},
            "securitySchemes": {"session": {"type": "apiKey", "in": "cookie", "name": "__Host-session"}},
        },
    }


def _operation(method: str, path: str, endpoint: Callable[..., Any] | None, workshop: bool) -> dict[str, Any]:
    told = told_of(method, path)
    if told is None:
        raise KeyError(f"{method} {path}")
    role = roles.role_for(method, path)
    name = re.sub(r"\W+", "-", f"{method.lower()}{plain(path)}").strip("-")
    found: dict[str, Any] = {
        "operationId": name,
        "summary": " ".join((inspect.getdoc(endpoint) or "A file of the pages.").split()),
        "parameters": [*_path_parts(path), *_asked(told, method)],
        "responses": _responses(told, path),
        "x-least-role": role,
        "security": [{"session": []}] if workshop and role != roles.ANYBODY else [],
    }
    if method == "POST":
        found["requestBody"] = {"required": False, "content": _body(told)}
    return found


def _path_parts(path: str) -> Iterator[dict[str, Any]]:
    for name, kind in PART.findall(path):
        schema = {"type": "string", "minLength": 1} | _examples(name)
        if kind == "int":
            schema = {"type": "integer", "minimum": 0, "examples": [int(one) for one in EXAMPLES[name]]}
        yield {"name": name, "in": "path", "required": True, "schema": schema}


def _asked(told: Told, method: str) -> Iterator[dict[str, Any]]:
    names = dict.fromkeys((*told.asks, UNIT) if method == "GET" and told.kind != JSON else told.asks)
    for name in names:
        yield {"name": name, "in": "query", "required": False, "schema": {"type": "string"} | _examples(name)}


def _examples(name: str) -> dict[str, Any]:
    return {"examples": list(EXAMPLES[name])} if name in EXAMPLES else {}


def _responses(told: Told, path: str) -> dict[str, Any]:
    content: dict[str, Any] = {}
    answer = answer_type(told)
    if answer is not None:
        content[JSON] = {"schema": _schema(answer)}
    if answer is None or not path.endswith(".json"):
        if told.kind is None:
            content[HTML] = {"schema": {"type": "string"}}
        elif told.kind != JSON:
            content[told.kind] = {}
    found: dict[str, Any] = {str(told.status): {"description": "The answer.", "content": content}}
    found["303"] = {"description": "On to the page that shows it, where no JSON is asked for."}
    problem = {JSON: {"schema": {"$ref": REFERENCE.format(model="Problem")}}, HTML: {}}
    return found | {code: {"description": text, "content": problem} for code, text in REFUSED.items()}


def _body(told: Told) -> dict[str, Any]:
    named = [name for name in told.sends if not name.endswith("-")]
    begun = [name for name in told.sends if name.endswith("-")]
    schema: dict[str, Any] = {
        "type": "object",
        "properties": {name: {"type": "string"} | _examples(name) for name in named},
    }
    if begun:
        schema["patternProperties"] = {f"^{name}": {"type": "string"} for name in begun}
    if not told.files:
        return {kind: {"schema": schema} for kind in (JSON, "application/x-www-form-urlencoded")}
    files = {name: {"type": "string", "contentMediaType": "application/octet-stream"} for name in told.files}
    return {"multipart/form-data": {"schema": schema | {"properties": schema["properties"] | files}}}


def show(request: Request) -> JSONResponse:
    """This app described for programs, as OpenAPI 3.1."""
    return JSONResponse(described(request.app.routes, workshop=request.app.state.workshop))


ROUTES = [Route("/openapi.json", show)]
