"""Backups of a whole shop: made while it is in use, seen to be whole, put back with the old kept beside."""

from __future__ import annotations

import sqlite3
import threading
from contextlib import closing
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from bellhousing.errors import RecordError
from bellhousing.records.backup import FILES, RECORDS, generations, is_due, make_backup, verify
from bellhousing.records.entries import Car, Entry
from bellhousing.records.restoring import mend_file, restore
from bellhousing.records.store import Store, open_store
from tests.records.conftest import NewPlace, filled, shop_with_files

DATA = b"as the camera had it" * 40


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A shop's folder, its log straight in the folder of logs."""
    return shop_with_files(tmp_path / "shop", "logs/drive.parquet", DATA)


@pytest.fixture
def here(new_place: NewPlace, shop: Path) -> str:
    """The shop's database: in its folder, then on a server."""
    place = new_place()
    return place if place.startswith("postgresql") else str(shop / RECORDS)


def address(place: str) -> str | None:
    """What the shop is told of its database; nothing when it is in its folder."""
    return place if place.startswith("postgresql") else None


def test_a_backup_made_in_use_is_put_back_with_the_old_kept_beside(
    here: str, shop: Path, at: datetime
) -> None:
    """Records and files as they were at one moment, whatever was written meanwhile or since."""
    backups = shop / "backups"
    with filled(here, at) as store:
        stop = threading.Event()

        def writing() -> None:
            while not stop.is_set():
                store.add_finding(1, Entry(said="meanwhile"), at=at, who="other")

        other = threading.Thread(target=writing)
        other.start()
        made = make_backup(store.engine, shop, backups, at=at)
        stop.set()
        other.join()
        then = made.tables["findings"].rows
        assert {one.path for one in made.files} == {"photos/originals/ab/photo.jpg", "logs/drive.parquet"}
        assert verify(made, backups) == []
        if address(here):
            assert made.verified[-1] == "dump restored into a temporary database, every row compared"
        store.add_finding(1, Entry(said="since"), at=at, who="m")
    photo = shop / "photos/originals/ab/photo.jpg"
    whole = photo.read_bytes()
    photo.write_bytes(whole[:100])
    (shop / "logs/drive.parquet").unlink()
    done = restore(made, backups, shop, address(here), at=at)
    assert done.files == 2
    assert done.kept is not None
    assert photo.read_bytes() == whole
    assert (next(shop.glob("before-restore-*")) / "photos/originals/ab/photo.jpg").read_bytes() == whole[:100]
    with open_store(here) as store:
        assert [entry.said for entry in store.findings(1)] == ["meanwhile"] * then
        assert store.add_finding(1, Entry(said="goes on"), at=at, who="m").id == then + 1
        store.check()
        _old_is_kept(store, shop, then)


def _old_is_kept(store: Store, shop: Path, then: int) -> None:
    if store.engine.dialect.name == "sqlite":
        with closing(sqlite3.connect(next(shop.glob("before-restore-*")) / RECORDS)) as raw:
            rows = raw.execute("SELECT said FROM findings").fetchall()
    else:
        with store.engine.connect() as connection:
            named = "SELECT nspname FROM pg_namespace WHERE nspname LIKE 'before_restore_%%'"
            schema = connection.exec_driver_sql(named).scalar_one()
            rows = [tuple(row) for row in connection.exec_driver_sql(f'SELECT said FROM "{schema}".findings')]
    assert ("since",) in rows
    assert len(rows) > then


def test_only_so_many_are_kept_and_files_only_as_long_as_one_speaks_of_them(
    tmp_path: Path, shop: Path, at: datetime
) -> None:
    """Each further backup costs the records and what is new."""
    backups = shop / "backups"
    with filled(shop / RECORDS, at) as store:
        for day in range(5):
            (shop / "logs/drive.parquet").write_bytes(b"day %d" % day)
            make_backup(store.engine, shop, backups, at=at + timedelta(days=day), keep=2)
    kept = generations(backups)
    assert [one.made_at for one in kept] == [at + timedelta(days=3), at + timedelta(days=4)]
    assert len(list((backups / FILES).glob("*/*"))) == 3


def test_one_is_due_each_day_and_when_the_clock_was_set_back(shop: Path, at: datetime) -> None:
    """A backup dated in the future does not keep the next one away, and the next is not forgotten for it."""
    backups = shop / "backups"
    assert is_due(backups, at)
    with filled(shop / RECORDS, at) as store:
        make_backup(store.engine, shop, backups, at=at)
        assert not is_due(backups, at + timedelta(hours=23))
        assert is_due(backups, at + timedelta(hours=24))
        back = at - timedelta(days=400)
        assert is_due(backups, back)
        made = make_backup(store.engine, shop, backups, at=back, keep=1)
    assert [one.name for one in generations(backups)] == [made.name]
    assert not is_due(backups, back)


def test_a_damaged_backup_is_not_put_back(shop: Path, at: datetime) -> None:
    """Neither its records nor its files; what is there stays untouched."""
    backups = shop / "backups"
    with filled(shop / RECORDS, at) as store:
        made = make_backup(store.engine, shop, backups, at=at)
    photo = next(one for one in made.files if one.path.endswith(".jpg"))
    stored = backups / FILES / photo.digest[:2] / photo.digest
    stored.write_bytes(DATA[:10])
    before = (shop / RECORDS).read_bytes()
    with pytest.raises(RecordError, match=r"not whole, photos/originals/ab/photo\.jpg is missing or damaged"):
        restore(made, backups, shop, None, at=at)
    (made.folder / RECORDS).write_bytes(before[:5000])
    with pytest.raises(RecordError, match="its records were changed or damaged"):
        restore(made, backups, shop, None, at=at)
    assert (shop / RECORDS).read_bytes() == before
    assert not mend_file(backups, generations(backups), photo.path, shop)


def test_a_database_damaged_beyond_opening_is_put_back(shop: Path, at: datetime) -> None:
    """The refusal names the command, and the command does it."""
    backups = shop / "backups"
    with filled(shop / RECORDS, at) as store:
        made = make_backup(store.engine, shop, backups, at=at)
    (shop / RECORDS).write_bytes(b"SQLite format 3\x00" + b"\xff" * 9000)
    with pytest.raises(RecordError, match=r"damaged.*put back the last good copy with: bellhousing restore"):
        open_store(shop / RECORDS)
    restore(made, backups, shop, None, at=at)
    with open_store(shop / RECORDS) as store:
        assert store.job(1).complaint.startswith("shifts late")


def test_a_shop_in_use_is_not_restored_under_its_program(shop: Path, at: datetime) -> None:
    """The program would go on writing into what was put aside."""
    backups = shop / "backups"
    with filled(shop / RECORDS, at) as store:
        made = make_backup(store.engine, shop, backups, at=at)
        with pytest.raises(RecordError, match="the shop is in use"):
            restore(made, backups, shop, None, at=at)
        assert store.add_car(Car(slug="b", name="B", box="box-a")).slug == "b"


def test_one_file_is_put_back_from_the_newest_backup_that_has_it_whole(shop: Path, at: datetime) -> None:
    """A photo cut short is mended without touching the records."""
    backups = shop / "backups"
    with filled(shop / RECORDS, at) as store:
        make_backup(store.engine, shop, backups, at=at)
    photo = shop / "photos/originals/ab/photo.jpg"
    whole = photo.read_bytes()
    photo.write_bytes(b"")
    assert mend_file(backups, generations(backups), "photos/originals/ab/photo.jpg", shop)
    assert photo.read_bytes() == whole
