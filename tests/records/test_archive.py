"""A shop out into one open archive and in again, loss-free; one that is not what it says is refused."""

from __future__ import annotations

import csv
import io
import json
import re
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from bellhousing.errors import RecordError
from bellhousing.records.archive import LEFT_OUT, export
from bellhousing.records.archive_in import import_archive
from bellhousing.records.copying import move, tallies
from bellhousing.records.entries import Entry, OdometerReading
from bellhousing.records.store import Store, open_store
from tests.records.conftest import NewPlace, filled, shop_with_files
from tests.records.test_store import CONCLUSION, LINE

PHOTO = bytes(range(256)) * 300
Change = Callable[[dict[str, bytes], dict[str, Any]], None]


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A shop's folder, its log in the folder of a job."""
    return shop_with_files(tmp_path / "shop", "logs/job-1/drive.json", PHOTO)


def fill(store: Store, at: datetime, box: str = "box-a") -> None:
    """Something of each kind of value: text of all sorts, figures to the last bit, chains, odometer."""
    store.add_car(
        replace(
            store.car("grey-saloon"),
            slug="loop-car",
            box=box,
            owner="=SUM(1)",
            axle_ratio=3.0800000000000005,
            odometer=(OdometerReading(at, 1.5e8),),
        )
    )
    store.add_finding(1, replace(LINE, said='“thirty one thou”\n\tthen\u2028more, "quoted"'), at=at, who="m")
    store.correct_finding(
        1, Entry(said="0.1 + 0.2", finding="x", value_si=0.1 + 0.2, unit="m"), at=at, who="m"
    )
    store.add_verdict(1, CONCLUSION, at=at)


def contents(store: Store) -> Any:
    """Every row of a store."""
    with store.engine.connect() as connection, connection.begin():
        return tallies(connection)


def test_out_and_in_again_is_the_same_to_the_byte(
    new_place: NewPlace, shop: Path, tmp_path: Path, at: datetime
) -> None:
    """Rows, photos, logs and a box file of the shop's own, into either kind of database."""
    box = tmp_path / "my box.yaml"
    box.write_text("schema: 1\n")
    archive = tmp_path / "all.zip"
    with filled(new_place(), at) as store:
        fill(store, at, box=str(box))
        told = export(store.engine, shop, archive, at=at, program="0.1.0", boxes={str(box): box})
        before = contents(store)
        first = archive.read_bytes()
        archive.rename(tmp_path / "first.zip")
        export(store.engine, shop, archive, at=at, program="0.1.0", boxes={str(box): box})
        assert archive.read_bytes() == first
    other = tmp_path / "other"
    other.mkdir()
    with open_store(new_place()) as store:
        taken = import_archive(archive, store.engine, other)
        assert (taken.moved_boxes, taken.files) == ({}, 2)
        assert contents(store) == before
        assert store.findings(1)[1].value_si == 0.1 + 0.2
        assert store.add_finding(1, Entry(said="goes on"), at=at, who="m").id == 3
        store.check()
    for path in ("photos/originals/ab/photo.jpg", "logs/job-1/drive.json"):
        assert (other / path).read_bytes() == (shop / path).read_bytes()
    assert not (other / "photos/copies").exists()
    assert not list(other.glob("*.part"))
    assert not {f"tables/{name}.jsonl" for name in LEFT_OUT} & set(told.members)


def test_a_box_file_that_is_not_there_any_more_comes_into_the_shops_folder(
    shop: Path, tmp_path: Path, at: datetime
) -> None:
    """The car then names its new place, and the import says so."""
    box = tmp_path / "own.yaml"
    box.write_text("schema: 1\n")
    with filled(shop / "records.sqlite", at) as store:
        fill(store, at, box=str(box))
        export(store.engine, shop, tmp_path / "all.zip", at=at, program="0", boxes={str(box): box})
    box.unlink()
    other = tmp_path / "other"
    other.mkdir()
    with open_store(other / "records.sqlite") as store:
        taken = import_archive(tmp_path / "all.zip", store.engine, other)
        assert taken.moved_boxes == {str(box): store.car("loop-car").box}
        assert Path(store.car("loop-car").box).read_text() == "schema: 1\n"


def test_the_tables_are_there_for_a_spreadsheet(shop: Path, tmp_path: Path, at: datetime) -> None:
    """With a heading, and no cell that a spreadsheet would work out."""
    with filled(shop / "records.sqlite", at) as store:
        fill(store, at)
        export(store.engine, shop, tmp_path / "all.zip", at=at, program="0", boxes={})
    with zipfile.ZipFile(tmp_path / "all.zip") as archive:
        rows = list(csv.DictReader(io.StringIO(archive.read("tables/cars.csv").decode())))
    assert {row["slug"]: row["owner"] for row in rows}["loop-car"] == "'=SUM(1)"


def _escaping(members: dict[str, bytes], told: dict[str, Any]) -> None:
    for name in ("files/logs/../../../evil.txt",):
        members[name] = b"evil"
        told["members"][name] = {"path": name, "size": 4, "digest": "0" * 64}


def _strange_place(members: dict[str, bytes], told: dict[str, Any]) -> None:
    members["files/records.sqlite"] = b"evil"
    told["members"]["files/records.sqlite"] = {"path": "files/records.sqlite", "size": 4, "digest": "0" * 64}


def _bomb(members: dict[str, bytes], told: dict[str, Any]) -> None:
    members["files/logs/zeros"] = bytes(40 * 2**20)
    told["members"]["files/logs/zeros"] = {"path": "files/logs/zeros", "size": 10, "digest": "0" * 64}


def _newer(members: dict[str, bytes], told: dict[str, Any]) -> None:
    told["version"] = 2


def _newer_tables(members: dict[str, bytes], told: dict[str, Any]) -> None:
    told["schema"] = "9999"


def _changed_photo(members: dict[str, bytes], told: dict[str, Any]) -> None:
    name = "files/photos/originals/ab/photo.jpg"
    members[name] = members[name][:-1] + b"!"


def _changed_row(members: dict[str, bytes], told: dict[str, Any]) -> None:
    name = "tables/findings.jsonl"
    members[name] = members[name].replace(b"thou", b"inch")


def _row_too_many(members: dict[str, bytes], told: dict[str, Any]) -> None:
    name = "tables/cars.jsonl"
    members[name] *= 2
    told["members"][name]["size"] *= 2


def _not_a_row(members: dict[str, bytes], told: dict[str, Any]) -> None:
    name = "tables/cars.jsonl"
    members[name] = b"[" * 5000 + b"\n"
    told["members"][name]["size"] = 5001


def _endless_row(members: dict[str, bytes], told: dict[str, Any]) -> None:
    name = "tables/cars.jsonl"
    members[name] = bytes(chance % 251 for chance in range(2**16)).replace(b"\n", b"x") * 80
    told["members"][name]["size"] = len(members[name])


def _extra(members: dict[str, bytes], told: dict[str, Any]) -> None:
    members["files/logs/extra"] = b"not listed"


def _huge(members: dict[str, bytes], told: dict[str, Any]) -> None:
    told["members"]["files/logs/job-1/drive.json"]["size"] = 10**18


def _door_keys(members: dict[str, bytes], told: dict[str, Any]) -> None:
    told["tables"]["door_keys"] = told["tables"]["cars"]
    members["tables/door_keys.jsonl"] = b""
    told["members"]["tables/door_keys.jsonl"] = {
        "path": "tables/door_keys.jsonl",
        "size": 0,
        "digest": "0" * 64,
    }


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (_escaping, "no place it could go"),
        (_strange_place, "no place it could go"),
        (_bomb, "does not hold what it lists|beyond measure"),
        (_newer, "of version 2, this program reads 1"),
        (_newer_tables, "newer than this program"),
        (_changed_photo, "a file in it is damaged"),
        (_changed_row, "rows of findings did not arrive"),
        (_row_too_many, "holds more than it lists"),
        (_not_a_row, "a row cannot be read"),
        (_endless_row, "holds more than it lists"),
        (_extra, "does not hold what it lists"),
        (_huge, "does not hold what it lists"),
        (_door_keys, "a table that is not known"),
    ],
    ids=lambda given: given.__name__.strip("_") if callable(given) else "",
)
def test_an_archive_that_is_not_what_it_says_is_refused(
    shop: Path, tmp_path: Path, at: datetime, change: Change, said: str
) -> None:
    """With words; nothing of it is kept, neither rows nor files."""
    archive = _archive(shop, tmp_path, at)
    with zipfile.ZipFile(archive) as whole:
        members = {name: whole.read(name) for name in whole.namelist()}
    told = json.loads(members.pop("archive.json"))
    change(members, told)
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED) as spoilt:
        for name, data in {**members, "archive.json": json.dumps(told).encode()}.items():
            spoilt.writestr(name, data)
    _refused(archive, tmp_path, said)


@pytest.mark.parametrize("part", [0.0, 0.5, 0.98])
def test_an_archive_cut_short_is_refused(shop: Path, tmp_path: Path, at: datetime, part: float) -> None:
    """As after a copy broken off."""
    archive = _archive(shop, tmp_path, at)
    whole = archive.read_bytes()
    archive.write_bytes(whole[: int(len(whole) * part)])
    _refused(archive, tmp_path, "cut short or damaged")


@pytest.mark.parametrize("where", [100, 30_000, -3_000])
def test_an_archive_with_a_byte_changed_is_refused(
    shop: Path, tmp_path: Path, at: datetime, where: int
) -> None:
    """Wherever it lies."""
    archive = _archive(shop, tmp_path, at)
    whole = bytearray(archive.read_bytes())
    whole[where] ^= 0x55
    archive.write_bytes(bytes(whole))
    _refused(archive, tmp_path, ".")


def test_nothing_is_taken_into_a_shop_that_holds_something(shop: Path, tmp_path: Path, at: datetime) -> None:
    """Two shops are not mixed."""
    archive = _archive(shop, tmp_path, at)
    with filled(tmp_path / "other.sqlite", at) as store, pytest.raises(RecordError, match="in it already"):
        import_archive(archive, store.engine, tmp_path)


def test_an_archive_is_not_written_over_a_file(shop: Path, tmp_path: Path, at: datetime) -> None:
    """Another may lie there."""
    archive = _archive(shop, tmp_path, at)
    with open_store(shop / "records.sqlite") as store, pytest.raises(RecordError, match="is there already"):
        export(store.engine, shop, archive, at=at, program="0", boxes={})


def _archive(shop: Path, tmp_path: Path, at: datetime) -> Path:
    with filled(shop / "records.sqlite", at) as store:
        fill(store, at)
        export(store.engine, shop, tmp_path / "all.zip", at=at, program="0", boxes={})
    return tmp_path / "all.zip"


def _refused(archive: Path, tmp_path: Path, said: str) -> None:
    other = tmp_path / "other"
    other.mkdir()
    with open_store(other / "records.sqlite") as store:
        with pytest.raises(RecordError, match=said) as refusal:
            import_archive(archive, store.engine, other)
        assert store.cars() == ()
    assert re.search(r"Error|Traceback", str(refusal.value)) is None
    assert {path.name for path in other.iterdir()} == {"records.sqlite"}
    assert not (tmp_path.parent / "evil.txt").exists()


def _other_kind(place: str, tmp_path: Path, new_on_server: NewPlace) -> str:
    return str(tmp_path / "moved.sqlite") if place.startswith("postgresql") else new_on_server()


@pytest.mark.postgresql
def test_records_move_to_the_other_kind_of_database_and_back(
    place: str, new_on_server: NewPlace, tmp_path: Path, at: datetime
) -> None:
    """Every row the same, numbers go on, and never onto anything that is there."""
    with filled(place, at) as store, open_store(_other_kind(place, tmp_path, new_on_server)) as other:
        fill(store, at)
        before: Mapping[str, Any] = contents(store)
        assert move(store.engine, other.engine) == before == contents(other)
        assert other.findings(1) == store.findings(1)
        assert other.add_finding(1, Entry(said="goes on"), at=at, who="m").id == 3
        assert other.open_job("grey-saloon", complaint="second", at=at, who="m").number == 2
        other.check()
        with pytest.raises(RecordError, match=r"in it already .*: nothing was changed"):
            move(store.engine, other.engine)
        with pytest.raises(RecordError, match="that is the same database"):
            move(store.engine, store.engine)
