"""The road on a job's page: a log sent from the form, put right, refused with a clear word."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from starlette.testclient import TestClient

from bellhousing.cli import main as cli
from bellhousing.road.logs import blocks, read
from bellhousing.tasks.shop import Shop
from bellhousing.web.app import create_app
from bellhousing.web.guard import LARGEST_BODY
from bellhousing.web.routes_road import LARGEST_LOG
from bellhousing.web.under_way import Reading
from tests.road.invented_drives import Logger, loop, sampled, written
from tests.road.reading_logs import columns_of

JSON = {"accept": "application/json"}


@pytest.fixture(scope="module")
def log() -> bytes:
    """The standard loop with a slipping second gear and flaring shifts, as a logger wrote it."""
    drove = loop(slip=((2, 0.1),), flare=400)
    return written(columns_of(sampled(drove, Logger(seed=8)), "vacuum")).encode()


def send(web: TestClient, job: int, log: bytes, name: str = "loop.csv", **fields: str) -> Any:
    """Send a log as the form does, for JSON."""
    return web.post(f"/job/{job}/road", files={"log": (name, log)}, data=fields, headers=JSON)


def test_a_log_is_taken_and_shown(web: TestClient, new_job: Callable[[], int], log: bytes) -> None:
    """From the form to the picture, the shifts, the columns and the findings noted."""
    job = new_job()
    assert len(log) > LARGEST_BODY
    assert "no log yet" in web.get(f"/job/{job}").text
    answer = web.post(f"/job/{job}/road", files={"log": ("loop.csv", log)}, follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/job/{job}#road")
    page = web.get(f"/job/{job}").text
    road = page[page.index('<section id="road"') :]
    road = road[: road.index("</section>")]
    assert "loop.csv" in road
    assert "The drive over time" in road
    assert '<th scope="row">1–2</th>' in road
    assert "Speed [mph]" in road
    assert "second slips 10 %" in road[road.index("Noted among") :]
    told = web.get(f"/job/{job}.json").json()["answer"]["findings"]
    assert {"slip-second", "upshift-23-full"} <= {entry["finding"] for entry in told}
    (kept,) = web.get(f"/job/{job}/road.json").json()
    assert (
        len(kept["answer"]["shifts"]) == len(kept["picture"]["shifts"]) == road.count('<th scope="row">') - 4
    )
    drawn = web.get(f"/job/{job}/road.svg")
    assert drawn.headers["content-type"] == "image/svg+xml"
    assert "flares" in "".join(ElementTree.fromstring(drawn.content).itertext())


def test_the_same_log_twice_is_there_once(web: TestClient, new_job: Callable[[], int], log: bytes) -> None:
    """Neither the log nor what it tells is doubled."""
    job = new_job()
    for _ in range(2):
        assert send(web, job, log).status_code == 200
    assert len(web.get(f"/job/{job}/road.json").json()) == 1
    told = [entry["finding"] for entry in web.get(f"/job/{job}.json").json()["answer"]["findings"]]
    assert len(told) == len(set(told))


def test_a_column_is_put_right_and_so_is_what_it_told(
    web: TestClient, new_job: Callable[[], int], demo: Shop, log: bytes
) -> None:
    """Read again in another unit the findings move; back again they are what they were."""
    job = new_job()
    odd = log.replace(b"Speed [mph]", b"Speed two")
    first = send(web, job, odd, columns="speed=Speed two in mph").json()
    (kept,) = web.get(f"/job/{job}/road.json").json()

    def noted() -> dict[str | None, str]:
        return {one.finding: one.said for one in demo.store.current_findings(job) if one.who == "log"}

    before = noted()
    assert before
    path = f"/job/{job}/road/{kept['log']}"
    slower = web.post(path, data={"columns": "speed=Speed two in km/h"}, headers=JSON).json()
    assert slower["columns"] != first["columns"]
    assert noted() != before
    again = web.post(path, data={"columns": "speed=Speed two in mph"}, headers=JSON).json()
    assert again["shifts"] == first["shifts"]
    assert noted() == before
    other = send(web, job, odd + b"\n", name="another.csv").json()
    assert {"remembered"} == {column["how"] for column in other["columns"] if column["meaning"] == "speed"}
    wrong = web.post(path, data={"columns": "colour=b"})
    assert wrong.status_code == 422
    assert "does not say what a column holds" in wrong.text
    assert 'value="colour=b"' in wrong.text
    assert web.post(path, data={"columns": ""}, headers=JSON).status_code == 422
    assert web.post(f"/job/{job}/road/nothing", data={"columns": "speed=b"}, headers=JSON).status_code == 422


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "the log is empty"),
        (b"  \n \n", "the log is empty"),
        (bytes(range(256)) * 40, "not a text file"),
        (b"PK\x03\x04" + b"x" * 100, "a spreadsheet or an archive"),
        (b"speed\n" + b"12\n" * 50, "only one column"),
        (b"a,b\n" + b"1,2\n" * 50, "no column of this log could be told"),
        (b"Time [s],Speed [mph],Engine [rpm]\n" + b"0,0,0\n" * 90, "zero throughout"),
        (b"only words, and none of them\na figure, as it is\n" * 9, ""),
    ],
)
def test_what_is_no_log_is_refused_beside_the_form(
    web: TestClient, new_job: Callable[[], int], content: bytes, said: str
) -> None:
    """What was wrong, in the file's own name, what would be right; nothing is kept."""
    job = new_job()
    told = send(web, job, content, name="../../etc/<b>bad.csv")
    assert told.status_code == 422
    error = told.json()["error"]
    assert said in error["what"]
    assert error["remedy"]
    assert "--" not in error["remedy"]
    assert error["where"] in ("_b_bad.csv", None)
    page = web.post(f"/job/{job}/road", files={"log": ("bad.csv", content)}, data={"columns": "speed=a"})
    assert page.status_code == 422
    assert 'id="road-problem"' in page.text
    assert 'value="speed=a"' in page.text
    assert web.get(f"/job/{job}/road.json").json() == []


def test_a_form_without_a_log_is_refused(web: TestClient, new_job: Callable[[], int]) -> None:
    """Nothing chosen, text in place of a file, JSON, another type of body: one clear word."""
    path = f"/job/{new_job()}/road"
    for answer in (
        web.post(path, files={"log": ("", b"")}, headers=JSON),
        web.post(path, data={"log": "text"}, headers=JSON),
        web.post(path, json={"log": "text"}, headers=JSON),
        web.post(path, content=b"Time,Speed\n", headers=JSON | {"content-type": "text/csv"}),
    ):
        assert answer.status_code in (400, 422)
        assert set(answer.json()["error"]) == {"what", "where", "remedy"}


def test_a_broken_form_is_refused(web: TestClient, new_job: Callable[[], int]) -> None:
    """A body that ends in the middle, and one with two files."""
    path, job = "multipart/form-data; boundary=x", new_job()
    half = web.post(f"/job/{job}/road", content=b"--x\r\nnothing", headers=JSON | {"content-type": path})
    assert half.status_code in (400, 422)
    two = [("log", ("a.csv", b"1")), ("other", ("b.csv", b"2"))]
    assert web.post(f"/job/{job}/road", files=two, headers=JSON).status_code == 400


@pytest.fixture
def small(demo: Shop) -> Iterator[TestClient]:
    """A client of an app that takes logs of up to 1 MB."""
    with TestClient(create_app(demo, largest_log=2**20), base_url="http://127.0.0.1:8350") as client:
        yield client


def test_too_large_a_log_is_refused_with_a_way_out(small: TestClient, new_job: Callable[[], int]) -> None:
    """By its length and while it comes; the message names the limit and the command that takes any size."""
    path = f"/job/{new_job()}/road"
    body = b'--x\r\nContent-Disposition: form-data; name="log"; filename="a.csv"\r\n\r\n' + b"1,2\n" * 2**19

    def pieces() -> Iterator[bytes]:
        for begin in range(0, len(body), 65536):
            yield body[begin : begin + 65536]

    sent = JSON | {"content-type": "multipart/form-data; boundary=x"}
    for content in (body, pieces()):
        told = small.post(path, content=content, headers=sent)
        assert told.status_code == 413
        assert "1 MB" in told.json()["error"]["remedy"]
        assert "bellhousing road add" in told.json()["error"]["remedy"]
    assert LARGEST_LOG == 256 * 2**20


@pytest.mark.parametrize("path", ["note", "measure", "road/abc", "road.svg", "roads"])
def test_only_a_log_may_be_large(web: TestClient, new_job: Callable[[], int], path: str) -> None:
    """Every other address keeps its limit."""
    answer = web.post(f"/job/{new_job()}/{path}", data={"text": "x" * LARGEST_BODY}, headers=JSON)
    assert answer.status_code == 413
    assert "64 kB" in answer.json()["error"]["remedy"]


def test_another_site_may_send_no_log(web: TestClient, new_job: Callable[[], int], log: bytes) -> None:
    """As with every other form."""
    job = new_job()
    answer = web.post(
        f"/job/{job}/road", files={"log": ("a.csv", log)}, headers={"origin": "http://elsewhere.example"}
    )
    assert answer.status_code == 403
    assert web.get(f"/job/{job}/road.json").json() == []


def test_a_closed_job_takes_no_log(web: TestClient, new_job: Callable[[], int], log: bytes) -> None:
    """It says so and keeps nothing; nor is there a form."""
    job = new_job()
    web.post(f"/job/{job}/close", data={"why": "done"})
    told = send(web, job, log)
    assert told.status_code == 422
    assert "closed" in told.json()["error"]["what"]
    assert 'id="road-log"' not in web.get(f"/job/{job}").text


def test_no_job_and_no_log_are_not_found(web: TestClient, new_job: Callable[[], int], log: bytes) -> None:
    """Neither is a fault of the program."""
    assert send(web, 99999, log).status_code == 404
    assert web.get(f"/job/{new_job()}/road.svg").status_code == 404


def test_the_picture_is_a_file(tmp_path: Path, log: bytes, capsys: pytest.CaptureFixture[str]) -> None:
    """`road read --picture` draws the drive; where it cannot it says so."""
    path, drawn = tmp_path / "loop.csv", tmp_path / "out.svg"
    path.write_bytes(log)
    shop = ["--shop", str(tmp_path / "shop")]
    assert cli.run(["road", "read", str(path), "--box", "A", "--picture", str(drawn), *shop]) == 0
    text = "".join(ElementTree.fromstring(drawn.read_bytes()).itertext())
    assert "Gear 2 slips" in text
    assert "mph" in text
    nowhere = str(tmp_path / "none" / "out.svg")
    assert cli.run(["road", "read", str(path), "--box", "A", "--picture", nowhere, *shop]) == 1
    assert "cannot be written" in capsys.readouterr().err


def test_a_reading_is_followed_and_stopped(
    web: TestClient, new_job: Callable[[], int], log: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Under the name its page gave it: how far it is, then stopped from beside it, and nothing is kept."""
    job, name = new_job(), "a-reading-of-mine"
    path = f"/job/{job}/road/reading/{name}"
    told: list[Any] = []
    taken = Reading.progress

    def asked(self: Reading, done: int, total: int) -> None:
        taken(self, done, total)
        told.append(web.get(path).json())
        if len(told) == 2:
            told.append(web.post(f"{path}/stop").json())

    monkeypatch.setattr(Reading, "progress", asked)
    monkeypatch.setattr(
        blocks.blocks, "__kwdefaults__", {**(blocks.blocks.__kwdefaults__ or {}), "block": 2**14}
    )
    monkeypatch.setattr(
        read.read_log, "__kwdefaults__", {**(read.read_log.__kwdefaults__ or {}), "block": 2**14}
    )
    answer = web.post(f"/job/{job}/road?reading={name}", files={"log": ("loop.csv", log)}, headers=JSON)
    assert answer.status_code == 422
    assert "stopped" in answer.json()["error"]["what"]
    first, second, stopped = told
    assert 0 < first["done"] < second["done"] < second["total"] == 2 * len(log)
    assert stopped == {"stopped": True}
    assert web.get(path).json() is None
    assert web.post(f"{path}/stop").json() == {"stopped": False}
    assert web.get(f"/job/{job}/road.json").json() == []
