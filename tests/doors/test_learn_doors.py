"""Learning at the command line and over the web."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bellhousing.cli.main import run
from bellhousing.tasks import noting, opening
from bellhousing.tasks.shop import open_shop
from bellhousing.web.app import create_app
from tests.doors.conftest import ADDRESS


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A shop with one open job on which something was found."""
    with open_shop(tmp_path / "shop") as shop:
        opening.open_car(shop, "grey saloon", box="box-a")
        job = opening.open_job(shop, "grey saloon", "Smokes").number
        noting.note(shop, job, "fluid in the vacuum hose")
    return tmp_path / "shop"


@pytest.fixture
def client(folder: Path) -> Iterator[TestClient]:
    """A browser on that shop."""
    with open_shop(folder) as shop, TestClient(create_app(shop), base_url=ADDRESS) as client:
        yield client


def test_the_command_line_learns_and_forgets(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Close with a cause, see what moved, write the tally, refuse it back, forget the job."""
    shop = ["--shop", str(folder)]
    assert run(["learn", *shop]) == 0
    assert "0 with their causes confirmed" in capsys.readouterr().out
    assert run(["job", "close", "1", "--cause", "modulator-diaphragm-torn", *shop]) == 0
    capsys.readouterr()
    assert run(["learn", *shop]) == 0
    text = capsys.readouterr().out
    assert "Modulator diaphragm torn" in text
    assert "1 of 1" in text
    assert run(["learn", *shop, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["own_used"] is True
    assert answer["kinds"][0]["cars"] == 1
    file = tmp_path / "tally.json"
    assert run(["learn", "--export", str(file), *shop]) == 0
    assert run(["learn", "--import", str(file), *shop]) == 1
    assert "own tally" in capsys.readouterr().err
    assert run(["learn", "--forget", "1", *shop, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["kinds"] == []
    assert run(["learn", "--use", "off", "--forget", "1", *shop]) == 2


def test_a_hostile_tally_leaves_with_status_1(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Refused with what is wrong, and nothing taken in."""
    file = tmp_path / "bad.json"
    file.write_text(
        '{"format": "bellhousing-tally", "version": 1, "kinds": {"three-speed-vacuum": {"cars": -5}}}'
    )
    assert run(["learn", "--import", str(file), "--shop", str(folder)]) == 1
    assert "cars is -5" in capsys.readouterr().err
    assert run(["learn", "--import", str(tmp_path / "none.json"), "--shop", str(folder), "--json"]) == 1


def test_the_page_closes_with_causes_and_shows_what_moved(client: TestClient) -> None:
    """A box ticked and one typed close the job; the page tells what it moved, and forgets it again."""
    assert 'name="cause-modulator-diaphragm-torn"' in client.get("/job/1").text
    back = client.post("/job/1/close", data={"causes": "modulator on fire"})
    assert back.status_code == 422
    assert "no cause" in back.text
    sent = {"cause-modulator-diaphragm-torn": "on", "causes": "Modulator sealing ring flat", "why": "new"}
    client.post("/job/1/close", data=sent)
    answer = client.get("/learn.json").json()
    assert set(answer["jobs"][0]["causes"]) <= {"modulator-diaphragm-torn", "modulator-ring-flat"}
    page = client.get("/learn").text
    assert "Modulator diaphragm torn" in page
    assert client.get("/learn/tally.json").json()["kinds"]["three-speed-vacuum"]["cars"] == 1
    client.post("/learn/job", data={"job": "1"})
    assert client.get("/learn.json").json()["kinds"] == []
    client.post("/learn/job", data={"job": "1", "again": "yes"})
    client.post("/learn/use", data={"use": "off"})
    assert client.get("/learn.json").json()["own_used"] is False


def test_a_pasted_tally_is_checked(client: TestClient) -> None:
    """Nonsense comes back with what is wrong; a tally is taken in once and can be taken back."""
    assert client.post("/learn/tally", data={"tally": "nonsense"}).status_code == 422
    tally = {
        "format": "bellhousing-tally",
        "version": 1,
        "kinds": {
            "three-speed-vacuum": {"cars": 4, "faults": {"pump-worn": 4}, "seen": {}, "background": {}}
        },
    }
    client.post("/learn/tally", data={"tally": json.dumps(tally)})
    taken = client.get("/learn.json").json()["tallies"]
    assert [entry["cars"] for entry in taken] == [4]
    assert client.post("/learn/tally", data={"tally": json.dumps(tally)}).status_code == 422
    client.post("/learn/back", data={"digest": taken[0]["digest"]})
    assert client.get("/learn.json").json()["tallies"] == []
