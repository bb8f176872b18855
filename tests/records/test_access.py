"""People, sessions, failures and links in the records: in a file and on a server alike."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta

import pytest

from bellhousing.errors import RecordError
from bellhousing.records.store import Store

IDLE, LIFE = timedelta(hours=12), timedelta(days=7)
SUBJECT = {"name": "n" * 64, "address": "a" * 64}


def wait(kind: str, failures: int) -> timedelta:
    """Three tries are free for any kind, then a minute."""
    return timedelta(minutes=1) if failures >= 3 else timedelta()


def test_a_removed_person_comes_back_without_the_old_phrase(store: Store, at: datetime) -> None:
    """Under the same number, since what was written bears the name."""
    people = store.access.people
    first = people.add("Anna  Muster".replace("  ", " "), "mechanic", at=at, who="shop")
    people.set_phrase("ANNA muster", "$argon2id$hash", at=at, who="shop")
    people.add("Petra", "proprietor", at=at, who="shop")
    people.remove("anna muster", at=at, who="Petra")
    assert people.find("Anna Muster") is None
    again = people.add("anna muster", "reader", at=at, who="Petra")
    assert (again.id, again.phrase, again.role) == (first.id, None, "reader")
    with pytest.raises(RecordError, match="there already"):
        people.add("ANNA MUSTER", "reader", at=at, who="Petra")
    told = [(change.who, change.what) for change in people.changes()]
    assert told[:2] == [("Petra", "added as reader"), ("Petra", "removed")]


def test_a_session_is_looked_up_while_it_lives(store: Store, at: datetime) -> None:
    """By its digest, until it lies idle, ends, or the pass phrase is changed."""
    people, doors = store.access.people, store.access.doors
    anna = people.add("Anna", "proprietor", at=at, who="shop")
    people.set_phrase("Anna", "old", at=at, who="shop")
    assert not doors.open_session("d" * 64, anna.id, "older", at=at, life=LIFE)
    assert doors.open_session("d" * 64, anna.id, "old", at=at, life=LIFE)

    def who(later: timedelta) -> str | None:
        found = doors.person_of("d" * 64, at=at + later, idle=IDLE, life=LIFE)
        return None if found is None else found.name

    assert who(timedelta(hours=11)) == "Anna"
    assert who(timedelta(hours=22)) == "Anna"
    assert who(timedelta(hours=35)) is None
    people.set_phrase("Anna", "new", at=at, who="Anna")
    assert who(timedelta(hours=23)) is None


def test_tries_side_by_side_are_counted_one_by_one(store: Store, at: datetime) -> None:
    """Twelve at once get through no more often than twelve in a row."""

    def taken(_: int) -> timedelta:
        return store.access.doors.take_try(SUBJECT, wait, at=at)

    with ThreadPoolExecutor(6) as pool:
        waits = list(pool.map(taken, range(12)))
    assert sum(one == timedelta() for one in waits) == 3
    assert store.access.doors.wait_of(SUBJECT, at=at) == timedelta(minutes=1)
    store.access.doors.forgive(SUBJECT)
    assert store.access.doors.wait_of(SUBJECT, at=at) == timedelta()


def test_failures_are_forgotten_after_a_day(store: Store, at: datetime) -> None:
    """Nothing about who tried is kept longer than it is of use."""
    doors = store.access.doors
    for _ in range(3):
        doors.take_try(SUBJECT, wait, at=at)
    doors.take_try({"name": "m" * 64}, wait, at=at + timedelta(days=1, seconds=1))
    with store._reading() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM tries").scalar() == 1


def test_the_signing_key_is_made_once(store: Store) -> None:
    """And is the same for every process over the same records."""
    with ThreadPoolExecutor(4) as pool:
        keys = set(pool.map(lambda _: store.access.doors.signing_key(), range(8)))
    assert len(keys) == 1
    assert len(keys.pop()) == 32


def test_a_link_is_found_by_its_digest_and_revoked_once(store: Store, at: datetime) -> None:
    """The first to take it back stands in the book."""
    shares = store.access.shares
    made = shares.add("d" * 64, 1, "report", at=at, who="Anna", expires=at + timedelta(days=3))
    assert shares.of_digest("d" * 64) == made
    assert shares.of_digest("e" * 64) is None
    gone = shares.revoke(made.id, 1, at=at, who="Anna")
    assert shares.revoke(made.id, 1, at=at + timedelta(1), who="Bert") == gone
    with pytest.raises(RecordError, match="no such link"):
        shares.revoke(made.id, 2, at=at, who="Anna")
    with pytest.raises(RecordError):
        shares.add("f" * 64, 99, "report", at=at, who="Anna", expires=at)


@pytest.mark.parametrize("table", ["people_changes", "deeds"])
@pytest.mark.parametrize("change", ["UPDATE {} SET who = 'x'", "DELETE FROM {}"])
def test_who_did_what_is_written_once(store: Store, at: datetime, table: str, change: str) -> None:
    """Refused by the database itself."""
    store.access.people.add("Anna", "proprietor", at=at, who="shop")
    store.access.people.add_deed("Anna", "/job/1/note", at=at)
    with pytest.raises(RecordError, match="written once"), store._writing() as connection:
        connection.exec_driver_sql(change.format(table))
