"""The app's description holds every address it has, and says what each is asked, sent and answers."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
from starlette.routing import Mount, Route
from starlette.testclient import TestClient

from bellhousing.web import openapi, roles
from bellhousing.web.app import create_app
from bellhousing.web.described import LOOKS, SENDS


@pytest.fixture(scope="module")
def description(web: TestClient) -> dict[str, Any]:
    """As it is served."""
    answer = web.get("/openapi.json")
    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/json")
    found = answer.json()
    assert isinstance(found, dict)
    return found


def _routes(web: TestClient) -> Iterator[tuple[str, str]]:
    for route in create_app(web.app.state.shop).routes:  # type: ignore[attr-defined]
        if isinstance(route, Mount):
            yield "get", f"{route.path}/{{path}}"
        else:
            assert isinstance(route, Route), route
            path = "/".join(
                part.split(":")[0] + "}" + part.split("}")[1] if ":" in part else part
                for part in route.path.split("/")
            )
            yield from ((method.lower(), path) for method in (route.methods or set()) - {"HEAD"})


def test_every_route_is_described_and_nothing_else(web: TestClient, description: dict[str, Any]) -> None:
    """Both ways, by method; and the table holds no address that has gone."""
    told = {(method, path) for path, methods in description["paths"].items() for method in methods}
    assert told == set(_routes(web))
    used = {(method, path.removesuffix(".json")) for method, path in told}
    assert {path for method, path in used if method == "get"} == set(LOOKS)
    assert {path for method, path in used if method == "post"} == set(SENDS)


def _references(found: Any) -> Iterator[str]:
    if isinstance(found, dict):
        for name, value in found.items():
            if name == "$ref":
                yield value
            yield from _references(value)
    elif isinstance(found, list):
        for value in found:
            yield from _references(value)


def test_it_holds_together(description: dict[str, Any]) -> None:
    """Every reference leads to a shape, every shape is referred to, every name of an operation is its own."""
    shapes = description["components"]["schemas"]
    assert set(_references(description)) == {f"#/components/schemas/{name}" for name in shapes}
    operations = [one for methods in description["paths"].values() for one in methods.values()]
    names = [one["operationId"] for one in operations]
    assert len(set(names)) == len(names) > 120
    assert all(one["summary"] for one in operations)
    files = [path for path, methods in description["paths"].items() if "A file of" in str(methods)]
    assert files == ["/static/{path}"], "every page and answer says what it is"
    assert description["openapi"] == "3.1.0"
    for path, methods in description["paths"].items():
        for one in methods.values():
            inside = {part["name"] for part in one["parameters"] if part["in"] == "path"}
            assert inside == {part.split("}")[0] for part in path.split("{")[1:]}


def test_roles_are_those_of_the_one_table(description: dict[str, Any], web: TestClient) -> None:
    """On this machine nobody needs to log in; in the workshop all but what is anybody's needs a session."""
    for path, methods in description["paths"].items():
        for method, one in methods.items():
            assert one["x-least-role"] == roles.role_for(method.upper(), path)
            assert one["security"] == []
    shop = web.app.state.shop  # type: ignore[attr-defined]
    workshop = openapi.described(create_app(shop, workshop=True).routes, workshop=True)["paths"]
    assert workshop["/login"]["post"]["security"] == []
    assert workshop["/job/{number}/note"]["post"]["security"] == [{"session": []}]


def test_an_answer_names_its_shape(description: dict[str, Any]) -> None:
    """As the tasks say it; what is sent is named with what may be written there."""
    causes = description["paths"]["/job/{number}/causes.json"]["get"]
    content = causes["responses"]["200"]["content"]
    assert content == {"application/json": {"schema": {"$ref": "#/components/schemas/Answer"}}}
    assert "causes" in description["components"]["schemas"]["Answer"]["properties"]
    sent = description["paths"]["/job/{number}/note"]["post"]["requestBody"]["content"]["application/json"]
    assert set(sent["schema"]["properties"]) == {"text", "instead", "key"}
    assert "fluid dark brown" in sent["schema"]["properties"]["text"]["examples"]
    assert len(json.dumps(description)) < 2**20
