"""Keeping a shop: backup, restore, check, out, in, move at the command line; health and log of the app."""

from __future__ import annotations

import io
import json
import logging
import threading
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bellhousing.cli import main as cli
from bellhousing.records.store import open_store
from bellhousing.tasks import opening
from bellhousing.tasks.keeping import back_up, keep_backups
from bellhousing.tasks.log_lines import tell_as_lines
from bellhousing.tasks.shop import RECORDS, now, open_shop
from bellhousing.web.app import create_app
from tests.camera import jpeg
from tests.doors.conftest import ADDRESS

OWNER = "Quillfeather"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A shop with a car of an owner, a job, and a photo."""
    folder = tmp_path / "shop"
    monkeypatch.setenv("BELLHOUSING_SHOP", str(folder))
    with open_shop(folder) as shop:
        opening.open_car(shop, f"{OWNER} saloon", box="box-a")
        opening.open_job(shop, f"{OWNER} saloon", "Shifts late.")
    return folder


def told(capsys: pytest.CaptureFixture[str], *arguments: str, status: int = 0) -> str:
    """What a command prints."""
    assert cli.run(arguments) == status
    captured = capsys.readouterr()
    return captured.out + captured.err


def test_backed_up_checked_spoilt_and_put_back(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The check names the command that puts it right, and it does."""
    assert "there is no backup" in told(capsys, "check", status=1)
    assert "restored into a temporary database" in told(capsys, "backup", "--keep", "3")
    (listed,) = json.loads(told(capsys, "backup", "--list", "--json"))
    assert told(capsys, "check") == (
        "All is well: database, photos, box files, logs, backups, clock, disk.\n"
    )
    file = folder / RECORDS
    file.write_bytes(file.read_bytes()[:3000])
    assert "put back the last good copy with: bellhousing restore" in told(capsys, "check", status=1)
    assert "there is no backup of that name" in told(capsys, "restore", "yesterday", status=1)
    assert f"Put back {listed['name']}" in told(capsys, "restore", "latest")
    assert f"{OWNER} saloon" in told(capsys, "job", "list")
    assert (next(folder.glob("before-restore-*")) / RECORDS).stat().st_size == 3000


def test_out_into_an_archive_and_into_another_shop(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Refused where there is something already."""
    archive = str(tmp_path / "all.zip")
    told(capsys, "export", archive)
    assert "is there already" in told(capsys, "export", archive, status=1)
    assert "in it already" in told(capsys, "import", archive, status=1)
    assert "Took in" in told(capsys, "import", archive, "--shop", str(tmp_path / "other"))
    assert f"{OWNER} saloon" in told(capsys, "job", "list", "--shop", str(tmp_path / "other"))


def test_moved_records_are_not_looked_for_where_they_were(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nobody goes on writing into the old file; one setting leads to the new place, and back again."""
    target = str(tmp_path / "moved.sqlite")
    assert "each the same there" in told(capsys, "move", target)
    assert f"were moved to {target}" in told(capsys, "job", "list", status=1)
    assert f"{OWNER} saloon" in told(capsys, "job", "list", "--records", target)
    told(capsys, "move", str(folder / RECORDS), "--records", target)
    assert f"{OWNER} saloon" in told(capsys, "job", "list")


def test_the_app_tells_a_watcher_how_it_is(folder: Path) -> None:
    """Well; then with a clock set back behind what was written, and an old backup."""
    with open_shop(folder) as shop, TestClient(create_app(shop), base_url=ADDRESS) as client:
        well = client.get("/health")
        assert (well.status_code, well.json()["ok"], well.json()["problems"]) == (200, True, [])
        back_up(shop)
    for days, said in ((-30, "the clock of this machine is behind"), (3, "the last backup is old")):
        other = open_shop(folder, clock=lambda days=days: now() + timedelta(days=days))  # type: ignore[misc]
        with other as shop, TestClient(create_app(shop), base_url=ADDRESS) as client:
            ill = client.get("/health")
            assert (ill.status_code, ill.json()["ok"]) == (503, False)
            assert said in " ".join(ill.json()["problems"])
            assert OWNER not in ill.text


@pytest.fixture
def lines() -> Iterator[io.StringIO]:
    """What the log tells as JSON lines."""
    root, ours = logging.getLogger(), logging.getLogger("bellhousing")
    before = (root.handlers[:], root.level, ours.level)
    stream = io.StringIO()
    tell_as_lines(stream)
    yield stream
    root.handlers[:] = before[0]
    root.setLevel(before[1])
    ours.setLevel(before[2])


class Once(threading.Event):
    """A wish to stop that comes as soon as somebody has done what there was and waits for it."""

    def wait(self, timeout: float | None = None) -> bool:
        """Nothing is waited for."""
        self.set()
        return True


def test_the_log_tells_what_happened_and_nothing_of_what_the_shop_holds(
    folder: Path, lines: io.StringIO
) -> None:
    """Kind of page, status, time; of a mishap its kind and places; no owner's name or word."""
    stop = Once()
    with open_shop(folder) as shop:
        app = create_app(shop)
        with TestClient(app, base_url=ADDRESS, raise_server_exceptions=False) as client:
            car = shop.store.cars()[0].slug
            client.get("/job/1.json", headers={"accept": "application/json"})
            client.get(f"/nowhere/{OWNER}?owner={OWNER}")
            client.get(f"/static/{OWNER}/{car}.css")
            client.post("/job/1/notes", data={"text": f"{OWNER} says 64 psi"}, headers={"origin": ADDRESS})
            shop.store.close()
            shop.__dict__["store"] = None
            client.get("/job/1")
        shop.__dict__["store"] = open_store(folder / RECORDS)
        keep_backups(shop, stop, keep=2)
    events = [json.loads(line) for line in lines.getvalue().splitlines()]
    pages = {(event["page"], event["status"]) for event in events if event["what"] == "answered"}
    assert ("unknown", 404) in pages
    assert any(page.startswith("/job/{number}") for page, _ in pages)
    (mishap,) = (event for event in events if "error" in event)
    assert (mishap["level"], mishap["error"]) == ("error", "AttributeError")
    assert [event["what"] for event in events if "backup" in event] == ["backed up"]
    assert OWNER.casefold() not in lines.getvalue().casefold()


def test_a_photo_cut_short_is_mended_from_the_backup(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The check says that a backup has it, and puts it back when told to."""
    photo = tmp_path / "photo.jpg"
    photo.write_bytes(jpeg())
    told(capsys, "photo", "add", "1", str(photo))
    told(capsys, "backup")
    (kept,) = (folder / "photos" / "originals").glob("*/*")
    whole = kept.read_bytes()
    kept.write_bytes(whole[: len(whole) // 2])
    said = told(capsys, "check", status=1)
    assert "a photo of job 1 was changed or cut short" in said
    assert "put it back with: bellhousing check --mend" in said
    assert "put back from a backup" in told(capsys, "check", "--mend")
    assert kept.read_bytes() == whole
    told(capsys, "check")


def test_a_box_file_that_cannot_be_used_is_named_with_its_cars(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Everything else is looked at all the same."""
    box = tmp_path / "own.yaml"
    box.write_bytes((Path(opening.__file__).parents[1] / "boxes/library/box-a.yaml").read_bytes())
    with open_shop(folder) as shop:
        opening.open_car(shop, "Blue coupe", box=str(box))
    box.unlink()
    said = told(capsys, "check", status=1)
    assert "box files: the box of Blue coupe cannot be used" in said
    assert "backups: there is no backup" in said
