"""Requests nobody of ours would send: other places, other hosts, other words than the database expects."""

from __future__ import annotations

from collections.abc import Iterator
from importlib.resources import files

import pytest
from starlette.testclient import TestClient

from bellhousing.tasks import opening
from bellhousing.tasks.shop import RECORDS, Shop
from bellhousing.web.app import create_app
from bellhousing.web.guard import LARGEST_BODY
from bellhousing.web.routes_photos import LARGEST_FORM
from tests.security.conftest import ADDRESS, ORIGIN, PHRASES, Enter

JSON = {"accept": "application/json"}
ELSEWHERE: tuple[dict[str, str], ...] = (
    {"origin": "https://elsewhere.example"},
    {"origin": "http://bench.local"},
    {"origin": "null"},
    {"sec-fetch-site": "cross-site"},
    {"sec-fetch-site": "same-site"},
    {},
)
POSTS = ("/job/1/note", "/jobs", "/cars", "/people/add", "/people/remove", "/logout", "/unit", "/learn/use")


@pytest.mark.parametrize("path", POSTS)
def test_no_other_site_posts_with_a_persons_session(shop: Shop, enter: Enter, path: str) -> None:
    """Even if a browser sent the cookie along: the origin must be ours, and must be said."""
    held = dict(enter("Petra").cookies)
    app = create_app(shop, hosts=("bench.local",), workshop=True)
    with TestClient(app, base_url=ADDRESS, cookies=held) as client:
        assert client.get("/shop.json").status_code == 200
        for headers in ELSEWHERE:
            assert client.post(path, data={"name": "Max", "text": "x"}, headers=headers).status_code == 403
    assert len(shop.store.access.people.all()) == 3
    assert shop.store.access.people.deeds() == ()


@pytest.mark.parametrize(
    "host", ["elsewhere.example", "bench.local.elsewhere.example", "bench.local@x", "x", ""]
)
def test_a_strange_host_sees_not_even_the_door(door: TestClient, host: str) -> None:
    """Neither a page to log in, nor an address made of what was asked for."""
    answer = door.get("/login", headers={"host": host})
    assert answer.status_code == 421
    assert "elsewhere" not in answer.text


def test_no_address_is_made_of_the_host(door: TestClient) -> None:
    """Links and redirections stay on this site, whatever host and proxy headers say."""
    forwarded = {
        "x-forwarded-host": "elsewhere.example",
        "x-forwarded-for": "10.9.9.9",
        "forwarded": "host=x",
    }
    answer = door.post("/login", data={"name": "Max", "phrase": PHRASES["Max"]}, headers=forwarded)
    assert answer.headers["location"] == "/"
    assert "elsewhere.example" not in door.get("/", headers=forwarded).text


PLACES = (
    "/static/../app.py",
    "/static/%2e%2e/app.py",
    "/static/..%2fapp.py",
    "/static/....//app.py",
    "/static//etc/passwd",
    "/static/%5c..%5capp.py",
    "/static/ink.css%00.js",
    "/job/1/photo/..%2f..%2f" + RECORDS + "/large",
    "/job/1/photo/" + "a" * 64 + "/..%2f..%2f" + RECORDS,
    "/job/1/road/reading/..%2f..",
    "/bench/..%2fstock.json",
    "/evening/case/..%2f..%2fapp.json",
)


@pytest.mark.parametrize("path", PLACES)
def test_no_address_leads_out_of_its_folder(enter: Enter, path: str) -> None:
    """Neither to the program, nor to the records, nor to the machine."""
    answer = enter("Petra").get(path)
    assert answer.status_code in (400, 404, 405, 422)
    assert not any(told in answer.content for told in (b"def create_app", b"SQLite format", b"root:"))


@pytest.mark.parametrize(
    "box", ["../../../../etc/passwd", "/etc/passwd", "/dev/zero", "..", "\x00", "a" * 5000]
)
@pytest.mark.parametrize("name", ["Max", "Petra"])
def test_a_box_is_not_read_from_anywhere(enter: Enter, shop: Shop, name: str, box: str) -> None:
    """No file of the machine is a box to somebody on the network, nor is it told whether there is one."""
    file = shop.folder / "secret.yaml"
    file.write_text("key of the till: 1234\n")
    client = enter(name)
    for asked in (box, str(file), str(file.with_name("none.yaml")), str(shop.folder / RECORDS)):
        told = [
            client.post("/cars", data={"name": "red pick-up", "box": asked}, headers=JSON),
            client.get("/stock.json", params={"box": asked}),
            client.get("/evening/table.json", params={"box": asked}),
            client.get("/bench", params={"box": asked}),
        ]
        assert [answer.status_code for answer in told[:3]] == [422] * 3
        what = told[0].json()["error"]["what"]
        assert what in ("there is no box of that name here", "the text holds a null character")
        assert not any("till" in answer.text or "root:" in answer.text for answer in told)


def test_a_car_goes_on_with_the_file_it_was_given_here(enter: Enter, shop: Shop) -> None:
    """What was named at the shop's own machine is still read for everybody."""
    file = shop.folder / "mine.yaml"
    file.write_bytes(files("bellhousing.boxes").joinpath("library", "box-a.yaml").read_bytes())
    opening.open_car(shop, "blue coupé", box=str(file))
    opening.open_job(shop, "blue coupé", "Not what it was.")
    assert enter("Max").get("/job/2.json").status_code == 200


WORDS = (
    "'; DROP TABLE findings; --",
    "' OR '1'='1",
    '" OR ""="',
    "x'), (1,1,1); --",
    "%' AND 1=0 UNION SELECT phrase FROM people --",
    "\\'; --",
    ":name %(name)s ? $1",
    "_%",
)


@pytest.mark.parametrize("word", WORDS)
def test_words_of_the_database_are_only_words(enter: Enter, shop: Shop, word: str) -> None:
    """Kept to the letter where they may be kept, and nobody gets in by them."""
    client = enter("Petra")
    assert client.post("/job/1/note", data={"text": f"fluid {word}"}).status_code == 303
    opened = client.post("/jobs", data={"car": "grey-saloon", "complaint": word, "key": word}, headers=JSON)
    assert shop.store.job(opened.json()["number"]).complaint == word
    assert client.post("/cars", data={"name": f"car {word}"}, headers=JSON).status_code in (201, 422)
    assert client.get("/", params={"car": word, "fault": word, "noted": word}).status_code == 200
    added = client.post("/people/add", data={"name": f"Ann {word}", "role": "reader"}, headers=JSON)
    assert added.json().get("name", f"Ann {word}") == " ".join(f"Ann {word}".split())
    assert client.post("/people/role", data={"name": word, "role": "reader"}, headers=JSON).status_code == 422
    client.cookies.clear()
    for name in (word, "Max"):
        assert client.post("/login", data={"name": name, "phrase": word}).status_code == 401
    assert len(shop.store.jobs()) == 2
    shop.store.check()


def test_line_ends_make_no_header(enter: Enter) -> None:
    """Nothing that is sent ends up as a header of its own, or as a second answer."""
    client = enter("Max")
    planted = "x\r\nset-cookie: planted=1\r\n\r\n<b>"
    for path, data in (
        ("/unit", {"unit": planted, "back": f"/{planted}"}),
        ("/unit", {"unit": "mph", "back": f"/job/1?{planted}"}),
        ("/job/1/note", {"text": planted, "key": planted}),
        ("/jobs", {"car": "grey-saloon", "complaint": planted}),
    ):
        answer = client.post(path, data=data)
        assert answer.status_code in (303, 422)
        assert "planted" not in str(answer.headers.get("set-cookie", ""))
        assert not any(sign in value for value in answer.headers.values() for sign in "\r\n")


def test_a_page_too_large_is_refused_at_the_door_too(door: TestClient, enter: Enter) -> None:
    """Before anybody has logged in, by its length and while it comes."""
    assert door.post("/login", data={"name": "x" * LARGEST_BODY, "phrase": "x"}).status_code == 413

    def pieces() -> Iterator[bytes]:
        yield b"name="
        for _ in range(2 + LARGEST_BODY // 8192):
            yield b"x" * 8192

    sent = {"content-type": "application/x-www-form-urlencoded"}
    assert door.post("/login", content=pieces(), headers=sent).status_code == 413
    assert door.post("/people/add", data={"name": "x" * LARGEST_BODY}).status_code == 413
    told = {"content-length": str(LARGEST_FORM + 1), "content-type": "multipart/form-data; boundary=x"}
    assert enter("Max").post("/job/1/photos", content=b"--x", headers=told).status_code == 413


@pytest.mark.parametrize("depth", [50_000])
def test_deep_json_is_refused(enter: Enter, depth: int) -> None:
    """It is not followed to its bottom."""
    sent = {"content-type": "application/json", **JSON, **ORIGIN}
    answer = enter("Max").post("/job/1/note", content=b"[" * depth, headers=sent)
    assert answer.status_code == 422


def test_a_fault_tells_and_logs_nothing_of_an_owner(
    shop: Shop, enter: Enter, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """Pass phrases, names and words of the job appear in no log."""
    client = enter("Max")
    client.post("/job/1/note", data={"text": "Mrs Sample says it slips"})
    client.post("/login", data={"name": "Mrs Sample", "phrase": "her words entirely"})
    told = caplog.text
    assert not any(word in told for word in ("Sample", "her words", PHRASES["Max"], "slips"))


def test_people_are_not_told_to_mechanics(enter: Enter) -> None:
    """Who else may come in is the proprietor's to know."""
    client = enter("Max")
    for path in ("/people", "/people.json", "/", "/job/1"):
        assert "Petra" not in client.get(path).text
        assert "Rita" not in client.get(path).text
