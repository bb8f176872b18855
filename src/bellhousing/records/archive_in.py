"""Reading an archive back into a shop that is empty; an archive is somebody's file and is not trusted.

Nothing is unpacked that its list does not name, larger than said, or outside the shop's folder; pieces are
read one at a time, so that no archive takes more memory than another.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import tempfile
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from sqlalchemy import Connection, Engine, Table, text
from sqlalchemy.exc import DBAPIError

from bellhousing.errors import RecordError
from bellhousing.records.archive import FORMAT, LEFT_OUT, LIST, VERSION, Contents, may_hold
from bellhousing.records.copying import (
    Row,
    Tally,
    copy_all,
    need_empty,
    need_same,
    put_rows,
    row_from,
    tables_in,
    tallies,
)
from bellhousing.records.database import open_engine, where_of
from bellhousing.records.kept_files import PIECE, KeptFile, digest_of, safe_path, settle
from bellhousing.records.refusals import refused
from bellhousing.records.store import Store, open_store
from bellhousing.records.tables import NEWEST
from bellhousing.records.upgrading import MIGRATIONS, need_known, writing

LARGEST_LIST = 64 * 2**20
LONGEST_LINE = 4 * 2**20
ROWS_AT_ONCE = 50
MOST_PACKED = 1200
"""No honest packing makes a file smaller than one part in so many."""
SPARE = 100 * 2**20
"""What must stay free on the disk [bytes]."""
DIGEST = re.compile(r"[0-9a-f]{64}")
STAGING = "import-"
DAMAGED = "the archive is cut short or damaged"
MAKE_AGAIN = "nothing was kept; take another copy of it, or export it again"


@dataclass(frozen=True)
class Imported:
    """What was taken in; `moved_boxes` are the new places of box files by car's box."""

    rows: int
    files: int
    moved_boxes: dict[str, str]


def import_archive(path: Path, engine: Engine, shop: Path) -> Imported:
    """Take an archive into a shop that holds nothing yet: all of it, or nothing.

    Broken off at any moment, it is begun again with the same archive.

    Raises
    ------
    RecordError : the archive is damaged, of a version not known, holds what it does not list or what cannot
        be, is too large for the disk; or the shop holds something already.
    """
    try:
        with _opened(path) as archive:
            contents = _contents(archive, path)
            with engine.connect() as connection, connection.begin():
                need_empty(
                    connection, [t for t in tables_in(connection) if t.name not in LEFT_OUT], where_of(engine)
                )
            for left in shop.glob(f"{STAGING}*.part"):
                # Of an import that was broken off; what it had put in its place already is the same again.
                shutil.rmtree(left, ignore_errors=True)
            _need_room(contents, shop)
            with tempfile.TemporaryDirectory(dir=shop, prefix=STAGING, suffix=".part") as staging:
                return _take_in(archive, contents, engine, shop, Path(staging))
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as error:
        raise RecordError(DAMAGED, where=str(path), remedy=MAKE_AGAIN) from error
    except OSError as error:
        raise RecordError(
            f"the archive cannot be taken in, {error.strerror or error}",
            where=str(path),
            remedy="nothing was kept",
        ) from error
    except DBAPIError as error:
        raise refused(error, where_of(engine)) from error


@contextmanager
def _opened(path: Path) -> Iterator[zipfile.ZipFile]:
    with zipfile.ZipFile(path) as archive:
        found = archive.infolist()
        names = [info.filename for info in found]
        if len(names) != len(set(names)):
            raise RecordError("the archive holds a file twice", where=str(path), remedy=MAKE_AGAIN)
        # Files that share their bytes are how a small archive comes to hold more than a disk.
        if sum(info.compress_size for info in found) > path.stat().st_size:
            raise RecordError("the archive holds more than its size", where=str(path), remedy=MAKE_AGAIN)
        for info in found:
            if info.flag_bits & 1 or info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
                raise RecordError("the archive is locked or packed strangely", where=info.filename[:80])
            if info.file_size > MOST_PACKED * max(info.compress_size, 64):
                raise RecordError("a file in it would grow beyond measure", where=info.filename[:80])
        yield archive


def _contents(archive: zipfile.ZipFile, path: Path) -> Contents:
    where = str(path)
    try:
        info = archive.getinfo(LIST)
        if info.file_size > LARGEST_LIST:
            raise RecordError("the list of the archive is too long", where=where)
        with archive.open(info) as stream:
            told = json.loads(_all_of(stream, LARGEST_LIST))
        if told["format"] != FORMAT:
            raise KeyError("format")
        if told["version"] != VERSION:
            raise RecordError(
                f"the archive is of version {str(told['version'])[:20]}, this program reads {VERSION}",
                where=where,
                remedy="nothing was kept; use the program that made it, or a newer one",
            )
        contents = Contents(
            made_at=str(told["made_at"]),
            program=str(told["program"]),
            schema=str(told["schema"]),
            tables={
                str(name): Tally(int(one["rows"]), str(one["digest"])) for name, one in told["tables"].items()
            },
            members={str(name): _kept(name, one) for name, one in told["members"].items()},
            boxes={str(box): str(member) for box, member in told["boxes"].items()},
        )
    except (KeyError, TypeError, ValueError, AttributeError, RecursionError) as error:
        raise RecordError(
            "that is no archive of a shop", where=where, remedy="give one made by export"
        ) from error
    need_known(contents.schema, NEWEST, MIGRATIONS, where)
    _need_listed(archive, contents, where)
    return contents


def _kept(name: str, told: Any) -> KeptFile:
    one = KeptFile(str(told["path"]), int(told["size"]), str(told["digest"]))
    if one.path != name or one.size < 0 or DIGEST.fullmatch(one.digest) is None:
        raise ValueError(name)
    return one


def _need_listed(archive: zipfile.ZipFile, contents: Contents, where: str) -> None:
    sizes = {info.filename: info.file_size for info in archive.infolist() if info.filename != LIST}
    if sizes != {name: one.size for name, one in contents.members.items()}:
        raise RecordError("the archive does not hold what it lists", where=where, remedy=MAKE_AGAIN)
    for name in contents.members:
        safe_path(name)
        if name.startswith("files/") and not may_hold(name.removeprefix("files/")):
            raise RecordError("a file in it has no place it could go", where=name[:80])
    if not {f"tables/{name}.jsonl" for name in contents.tables} <= set(contents.members):
        raise RecordError("a table is missing in it", where=where, remedy=MAKE_AGAIN)
    if not all(
        member in contents.members and member.startswith("boxes/") for member in contents.boxes.values()
    ):
        raise RecordError("a box file is missing in it", where=where, remedy=MAKE_AGAIN)


def _need_room(contents: Contents, shop: Path) -> None:
    # Rows lie in two databases for a while, each with its indexes.
    needed = sum(
        one.size * (4 if name.startswith("tables/") else 1) for name, one in contents.members.items()
    )
    free = shutil.disk_usage(shop).free
    if needed + SPARE > free:
        raise RecordError(
            f"the archive needs {needed // 2**20} MB and {free // 2**20} MB are free",
            where=str(shop),
            remedy="nothing was kept; make room on the disk, or name another with --shop",
        )


def _take_in(
    archive: zipfile.ZipFile, contents: Contents, engine: Engine, shop: Path, staging: Path
) -> Imported:
    records = staging / "records.sqlite"
    trial = open_engine(records, newest=contents.schema)
    try:
        with writing(trial) as connection:
            _rows_in(archive, contents, connection)
    finally:
        trial.dispose()
    for name, one in contents.members.items():
        if name.startswith(("files/", "boxes/")):
            _unpack(archive, one, staging / safe_path(name))
        elif not name.endswith(".jsonl"):
            _read_through(archive, one)
    with open_store(records) as store:
        problems = store.problems()
        if problems:
            raise RecordError(f"the archive is not sound, {'; '.join(problems)}", remedy=MAKE_AGAIN)
        boxes = _boxes_in(contents, shop, staging)
        count = _place(contents, shop, staging)
        _records_in(store, engine, boxes)
    rows = sum(tally.rows for tally in contents.tables.values())
    return Imported(rows, count + len(boxes), boxes)


def _records_in(store: Store, engine: Engine, boxes: dict[str, str]) -> None:
    with store.engine.connect() as source, source.begin(), writing(engine) as target:
        copy_all(source, target, into=where_of(engine), leave=LEFT_OUT)
        for box, path in boxes.items():
            target.execute(text("UPDATE cars SET box = :path WHERE box = :box"), {"path": path, "box": box})


def _rows_in(archive: zipfile.ZipFile, contents: Contents, connection: Connection) -> None:
    tables = {table.name: table for table in tables_in(connection)}
    strange = sorted(set(contents.tables) - set(tables) | set(contents.tables) & LEFT_OUT)
    if strange:
        raise RecordError("the archive holds a table that is not known", where=strange[0][:80])
    for name, table in tables.items():
        if name in contents.tables:
            with archive.open(f"tables/{name}.jsonl") as stream:
                put_rows(
                    connection, table, _rows(stream, table, contents.tables[name].rows), at_once=ROWS_AT_ONCE
                )
    found = tallies(connection, tuple(tables[name] for name in contents.tables))
    need_same(contents.tables, found, "the archive")


def _rows(stream: IO[bytes], table: Table, most: int) -> Iterator[Row]:
    count = 0
    while line := stream.readline(LONGEST_LINE + 1):
        count += 1
        where = f"{table.name}, row {count}"
        if len(line) > LONGEST_LINE or count > most:
            raise RecordError("the archive holds more than it lists", where=where, remedy=MAKE_AGAIN)
        try:
            yield row_from(line.decode("utf-8"), table)
        except (ValueError, TypeError, OverflowError, RecursionError) as error:
            raise RecordError(
                f"a row cannot be read, {str(error)[:120]}", where=where, remedy=MAKE_AGAIN
            ) from error


def _unpack(archive: zipfile.ZipFile, one: KeptFile, target: Path) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    with target.open("xb") as out:
        _read_through(archive, one, out)
        out.flush()
        os.fsync(out.fileno())


def _read_through(archive: zipfile.ZipFile, one: KeptFile, out: IO[bytes] | None = None) -> None:
    digest, size = hashlib.sha256(), 0
    with archive.open(one.path) as stream:
        while piece := stream.read(PIECE):
            size += len(piece)
            if size > one.size:
                raise RecordError(
                    "a file in it is larger than it lists", where=one.path[:80], remedy=MAKE_AGAIN
                )
            digest.update(piece)
            if out is not None:
                out.write(piece)
    if (size, digest.hexdigest()) != (one.size, one.digest):
        raise RecordError("a file in it is damaged", where=one.path[:80], remedy=MAKE_AGAIN)


def _boxes_in(contents: Contents, shop: Path, staging: Path) -> dict[str, str]:
    """Put box files that are not where the cars say into the shop's folder; their new places."""
    moved = {}
    for box, member in contents.boxes.items():
        one = contents.members[member]
        if Path(box).is_file() and digest_of(Path(box)) == (one.size, one.digest):
            continue
        target = shop / member
        _move(staging / member, target, one)
        moved[box] = str(target.resolve())
    return moved


def _place(contents: Contents, shop: Path, staging: Path) -> int:
    count = 0
    for name, one in contents.members.items():
        if name.startswith("files/"):
            _move(staging / name, shop / name.removeprefix("files/"), one)
            count += 1
    return count


def _move(source: Path, target: Path, one: KeptFile) -> None:
    if target.exists() and (not target.is_file() or digest_of(target) != (one.size, one.digest)):
        raise RecordError("another file is in its place", where=str(target), remedy="move it away first")
    target.parent.mkdir(parents=True, exist_ok=True)
    source.replace(target)
    settle(target.parent)


def _all_of(stream: IO[bytes], most: int) -> bytes:
    found = stream.read(most + 1)
    if len(found) > most:
        raise RecordError("the list of the archive is too long")
    return found
