"""The service plan at the doors: page, JSON, calendar, letters and command line."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from ical.calendar_stream import IcsCalendarStream
from starlette.testclient import TestClient

from bellhousing.cli import main as cli
from bellhousing.tasks import opening
from bellhousing.tasks.shop import Shop, open_shop
from bellhousing.web.app import create_app


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """A shop with one car."""
    with open_shop(tmp_path / "shop") as opened:
        opening.open_car(opened, "grey saloon", box="box-a")
        yield opened


@pytest.fixture
def client(shop: Shop) -> Iterator[TestClient]:
    """A browser of this machine."""
    with TestClient(create_app(shop), base_url="http://127.0.0.1:8350") as opened:
        yield opened


def test_page_notes_what_was_done_and_shows_what_follows(client: TestClient) -> None:
    """From nothing known to a day, then a letter and a calendar that another library reads."""
    assert "when it was last done is not known" in client.get("/due?car=grey-saloon").text
    past = (date.today() - timedelta(days=400)).isoformat()
    sent = {"car": "grey-saloon", "service": "annual-check", "day": past, "odometer": "61,000 miles"}
    answer = client.post("/due/done", data=sent, follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, "/due?car=grey-saloon")
    page = client.get("/due?car=grey-saloon").text
    assert "Overdue" in page
    assert "61,000 miles" in page
    assert "overdue" in client.get("/due/letter/grey-saloon.txt").text
    assert client.get("/due/letter/grey-saloon.pdf").content.startswith(b"%PDF")
    read = IcsCalendarStream.calendar_from_ics(client.get("/due/calendar.ics").text)
    assert len(read.events) == 1
    number = client.get("/due.json?car=grey-saloon").json()["cars"][0]["done"][0]["number"]
    client.post("/due/withdraw", data={"car": "grey-saloon", "number": str(number)})
    assert client.get("/due.json").json()["order"] == []
    assert client.get("/due/letter/grey-saloon.pdf").status_code == 404


@pytest.mark.parametrize(
    ("path", "sent"),
    [
        ("/due/done", {"car": "grey-saloon", "service": "<script>", "day": ""}),
        ("/due/done", {"car": "grey-saloon", "service": "service", "day": "soon"}),
        ("/due/odometer", {"car": "grey-saloon", "odometer": "'; DROP TABLE cars; --"}),
        ("/due/withdraw", {"car": "grey-saloon", "number": "x"}),
    ],
)
def test_form_that_is_refused_comes_back_as_it_was(
    client: TestClient, path: str, sent: dict[str, str]
) -> None:
    """With the reason, and what was typed as text."""
    answer = client.post(path, data=sent)
    assert answer.status_code == 422
    assert "<script>" not in answer.text.replace('<script type="module"', "")
    asked = client.post(path, json=sent, headers={"accept": "application/json"})
    assert (asked.status_code, set(asked.json())) == (422, {"error"})
    assert client.get("/due?car=nobody").status_code == 404


def test_command_tells_notes_and_writes(
    shop: Shop, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Noting, the list, the calendar file and the letter; JSON as on the page."""
    place = ["--shop", str(shop.folder)]
    noted = ["due", "--car", "grey-saloon", "--done", "service", "--on", "2023-01-31"]
    assert cli.run([*noted, "--odometer", "60,000 miles", *place]) == 0
    assert "Service done on 31 January 2023." in capsys.readouterr().out
    files = [tmp_path / name for name in ("d.ics", "l.pdf", "l.txt")]
    for name, file in zip(("--calendar", "--letter", "--letter"), files, strict=True):
        assert cli.run(["due", "--car", "grey-saloon", name, str(file), *place]) == 0
        assert file.stat().st_size > 100
    capsys.readouterr()
    assert cli.run(["due", "--json", *place]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["order"][0]["state"] == "overdue"
    assert cli.run(["due", "--done", "service", *place]) == 2
