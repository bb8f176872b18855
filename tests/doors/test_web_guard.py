"""What stands before every page: hosts, origins, sizes, headers, and errors in one shape."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from importlib import resources
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bellhousing.tasks import opening
from bellhousing.tasks.shop import Shop
from bellhousing.web.app import create_app
from bellhousing.web.guard import HEADERS, LARGEST_BODY

JSON = {"accept": "application/json"}
NOTE = {"text": "2-3 at 64 mph light throttle"}


@pytest.mark.parametrize(
    "host", ["elsewhere.example", "127.0.0.1.elsewhere.example", "", "[::1", "10.0.0.7:8350"]
)
def test_a_strange_host_is_refused(web: TestClient, host: str) -> None:
    """A page elsewhere cannot reach this machine under a name of its own."""
    assert web.get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("host", ["localhost", "localhost:9000", "127.0.0.1:1", "[::1]:8350"])
def test_this_machine_is_served(web: TestClient, host: str) -> None:
    """Any port, since a free one may have been taken."""
    assert web.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://elsewhere.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:9999"},
        {"origin": "https://127.0.0.1:8350"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site", "origin": "http://127.0.0.1:8350"},
    ],
)
def test_a_post_from_another_site_is_refused(web: TestClient, headers: dict[str, str]) -> None:
    """Nothing is kept of what another page sends."""
    before = web.get("/job/1.json").json()["answer"]["findings"]
    answer = web.post("/job/1/note", data=NOTE, headers=headers)
    assert answer.status_code == 403
    assert web.get("/job/1.json").json()["answer"]["findings"] == before


@pytest.mark.parametrize(
    "headers",
    [{}, {"origin": "http://127.0.0.1:8350"}, {"sec-fetch-site": "same-origin"}, {"sec-fetch-site": "none"}],
)
def test_our_own_pages_and_programs_may_post(web: TestClient, headers: dict[str, str]) -> None:
    """A form of ours, and a program that is no browser, are taken."""
    assert web.post("/job/1/understand", data=NOTE, headers=headers).status_code == 200


def test_too_large_a_body_is_refused_by_its_length(web: TestClient) -> None:
    """What says it is too large is not read."""
    answer = web.post("/job/1/note", data={"text": "x" * LARGEST_BODY}, headers=JSON)
    assert answer.status_code == 413
    assert set(answer.json()["error"]) == {"what", "where", "remedy"}


def test_too_large_a_body_is_refused_while_it_comes(web: TestClient) -> None:
    """What does not say how large it is stops being read at the limit."""

    def pieces() -> Iterator[bytes]:
        yield b"text="
        for _ in range(2 + LARGEST_BODY // 8192):
            yield b"x" * 8192

    sent = {"content-type": "application/x-www-form-urlencoded"}
    assert web.post("/job/1/note", content=pieces(), headers=sent).status_code == 413


@pytest.mark.parametrize(
    "path", ["/", "/job/1", "/job/1.json", "/static/ink.css", "/no-such-page", "/job/99999"]
)
def test_every_answer_carries_the_policy(web: TestClient, path: str) -> None:
    """Pages, JSON, files and errors alike: nothing from elsewhere, no guessing of types, no frames."""
    answer = web.get(path)
    for name, value in HEADERS.items():
        assert answer.headers[name] == value
    policy = answer.headers["content-security-policy"]
    assert "default-src 'self'" in policy
    assert "unsafe" not in policy
    assert answer.headers["cache-control"] == ("no-cache" if path.startswith("/static/") else "no-store")


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("GET", "/no-such-page", 404),
        ("GET", "/job/99999", 404),
        ("GET", "/job/99999999999999999999999", 404),
        ("GET", "/job/99999/shift-map", 404),
        ("POST", "/job/99999/note", 404),
        ("POST", "/job/1/causes", 405),
        ("POST", "/job/1/entry/99999/withdraw", 422),
        ("GET", "/static/no-such-file.css", 404),
    ],
)
def test_errors_have_one_shape(web: TestClient, method: str, path: str, status: int) -> None:
    """What, where and remedy: as JSON, and as a page with a way back."""
    told = web.request(method, path, headers=JSON)
    assert told.status_code == status
    assert set(told.json()) == {"error"}
    assert set(told.json()["error"]) == {"what", "where", "remedy"}
    assert told.json()["error"]["remedy"]
    page = web.request(method, path, headers={"accept": "text/html"})
    assert page.status_code == status
    assert '<html lang="en">' in page.text


@pytest.mark.parametrize(
    ("path", "place"),
    [
        ("/job/1/note", "/job/1#write"),
        ("/job/1/close", "/job/1#job-end"),
        ("/job/1/work", "/job/1#strip"),
        ("/job/1/entry/3/correct", "/job/1#findings"),
        ("/job/1/measure", "/job/1/bench"),
        ("/due/odometer", "/due"),
        ("/jobs", "/#open-job"),
    ],
)
def test_a_refused_form_asked_for_again_leads_to_its_place(web: TestClient, path: str, place: str) -> None:
    """Its page stands under the address it was sent to; a program that asks is told as ever."""
    answer = web.get(path, headers={"accept": "text/html"}, follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, place)
    assert web.get(place).status_code == 200
    assert web.get(path, headers=JSON).status_code == 405


def test_a_fault_of_the_program_is_said_plainly(demo: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing of the inside is shown, and the answer carries the policy too."""

    def broken(shop: Shop) -> None:
        raise ZeroDivisionError("secret inside")

    monkeypatch.setattr(opening, "cars", broken)
    client = TestClient(create_app(demo), base_url="http://127.0.0.1:8350", raise_server_exceptions=False)
    answer = client.get("/")
    assert answer.status_code == 500
    assert "secret inside" not in answer.text
    assert "inside the program" in answer.text
    assert answer.headers["content-security-policy"] == HEADERS["Content-Security-Policy"]


def test_routes_are_thin() -> None:
    """A route parses, calls one task and renders: thirty lines at most."""
    folder = Path(str(resources.files("bellhousing.web")))
    files = sorted(folder.glob("routes_*.py"))
    assert len(files) >= 4
    for path in files:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                assert (node.end_lineno or 0) - node.lineno < 30, node.name


@pytest.mark.parametrize("path", ["/login", "/boxes/check", "/boxes", "/job/1/note", "/learn/tally"])
def test_half_a_letter_in_json_is_refused_at_the_door(web: TestClient, path: str) -> None:
    """An escape may stand for what no file can hold; a form cannot send it."""
    sent = b'{"text": "fluid low \\ud800", "name": "\\ud800", "tally": "\\ud800"}'
    answer = web.post(path, content=sent, headers={**JSON, "content-type": "application/json"})
    assert answer.status_code == 422
    assert "no letters" in answer.json()["error"]["what"]


@pytest.mark.parametrize("figures", [19, 25, 5000])
@pytest.mark.parametrize(
    "path",
    ["/job/{}", "/job/{}.json", "/job/1/photo/{}", "/job/1/entry/{}/withdraw", "/job/1/share/{}/revoke"],
)
def test_a_number_that_no_record_can_have_is_a_wrong_address(
    web: TestClient, path: str, figures: int
) -> None:
    """Longer than a database counts, longer than Python reads."""
    address = path.format("9" * figures)
    ask = web.post if address.endswith(("withdraw", "revoke")) else web.get
    assert ask(address, headers=JSON).status_code == 404
