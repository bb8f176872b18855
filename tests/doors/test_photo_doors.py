"""Photos at both doors: taken, shown, put right, taken back, refused in words."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from bellhousing.cli import main as cli
from bellhousing.tasks import noting, opening
from bellhousing.tasks.photos import LARGEST_PHOTO, check_photos, photo_files
from bellhousing.tasks.shop import Shop
from tests.camera import HEIC, bomb, jpeg, png

JSON = {"accept": "application/json"}


def sent(web: TestClient, job: int, data: bytes = b"", *, name: str = "a.jpg", **words: str) -> Any:
    """A photo sent as a form sends it, answered as JSON."""
    return web.post(f"/job/{job}/photos", files={"photo": (name, data)}, data=words, headers=JSON)


def test_a_photo_is_kept_shown_and_taken_back(
    web: TestClient, demo: Shop, new_job: Callable[[], int]
) -> None:
    """As the page does it: added, seen in the strip and large, its words put right, withdrawn."""
    job = new_job()
    finding = noting.note(demo, job, "fluid dark, smells burnt").findings[0].number
    original = jpeg((900, 600), turned=6)
    photo = sent(web, job, original, caption="the fluid", finding=str(finding), key="one").json()
    assert (photo["caption"], photo["width"], photo["height"]) == ("the fluid", 900, 600)
    assert photo["taken"] == "2026-05-01T09:30:00"
    assert sent(web, job, original, caption="the fluid", finding=str(finding), key="one").json() == photo
    page = web.get(f"/job/{job}").text
    assert f"/photo/{photo['digest']}/small" in page
    assert "Photo: the fluid" in page
    where = f"/job/{job}/photo/{photo['digest']}"
    small = web.get(f"{where}/small")
    assert small.headers["content-type"] == "image/jpeg"
    assert "immutable" in small.headers["cache-control"]
    assert b"GPS" not in small.content + web.get(f"{where}/large").content
    assert web.get(f"{where}/original").content == original
    changed = web.post(
        f"/job/{job}/photos/{photo['number']}/change", data={"caption": "dark", "part": "pan"}, headers=JSON
    ).json()
    assert (changed["caption"], changed["part"], changed["finding"]) == ("dark", "pan", None)
    assert "Taken 1 May 2026, 09:30" in web.get(f"/job/{job}/photos/{photo['number']}").text
    there = f"/job/{job}/photos/{changed['number']}/withdraw"
    assert "not said" in web.post(there, data={"reason": " "}, headers=JSON).json()["error"]["what"]
    assert web.post(there, data={"reason": "of another car", "key": "w"}).status_code == 200
    assert web.post(there, data={"reason": "of another car", "key": "w"}).status_code == 200
    assert web.get(f"/job/{job}/photos.json").json() == []
    assert "Of another car." in web.get(f"/job/{job}").text


def test_two_photos_are_compared(web: TestClient, new_job: Callable[[], int]) -> None:
    """The first and last of a part are offered as before and after, any two can be shown."""
    job = new_job()
    first = sent(web, job, jpeg(), part="pan").json()["number"]
    sent(web, job, png(), name="b.png", caption="something else")
    last = sent(web, job, jpeg((80, 120)), part="pan").json()["number"]
    page = web.get(f"/job/{job}").text
    assert "Before and after: pan" in page
    assert f"left={first}&amp;right={last}" in page
    beside = web.get(f"/job/{job}/photos/compare?left={last}&right={first}").text
    assert len(re.findall(r'<img src="[^"]+/large"', beside)) == 2
    # Without photos there is nothing to compare, and numbers of other jobs are not followed.
    assert web.get(f"/job/{new_job()}/photos/compare", follow_redirects=False).status_code == 303
    assert web.get(f"/job/{job}/photos/compare?left=99999&right=x").status_code == 200


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"not a picture", "not a photo Bellhousing reads"),
        (jpeg((300, 200))[:3000], "cut short or damaged"),
        (bomb(), "60000 × 60000 pixels"),
        (b"", "no photo was chosen|holds nothing"),
    ],
    ids=["text", "truncated", "bomb", "nothing"],
)
def test_what_is_no_photo_is_refused_beside_the_form(
    web: TestClient, new_job: Callable[[], int], data: bytes, said: str
) -> None:
    """As JSON and on the page; nothing is kept."""
    job = new_job()
    answer = sent(web, job, data)
    assert answer.status_code == 422
    assert re.search(said, answer.json()["error"]["what"])
    page = web.post(f"/job/{job}/photos", files={"photo": ("a.jpg", data)})
    assert page.status_code == 422
    assert 'id="photo-problem"' in page.text
    assert web.get(f"/job/{job}/photos.json").json() == []


def test_other_ways_to_go_wrong_are_told(web: TestClient, demo: Shop, new_job: Callable[[], int]) -> None:
    """No such job, no such photo, a closed job, another job's finding, more than a photo may hold."""
    job, other = new_job(), new_job()
    entry = noting.note(demo, other, "no smoke").findings[0].number
    assert sent(web, 99999, jpeg()).status_code == 404
    assert "not of that job" in sent(web, job, jpeg(), finding=str(entry)).json()["error"]["what"]
    assert sent(web, job, jpeg(), finding="x").status_code == 422
    photo = sent(web, job, jpeg()).json()
    for path in (
        f"/job/{other}/photo/{photo['digest']}/small",
        f"/job/{job}/photo/{photo['digest']}/huge",
        f"/job/{job}/photo/..%2F..%2Frecords.sqlite/original",
        f"/job/{job}/photos/{photo['number'] + 999}",
        f"/job/{other}/photos/{photo['number']}",
    ):
        assert web.get(path).status_code == 404, path
    large = web.post(f"/job/{job}/photos", content=b"x", headers=JSON | {"content-length": "99999999999"})
    assert large.status_code == 413
    assert "camera" in large.json()["error"]["remedy"]
    assert LARGEST_PHOTO < 10**8
    opening.close_job(demo, other, "sold")
    assert "closed" in sent(web, other, jpeg()).json()["error"]["what"]


def test_a_photo_of_a_finding_follows_its_correction(
    web: TestClient, demo: Shop, new_job: Callable[[], int]
) -> None:
    """Put right or taken back, the photo still says what it shows."""
    job = new_job()
    entry = noting.note(demo, job, "fluid dark").findings[0].number
    assert entry is not None
    sent(web, job, jpeg(), finding=str(entry))
    put = noting.correct(demo, job, entry, "fluid milky").findings[0].number
    (photo,) = web.get(f"/job/{job}/photos.json").json()
    assert (photo["finding"], photo["said"]) == (put, "fluid milky")


def test_missing_and_changed_photos_are_found(
    web: TestClient, demo: Shop, new_job: Callable[[], int]
) -> None:
    """The check names them; a copy is never made from a spoilt original."""
    job = new_job()
    spoilt, gone = sent(web, job, jpeg((33, 44))).json(), sent(web, job, png((55, 44))).json()
    files = photo_files(demo)
    files.original(spoilt["digest"], "jpeg").write_bytes(b"spoilt")
    files.original(gone["digest"], "png").unlink()
    files.path(spoilt["digest"], "jpeg", "small").unlink()
    found = check_photos(demo)
    assert [photo.number for photo in found.changed] == [spoilt["number"]]
    assert [photo.number for photo in found.missing] == [gone["number"]]
    assert web.get(f"/job/{job}/photo/{spoilt['digest']}/small").status_code == 404
    assert web.get(f"/job/{job}").status_code == 200
    sent(web, job, jpeg((33, 44)))
    sent(web, job, png((55, 44)))
    assert check_photos(demo).sound


def test_photos_at_the_command_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Add, list, put right, take back, check; what is refused says so in one line."""
    monkeypatch.setenv("BELLHOUSING_SHOP", str(tmp_path / "shop"))
    photo = tmp_path / "pan.heic"
    photo.write_bytes(HEIC.read_bytes())

    def run(*words: str, status: int = 0) -> str:
        assert cli.run(words) == status
        said = capsys.readouterr()
        return said.out + said.err

    run("car", "add", "grey saloon", "--box", "A")
    run("job", "open", "--car", "grey-saloon", "--complaint", "slips")
    assert "no photo" in run("photo", "list", "1")
    assert "64 × 96 heic" in run("photo", "add", "1", str(photo), "--caption", "the pan", "--part", "pan")
    assert json.loads(run("photo", "add", "1", str(photo), "--part", "pan", "--json"))["number"] == 1
    assert "the pan again" in run("photo", "change", "1", "1", "--caption", "the pan again")
    assert "of pan" in run("photo", "list", "1")
    assert "1 photo read through" in run("photo", "check")
    assert "Taken back" in run("photo", "withdraw", "1", "2", "of", "another", "car")
    assert json.loads(run("photo", "list", "1", "--json")) == []
    (original,) = (tmp_path / "shop" / "photos" / "originals").glob("*/*")
    original.write_bytes(b"spoilt")
    assert "changed or damaged: photo" in run("photo", "check", status=1)
    assert "no job 9" in run("photo", "add", "9", str(photo), status=1)
    assert "cannot be read" in run("photo", "add", "1", str(tmp_path), status=1)
    assert "No such file" in run("photo", "add", "1", "nowhere.jpg", status=1)
    (tmp_path / "bomb.png").write_bytes(bomb())
    assert "60000 × 60000" in run("photo", "add", "1", str(tmp_path / "bomb.png"), status=1)
