"""Logging in: the door for others, sessions that end, failures that cost time, and nothing told too much."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from http.cookies import SimpleCookie

import pytest
from argon2 import PasswordHasher
from argon2.exceptions import VerifyMismatchError
from starlette.testclient import TestClient

from bellhousing.errors import RecordError
from bellhousing.records.phrases import Phrases
from bellhousing.tasks import letting_in, people
from bellhousing.tasks.shop import Shop
from bellhousing.web.app import create_app
from tests.security.conftest import ADDRESS, ORIGIN, PHRASES, Enter, Hands

JSON = {"accept": "application/json"}
COOKIE = "__Host-session"


def log_in(client: TestClient, name: str, phrase: str, **headers: str) -> int:
    """Try to log in; the status of the answer."""
    return client.post("/login", data={"name": name, "phrase": phrase}, headers=headers).status_code


def test_on_this_machine_nobody_logs_in(shop: Shop) -> None:
    """Not opened to the workshop, the app is as it always was."""
    with TestClient(create_app(shop), base_url="http://127.0.0.1:8350", follow_redirects=False) as client:
        assert client.get("/").status_code == 200
        assert client.get("/login").headers["location"] == "/"
        assert "data-who" not in client.get("/").text


@pytest.mark.parametrize("path", ["/", "/job/1", "/job/1.json", "/people", "/shop.json", "/no-such-page"])
def test_without_a_session_nothing_is_shown(door: TestClient, path: str) -> None:
    """401, as JSON or with the page to log in, and nothing of the shop in it."""
    answer = door.get(path)
    assert answer.status_code == 401
    assert "grey saloon" not in answer.text
    assert "no-store" in answer.headers["cache-control"]


def test_an_entry_of_the_outbox_is_kept_when_the_session_has_ended(
    enter: Enter, clock: Hands, shop: Shop
) -> None:
    """It gets 401 and the words what to do, so that it waits in the browser and is sent after the login."""
    client = enter("Max")
    clock.move(hours=13)
    for headers in (JSON, {"accept": "text/html"}):
        answer = client.post("/job/1/note", data={"text": "fluid dark brown", "key": "k1"}, headers=headers)
        assert answer.status_code == 401
        assert "log in" in answer.text.casefold()
    assert COOKIE not in client.cookies
    assert shop.store.findings(1) == ()
    assert enter("Max").post("/job/1/note", data={"text": "fluid dark brown", "key": "k1"}).status_code == 303
    assert [entry.who for entry in shop.store.findings(1)] == ["Max"]


def test_a_photo_is_heard_to_its_end_before_it_is_refused(enter: Enter, clock: Hands) -> None:
    """A browser cut off while sending never reads that it has to log in, and would think the server away."""
    client = enter("Max")
    clock.move(hours=13)
    heard = 0

    def pieces() -> Iterator[bytes]:
        nonlocal heard
        for _ in range(40):
            heard += 1
            yield b"x" * 65536

    sent = {"content-type": "multipart/form-data; boundary=x"}
    assert client.post("/job/1/photos", content=pieces(), headers=sent).status_code == 401
    assert heard == 40


def test_the_cookie_is_strict(door: TestClient) -> None:
    """No script reads it, no other site sends it, no plain connection carries it."""
    answer = door.post("/login", data={"name": "Max", "phrase": PHRASES["Max"]})
    (held,) = SimpleCookie(answer.headers["set-cookie"]).values()
    assert held.key == COOKIE
    assert (held["httponly"], held["secure"], held["samesite"], held["path"]) == (True, True, "strict", "/")
    assert held["domain"] == ""


def test_plain_http_has_a_cookie_of_its_own(shop: Shop) -> None:
    """Without TLS the cookie cannot be marked secure, and one set over TLS is not taken."""
    app = create_app(shop, hosts=("bench.local",), workshop=True)
    with TestClient(app, base_url="http://bench.local", headers={"origin": "http://bench.local"}) as client:
        answer = client.post("/login", data={"name": "Max", "phrase": PHRASES["Max"]}, follow_redirects=False)
        assert answer.headers["set-cookie"].startswith("session=")
        assert "Secure" not in answer.headers["set-cookie"]
        assert client.get("/").status_code == 200


def test_a_login_gets_a_session_of_its_own(door: TestClient, enter: Enter) -> None:
    """What was planted in a browser before is worth nothing after, nor is the session before the last."""
    planted = "planted.signature"
    door.cookies.set(COOKIE, planted, domain="bench.local")
    enter("Max")
    first = door.cookies[COOKIE]
    assert first != planted
    enter("Petra")
    assert door.cookies[COOKIE] != first
    for old in (planted, first):
        door.cookies.clear()
        door.cookies.set(COOKIE, old, domain="bench.local")
        assert door.get("/").status_code == 401


def test_a_session_cannot_be_forged(enter: Enter, shop: Shop) -> None:
    """Neither without the signature, nor with another one, nor from what the database holds."""
    client = enter("Max")
    token, _, signature = client.cookies[COOKIE].partition(".")
    with shop.store._reading() as connection:
        (digest,) = connection.exec_driver_sql("SELECT digest FROM sessions").one()
    for forged in (
        token,
        f"{token}.",
        f"{token}.{signature[:-1]}0x",
        f"{digest}.{signature}",
        f"x.{signature}",
    ):
        assert letting_in.who_is_it(shop, forged) is None
    assert letting_in.who_is_it(shop, f"{token}.{signature}") is not None
    assert token not in digest


def test_a_session_lies_idle_for_twelve_hours_at_most(enter: Enter, clock: Hands) -> None:
    """Used now and then it goes on, left alone for longer it ends."""
    client = enter("Max")
    for _ in range(3):
        clock.move(hours=11)
        assert client.get("/login").status_code == 200
        assert client.get("/shop.json").status_code == 200
    clock.move(hours=12, minutes=6)
    assert client.get("/shop.json").status_code == 401


def test_a_session_lives_a_week_at_most(enter: Enter, clock: Hands) -> None:
    """However often it is used."""
    client = enter("Max")
    for _ in range(14):
        assert client.get("/shop.json").status_code == 200
        clock.move(hours=11, minutes=59)
    clock.move(hours=1)
    assert client.get("/shop.json").status_code == 401


def test_logging_out_ends_the_session_everywhere(enter: Enter) -> None:
    """A copy of the cookie opens nothing afterwards."""
    client = enter("Max")
    copied = client.cookies[COOKIE]
    assert client.post("/logout").headers["location"] == "/login?left=1"
    client.cookies.set(COOKIE, copied, domain="bench.local")
    assert client.get("/").status_code == 401


@pytest.mark.parametrize("change", ["role", "phrase", "remove"])
def test_a_changed_person_logs_in_anew(enter: Enter, shop: Shop, change: str) -> None:
    """Nobody goes on with a role or a pass phrase that was taken away."""
    client = enter("Max")
    acts = {
        "role": lambda: people.set_role(shop, "Max", "reader"),
        "phrase": lambda: people.set_phrase(shop, "Max", "other words by far"),
        "remove": lambda: people.remove(shop, "Max"),
    }
    acts[change]()
    assert client.get("/").status_code == 401


def test_an_unknown_name_is_answered_as_a_wrong_phrase(door: TestClient) -> None:
    """The very same page and status, so that nobody learns who works here."""
    people_of = {"Max": "wrong words entirely", "Nobody": "wrong words entirely"}
    answers = [door.post("/login", data={"name": name, "phrase": told}) for name, told in people_of.items()]
    assert {answer.status_code for answer in answers} == {401}
    one, other = (answer.text for answer in answers)
    assert one.replace("Max", "…") == other.replace("Nobody", "…")
    assert all("set-cookie" not in answer.headers for answer in answers)


def test_an_unknown_name_takes_as_long(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """One hash is worked through for either, and both were made with the same parameters."""
    shop.__dict__["phrases"] = phrases = Phrases()
    worked: list[str] = []

    def verify(hasher: PasswordHasher, kept: str, phrase: str) -> bool:
        worked.append(kept)
        raise VerifyMismatchError

    people.set_phrase(shop, "Max", PHRASES["Max"])
    monkeypatch.setattr(PasswordHasher, "verify", verify)
    for name in ("Max", "Nobody"):
        with pytest.raises(letting_in.NotLetIn):
            letting_in.let_in(shop, name, "wrong words entirely", address="10.0.0.9")
    known, unknown = worked
    assert known != unknown
    assert unknown == phrases.decoy
    assert known.rsplit("$", 2)[0] == unknown.rsplit("$", 2)[0]


def test_failures_of_a_name_cost_time_whoever_it_is(door: TestClient, clock: Hands) -> None:
    """Three are free, then each doubles the wait; a right phrase sent too soon is not even looked at."""
    for name in ("Max", "Nobody"):
        assert [log_in(door, name, "wrong") for _ in range(4)] == [401] * 4
        answer = door.post("/login", data={"name": name.upper(), "phrase": PHRASES.get(name, "x")})
        assert answer.status_code == 429
        assert int(answer.headers["retry-after"]) == 2
    clock.move(seconds=3)
    assert log_in(door, "Max", "wrong") == 401
    clock.move(seconds=3)
    assert log_in(door, "Max", PHRASES["Max"]) == 429
    clock.move(seconds=3)
    assert log_in(door, "Max", PHRASES["Max"]) == 303
    assert [log_in(door, "Max", "wrong") for _ in range(4)] == [401] * 4


def test_a_clock_set_back_neither_locks_a_door_for_a_year_nor_keeps_a_session_as_long(
    door: TestClient, enter: Enter, clock: Hands
) -> None:
    """What was booked in the days to come counts no more; everybody logs in anew, and at once."""
    client = enter("Max")
    assert [log_in(door, "Petra", "wrong") for _ in range(5)] == [401] * 4 + [429]
    clock.move(days=-400)
    assert client.get("/shop.json").status_code == 401
    assert log_in(door, "Petra", PHRASES["Petra"]) == 303
    assert client.get("/shop.json").status_code == 200


def test_failures_from_an_address_cost_time_whatever_the_name(door: TestClient) -> None:
    """Trying one phrase on many names comes to a halt as well."""
    tried = [log_in(door, f"name {n}", "wrong") for n in range(12)]
    assert tried == [401] * 11 + [429]


@pytest.mark.parametrize(
    ("kind", "failures", "seconds"),
    [
        ("name", 3, 0),
        ("name", 4, 2),
        ("name", 8, 32),
        ("name", 40, 900),
        ("address", 10, 0),
        ("address", 99, 300),
    ],
)
def test_the_wait_doubles_up_to_its_end(kind: str, failures: int, seconds: float) -> None:
    """So that a person is never locked out for good by somebody else."""
    assert letting_in.delay(kind, failures) == timedelta(seconds=seconds)


def test_addresses_of_one_network_count_as_one() -> None:
    """Whoever has a whole network of version 6 has one try all the same."""
    assert letting_in.network_of("2001:db8:1:2::7") == letting_in.network_of("2001:db8:1:2:9::1")
    assert letting_in.network_of("::ffff:10.0.0.7") == letting_in.network_of("10.0.0.7") == "10.0.0.7"
    assert letting_in.network_of("10.0.0.7") != letting_in.network_of("10.0.0.8")


@pytest.mark.parametrize(
    "back", ["//elsewhere.example", "/\\elsewhere.example", "https://elsewhere.example", ""]
)
def test_a_login_leads_to_this_site_only(door: TestClient, back: str) -> None:
    """Wherever the address says to go."""
    answer = door.post("/login", data={"name": "Max", "phrase": PHRASES["Max"], "back": back})
    assert answer.headers["location"] == "/"


def test_what_is_sent_along_makes_no_header(door: TestClient) -> None:
    """Line ends in the address to go back to stay inside it."""
    sent = {"name": "Max", "phrase": PHRASES["Max"], "back": "/job/1\r\nset-cookie: planted=1\r\n\r\n<b>"}
    answer = door.post("/login", data=sent)
    assert "planted" not in answer.headers["set-cookie"]
    assert "\n" not in answer.headers["location"]
    assert len(answer.headers.get_list("set-cookie")) == 1


@pytest.mark.parametrize(
    "headers", [{"origin": "https://elsewhere.example"}, {"origin": ""}, {"origin": "null"}]
)
def test_nobody_is_logged_in_from_elsewhere(shop: Shop, headers: dict[str, str]) -> None:
    """Neither from another site nor by a post that does not say where it comes from."""
    app = create_app(shop, hosts=("bench.local",), workshop=True)
    with TestClient(app, base_url=ADDRESS) as client:
        sent = {name: value for name, value in headers.items() if value}
        answer = client.post("/login", data={"name": "Max", "phrase": PHRASES["Max"]}, headers=sent)
        assert answer.status_code == 403
        assert client.post("/login", data={"name": "Max", "phrase": "x"}, headers=ORIGIN).status_code == 401


@pytest.mark.parametrize(
    "phrase",
    [
        "short words",
        "aaaaaaaaaaaaaaaa",
        "123456789012345678",
        "Passphrase 1234",
        "Tr4nsm1ss10n!",
        "qwertyuiop asdf",
        "max max max max maxmax",
        "bellhousing workshop",
        "x" * 201,
    ],
)
def test_weak_phrases_are_refused_with_words(shop: Shop, phrase: str) -> None:
    """Before anything is changed."""
    with pytest.raises(RecordError, match="too weak: it "):
        people.set_phrase(shop, "Max", phrase)
    assert letting_in.let_in(shop, "Max", PHRASES["Max"], address="10.0.0.9")[0].name == "Max"


def test_the_records_hold_no_phrase(shop: Shop) -> None:
    """Only argon2id with a salt of its own, the same phrase twice giving two hashes (RFC 9106 parameters)."""
    one, other = (Phrases().hashed("lime ox tarp dune") for _ in range(2))
    assert one != other
    assert one.startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    kept = [person.phrase for person in shop.store.access.people.all()]
    assert all(phrase is not None and phrase.startswith("$argon2id$") for phrase in kept)


def test_a_weaker_hash_is_made_anew_at_login(shop: Shop) -> None:
    """So that parameters can grow with the machines."""
    shop.__dict__["phrases"] = Phrases()
    letting_in.let_in(shop, "Max", PHRASES["Max"], address="10.0.0.9")
    found = shop.store.access.people.find("max")
    assert found is not None
    assert found.phrase is not None
    assert "m=65536" in found.phrase


def test_the_last_proprietor_stays(shop: Shop) -> None:
    """Nobody locks the shop for everybody."""
    with pytest.raises(RecordError, match="only one"):
        people.set_role(shop, "Petra", "reader")
    with pytest.raises(RecordError, match="only one"):
        people.remove(shop, "petra")
    people.set_role(shop, "Max", "proprietor")
    assert people.remove(shop, "Petra").name == "Petra"


@pytest.mark.parametrize("name", ["", "  ", "shop", "Owner", "LOG", "x" * 81, "a\u202eb", "…"])
def test_names_that_would_mislead_are_refused(shop: Shop, name: str) -> None:
    """They stand beside what somebody wrote."""
    with pytest.raises(RecordError):
        people.add(shop, name, "reader")
