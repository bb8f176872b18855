"""Links for owners: one page, for a time, until taken back; and nothing else by them."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from bellhousing.cli.main import run
from bellhousing.errors import InputFileError
from bellhousing.tasks import photos, sharing
from bellhousing.tasks.shop import Shop
from bellhousing.web import routes_report, routes_share
from bellhousing.web.app import create_app
from tests.camera import jpeg
from tests.security.conftest import ADDRESS, Enter, Hands


@pytest.fixture
def owner(shop: Shop) -> TestClient:
    """Somebody outside, who has nothing but a link."""
    app = create_app(shop, hosts=("bench.local",), workshop=True)
    return TestClient(app, base_url=ADDRESS, follow_redirects=False)


def made(shop: Shop, days: int = 30) -> str:
    """A new link to the report of job 1."""
    token = sharing.share(shop, 1, days=days).token
    assert token is not None
    return token


def test_a_link_shows_the_report_and_nothing_of_the_shop(shop: Shop, owner: TestClient) -> None:
    """No way to the job, no script of the sheet; not kept, not indexed, no other site told of it."""
    token = made(shop)
    answer = owner.get(f"/shared/{token}")
    assert answer.status_code == 200
    assert "Not what it was." in answer.text
    assert 'href="/job' not in answer.text
    assert "sheet.js" not in answer.text
    assert '/people"' not in answer.text
    assert answer.headers["referrer-policy"] == "no-referrer"
    assert "noindex" in answer.headers["x-robots-tag"]
    assert answer.headers["cache-control"] == "no-store"
    for link in re.findall(r'href="(/[^"#]*)"', answer.text):
        assert link.startswith(("/shared/", "/static/")), link
    for path in ("/", "/job/1", "/job/1/report", "/job/1.json", f"/shared/{token}/../job/1"):
        assert owner.get(path).status_code in (401, 404), path


def test_a_link_is_unguessable(shop: Shop) -> None:
    """256 random bits, of which the records know a digest only."""
    tokens = {made(shop) for _ in range(5)}
    assert len(tokens) == 5
    assert all(len(token) == 43 for token in tokens)
    with shop.store._reading() as connection:
        kept = str(connection.exec_driver_sql("SELECT * FROM shares").all())
    assert not any(token in kept for token in tokens)


def test_a_link_runs_out(shop: Shop, owner: TestClient, clock: Hands) -> None:
    """To the second, and says so plainly."""
    token = made(shop, days=3)
    clock.move(days=2, hours=23, minutes=59)
    assert owner.get(f"/shared/{token}").status_code == 200
    clock.move(minutes=1)
    answer = owner.get(f"/shared/{token}")
    assert answer.status_code == 410
    assert "ran out on 2026-03-05" in answer.text
    assert "Not what it was." not in answer.text


def test_a_link_is_taken_back(shop: Shop, owner: TestClient, enter: Enter) -> None:
    """By the shop, at once, and says so plainly; the book says who."""
    client = enter("Max")
    answer = client.post("/job/1/share", data={"days": "30"})
    assert answer.status_code == 201
    found = re.search(r"https://bench\.local(/shared/[\w-]{43})", answer.text)
    assert found is not None
    assert owner.get(found[1]).status_code == 200
    assert found[1] not in client.get("/job/1/share").text
    assert client.post("/job/1/share/1/revoke").status_code == 200
    gone = owner.get(found[1])
    assert gone.status_code == 410
    assert "taken back" in gone.text
    (link,) = sharing.shares_of(shop, 1)
    assert (link.who, link.state) == ("Max", "revoked")
    assert "taken back by Max" in link.text


def test_a_link_is_made_listed_and_taken_back_at_the_command_line(
    shop: Shop, owner: TestClient, capsys: pytest.CaptureFixture[str]
) -> None:
    """As on the page, and it opens the same page."""
    place = ["--shop", str(shop.folder)]
    assert run(["share", "make", "1", "--days", "3", "--at", "https://bench.local/", *place]) == 0
    found = re.search(r"https://bench\.local(/shared/[\w-]{43})", capsys.readouterr().out)
    assert found is not None
    assert owner.get(found[1]).status_code == 200
    assert run(["share", "list", "1", *place]) == 0
    told = capsys.readouterr().out
    assert "1  report  open" in told
    assert found[1] not in told
    assert run(["share", "take-back", "1", "1", *place]) == 0
    assert "taken back by shop" in capsys.readouterr().out
    assert owner.get(found[1]).status_code == 410
    assert run(["share", "make", "1", "--days", "366", *place]) == 1
    assert run(["share", "list", "9", *place]) == 1
    assert run(["share", "take-back", "1", "7", *place]) == 1
    told = capsys.readouterr().err
    for words in ("from 1 to 365 days", "there is no job 9", "no such link"):
        assert words in told


def test_readers_make_no_links(enter: Enter, shop: Shop) -> None:
    """Showing something outside is work on a job."""
    assert enter("Rita").post("/job/1/share").status_code == 403
    assert sharing.shares_of(shop, 1) == ()


def test_guessing_comes_to_a_halt(shop: Shop, owner: TestClient) -> None:
    """Unknown links from one address cost more and more time, and even a right one waits."""
    token = made(shop)
    tried = [owner.get(f"/shared/{'x' * 42}{n}").status_code for n in range(12)]
    assert tried == [404] * 11 + [429]
    answer = owner.get(f"/shared/{token}")
    assert answer.status_code == 429
    assert int(answer.headers["retry-after"]) > 0


def test_a_link_opens_so_often_a_minute(shop: Shop, owner: TestClient) -> None:
    """A report takes a moment to work out, and nobody keeps the machine busy with it."""
    token = made(shop)
    pace = owner.app.state.pace  # type: ignore[attr-defined]
    assert [pace.wait(1, at * 0.1) for at in range(routes_share.VIEWS)] == [0.0] * routes_share.VIEWS
    assert pace.wait(1, 30.0) == pytest.approx(30.0)
    assert pace.wait(2, 30.0) == 0.0
    assert pace.wait(1, 60.05) == 0.0
    assert owner.get(f"/shared/{token}").status_code == 200


def test_only_the_photos_of_the_report_are_shown(shop: Shop, owner: TestClient) -> None:
    """Small enough to hold no place, never the file as the camera wrote it, and none of another job."""
    photo = photos.add_photo(shop, 1, jpeg(), name="drum.jpg", caption="The drum")
    token = made(shop)
    page = owner.get(f"/shared/{token}").text
    assert f"/shared/{token}/photo/{photo.digest}/large" in page
    large = owner.get(f"/shared/{token}/photo/{photo.digest}/large")
    assert large.status_code == 200
    assert large.headers["cache-control"] == "no-store"
    assert b"GPSLatitude" not in large.content
    for digest, size in ((photo.digest, "original"), ("a" * 64, "large"), ("..", "large")):
        assert owner.get(f"/shared/{token}/photo/{digest}/{size}").status_code == 404
    sharing.revoke(shop, 1, 1)
    assert owner.get(f"/shared/{token}/photo/{photo.digest}/large").status_code == 410


def test_what_is_asked_of_a_link_is_the_units_only(shop: Shop, owner: TestClient) -> None:
    """Neither the other kind of report nor another rate can be asked for by its address."""
    token = made(shop)
    page = owner.get(f"/shared/{token}", params={"kind": "estimate", "rate": "1", "units": "metric"}).text
    assert page == owner.get(f"/shared/{token}", params={"units": "metric"}).text


def test_what_opens_a_link_stands_in_no_log(
    shop: Shop, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """Not even where the program fails on it."""

    def broken(*given: object, **named: object) -> None:
        raise ZeroDivisionError

    token = made(shop)
    monkeypatch.setattr(routes_report, "owner_report", broken)
    app = create_app(shop, hosts=("bench.local",), workshop=True)
    client = TestClient(app, base_url=ADDRESS, raise_server_exceptions=False)
    assert client.get(f"/shared/{token}/report.pdf").status_code == 500
    assert "/shared/…/report.pdf failed" in caplog.text
    assert token not in caplog.text


@pytest.mark.parametrize("days", ["0", "366", "-1", "soon", "9" * 30])
def test_a_link_holds_for_some_days(enter: Enter, shop: Shop, days: str) -> None:
    """Neither for none nor for ever."""
    assert enter("Max").post("/job/1/share", data={"days": days}).status_code == 422
    assert sharing.shares_of(shop, 1) == ()


def test_only_pages_meant_for_it_are_shown(shop: Shop) -> None:
    """A link cannot be made to another page of a job."""
    with pytest.raises(InputFileError, match="not shown to others"):
        sharing.share(shop, 1, "photos")
