"""What each role may do: one table, and every route of the app in it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from starlette.routing import BaseRoute, Mount, Route
from starlette.testclient import TestClient

from bellhousing.records.tables import metadata
from bellhousing.tasks import opening
from bellhousing.tasks.shop import Shop
from bellhousing.web import roles
from bellhousing.web.app import create_app
from tests.security.conftest import Enter


def addresses(routes: list[BaseRoute]) -> Iterator[tuple[str, str]]:
    """Every method and address of an app."""
    for route in routes:
        if isinstance(route, Mount):
            yield "GET", f"{route.path}/file"
        else:
            assert isinstance(route, Route), route
            yield from ((method, route.path) for method in route.methods or ())


def test_every_route_stands_in_the_table(shop: Shop) -> None:
    """One that does not is the proprietor's alone, which nobody meant: give it a line in web/roles.py."""
    found = list(addresses(create_app(shop).routes))
    assert len(found) > 100
    assert [one for one in found if roles.role_for(*one) is None] == []


def test_readers_send_nothing_that_is_kept(shop: Shop) -> None:
    """Only what concerns their own browser: logging in and out, the unit of speeds; what is played."""
    open_to_readers = {
        path
        for method, path in addresses(create_app(shop).routes)
        if method not in ("GET", "HEAD") and roles.may("reader", roles.role_for(method, path))
    }
    assert {path for path in open_to_readers if not path.startswith("/evening")} == {
        "/login",
        "/logout",
        "/unit",
    }


@pytest.mark.parametrize(
    ("name", "looks", "notes", "learns", "manages"),
    [("Rita", 200, 403, 403, 403), ("Max", 200, 303, 403, 403), ("Petra", 200, 303, 303, 200)],
)
def test_each_role_does_what_it_may(
    enter: Enter, name: str, looks: int, notes: int, learns: int, manages: int
) -> None:
    """A reader looks, a mechanic works on jobs, a proprietor decides."""
    client = enter(name)
    assert client.get("/shop.json").status_code == looks
    assert client.post("/job/1/note", data={"text": "fluid dark brown"}).status_code == notes
    assert client.post("/learn/use", data={"own": "1"}).status_code in (learns, 422 if learns == 303 else 403)
    assert client.get("/people.json").status_code == manages


def test_an_unlisted_address_is_the_proprietors(door: TestClient, enter: Enter) -> None:
    """Nothing opens by being forgotten."""
    assert roles.role_for("GET", "/no-such-area/x") is None
    assert not roles.may("mechanic", None)
    assert roles.may("proprietor", None)
    assert not roles.may("nonsense", roles.ANYBODY)
    assert enter("Max").get("/no-such-area/x").status_code == 403


def test_everything_written_bears_the_name(enter: Enter, shop: Shop) -> None:
    """Findings and corrections the writer's, and the book of what was sent tells where, not what."""
    client = enter("Max")
    client.post("/job/1/note", data={"text": "fluid dark brown"})
    client.post("/job/1/entry/1/withdraw", data={"reason": "misread"})
    client.post("/cars", data={"name": "red pick-up", "note": "Mr Sample's car"})
    client.post("/job/1/understand", data={"text": "fluid dark brown"})
    assert [entry.who for entry in shop.store.findings(1)] == ["Max", "Max"]
    told = [(deed.who, deed.address) for deed in shop.store.access.people.deeds()]
    assert told == [("Max", "/cars"), ("Max", "/job/1/entry/1/withdraw"), ("Max", "/job/1/note")]


# The computer's own: sessions and failures, verdicts it reached; and rows whose change of status or whose
# entry stands beside them with its name.
NAMELESS = {
    "jobs", "verdicts", "verdict_findings", "confirmed_causes", "people", "sessions", "tries", "door_keys",
}  # fmt: skip


def test_every_change_says_who(enter: Enter, shop: Shop) -> None:
    """Every table has a place for the name, and cars, odometers, jobs and what is learnt bear it."""
    assert {name for name, table in metadata.tables.items() if "who" not in table.c} == NAMELESS
    client = enter("Max")
    client.post("/cars", data={"name": "red pick-up"})
    client.post("/jobs", data={"car": "red pick-up", "complaint": "Whines.", "odometer": "61,000 miles"})
    client.post("/due/odometer", data={"car": "red-pick-up", "odometer": "61,900 miles"})
    client.post("/job/2/close", data={"why": "nothing found"})
    enter("Petra").post("/job/2/reopen", data={"why": "it came back"})
    client.post("/learn/use", data={"use": "no"})
    car = shop.store.car("red-pick-up")
    assert (car.who, [reading.who for reading in car.odometer]) == ("Max", ["Max", "Max"])
    assert [(one.status, one.who) for one in opening.job(shop, 2).changes] == [
        ("open", "Max"), ("closed", "Max"), ("open", "Petra"),
    ]  # fmt: skip
    assert [event.who for event in shop.store.learning_events()] == ["Petra"]


def test_what_waited_is_not_sent_under_another_name(enter: Enter, shop: Shop) -> None:
    """An entry that Max wrote is not Petra's because she logged in on the same tablet."""
    client = enter("Petra")
    sent = {"text": "fluid dark brown", "key": "k"}
    answer = client.post(
        "/job/1/note", data=sent, headers={"x-written-by": "Max", "accept": "application/json"}
    )
    assert answer.status_code == 409
    assert "Max wrote this" in answer.json()["error"]["what"]
    assert shop.store.findings(1) == ()
    assert enter("Max").post("/job/1/note", data=sent, headers={"x-written-by": "Max"}).status_code == 303
