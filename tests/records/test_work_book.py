"""The book of work: kept once, corrected by pointing at the old, whole when two tablets write at once."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from bellhousing.errors import RecordError
from bellhousing.records.store import Store, open_store
from bellhousing.records.upgrading import writing
from bellhousing.work.entries import WorkEntry, chain_of, standing


def out(at: datetime, *holes: int, **more: Any) -> WorkEntry:
    """Bolts of the pump ring that came out on job 1."""
    return WorkEntry(
        job=1,
        at=at,
        who="bench",
        kind="bolts-out",
        subject="pump-ring",
        data={"holes": list(holes)},
        **more,
    )


def test_an_entry_comes_back_as_it_was_kept(store: Store, at: datetime) -> None:
    """With its number, its moment and its plain data."""
    kept = store.add_work_entry(out(at, 1, 2, key="a"))
    assert store.work_entries(1) == (kept,)
    assert store.books_of([1, 2]) == {1: [kept]}
    assert (kept.id, kept.at, kept.data) == (1, at, {"holes": [1, 2]})
    assert store.last_work_entry("bolts-out") == kept
    assert store.last_work_entry("terms") is None


def test_the_same_key_keeps_it_once(store: Store, at: datetime) -> None:
    """What is sent again is answered by what is there, and something else under that key is refused."""
    kept = store.add_work_entry(out(at, 1, 2, key="a"))
    assert store.add_work_entry(replace(out(at, 1, 2, key="a"), who="second tablet")) == kept
    with pytest.raises(RecordError, match="key was used before"):
        store.add_work_entry(out(at, 1, 3, key="a"))
    assert len(store.work_entries(1)) == 1


def test_a_correction_points_at_what_it_corrects(store: Store, at: datetime) -> None:
    """Only once, the refusal names the entry to correct instead, and all of it stays in the book."""
    first = store.add_work_entry(out(at, 1, 2))
    other = store.add_work_entry(out(at, 5))
    second = store.add_work_entry(out(at, 1, 3, supersedes=first.id))
    with pytest.raises(RecordError, match=f"entry {second.id} was put in its place"):
        store.add_work_entry(out(at, 1, 4, supersedes=first.id))
    book = store.work_entries(1)
    assert [entry.id for entry in standing(book)] == [second.id, other.id]
    gone = store.add_work_entry(
        replace(second, id=None, kind="withdrawn", data={"reason": "wrong flange"}, supersedes=second.id)
    )
    book = store.work_entries(1)
    assert [entry.id for entry in standing(book)] == [other.id]
    assert [entry.id for entry in chain_of(book, second.id or 0)] == [first.id, second.id, gone.id]
    with pytest.raises(RecordError, match="withdrawn before"):
        store.add_work_entry(out(at, 1, 4, supersedes=second.id))
    with pytest.raises(RecordError, match="is a withdrawal"):
        store.add_work_entry(out(at, 1, 4, supersedes=gone.id))


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"kind": "bolts-lost"}, "no entry of the kind"),
        ({"subject": " "}, "about something"),
        ({"who": ""}, "say who"),
        ({"job": 9}, "no job 9"),
        ({"supersedes": 77}, "no entry 77"),
        ({"data": {}}, "holes"),
        ({"data": {"holes": [0]}}, "holes cannot be"),
        ({"data": {"holes": [True]}}, "holes cannot be"),
        ({"data": {"holes": [1], "hoels": 2}}, "no field 'hoels'"),
        ({"kind": "authority", "subject": "paint"}, "diagnose, open, repair"),
        ({"kind": "price", "subject": "part", "data": {"what": "seal", "sum": "1e3"}}, "sum cannot be"),
        ({"kind": "withdrawn", "data": {"reason": "x"}}, "of an earlier entry"),
        ({"key": ""}, "key"),
    ],
)
def test_what_cannot_be_kept_is_refused(
    store: Store, at: datetime, changed: dict[str, Any], said: str
) -> None:
    """And nothing is written."""
    with pytest.raises(RecordError, match=said):
        store.add_work_entry(replace(out(at, 1), **changed))
    assert store.work_entries(1) == ()


def test_an_entry_is_never_changed_nor_removed(store: Store, at: datetime) -> None:
    """The database itself refuses."""
    store.add_work_entry(out(at, 1))
    for statement in ("UPDATE work_entries SET who = 'x'", "DELETE FROM work_entries"):
        with writing(store.engine) as other, pytest.raises(IntegrityError, match="written once"):
            other.execute(text(statement))


def test_two_tablets_at_once_lose_nothing_and_double_nothing(store: Store, place: str, at: datetime) -> None:
    """Each with a store of its own on one database: ticks are kept, shared keys once, one correction wins."""
    first = store.add_work_entry(out(at, 9))
    start = threading.Barrier(2, timeout=120)
    refused: list[str] = []

    def tablet(name: str) -> None:
        with open_store(place) as own:
            start.wait()
            for hole in range(1, 8):
                own.add_work_entry(replace(out(at, hole, key=f"shared-{hole}"), who=name))
                own.add_work_entry(replace(out(at, hole, key=f"{name}-{hole}"), who=name))
            try:
                own.add_work_entry(replace(out(at, 8, supersedes=first.id), who=name))
            except RecordError as error:
                refused.append(str(error))

    threads = [threading.Thread(target=tablet, args=(name,)) for name in ("left", "right")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    keys = [entry.key for entry in store.work_entries(1) if entry.key is not None]
    assert len(keys) == len(set(keys)) == 21
    assert [len(refused), "corrected before" in refused[0]] == [1, True]
    store.check()
