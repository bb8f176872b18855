"""Everything of a shop as one open archive: a zip of JSON lines, CSV, photos, logs and box files.

The JSON lines are read back; the CSV is for people. `archive.json` lists every member with its bytes and
their SHA-256, and every table with its rows.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any

from sqlalchemy import Connection, Engine, Table
from sqlalchemy.exc import DBAPIError

from bellhousing.errors import RecordError
from bellhousing.records.copying import Counting, Tally, line_of, rows_of, tables_in
from bellhousing.records.kept_files import PIECE, KeptFile, files_in
from bellhousing.records.refusals import refused
from bellhousing.records.upgrading import current_version

FORMAT = "bellhousing-archive"
VERSION = 1
LIST = "archive.json"
# What opens doors, and is made anew where it is missing.
LEFT_OUT = frozenset({"sessions", "tries", "door_keys"})
# The parts of a shop's folder that go into an archive.
PARTS = ("photos/originals/", "logs/", "logger-columns/", "boxes/", "instruments.yaml")
PACKED = frozenset({".jpg", ".jpeg", ".png", ".heic", ".parquet"})
FIRST_DAY = (1980, 1, 1, 0, 0, 0)
README = """Everything a shop keeps in Bellhousing, in plain formats.

tables/NAME.jsonl   one table, a row to a line, as JSON; this is what an import reads
tables/NAME.csv     the same for a spreadsheet
files/              photos as the camera had them, logs of drives, instruments
boxes/              box files that cars of the shop use
archive.json        every file here with its size and SHA-256, every table with its rows

Moments are in UTC, figures in SI units with the unit in the column's name.
It holds the names and words of owners, and the pass phrases of people as argon2id hashes: keep it safe.
Sessions and failures to be let in are left out.
"""


@dataclass(frozen=True, kw_only=True)
class Contents:
    """What an archive says it holds; `boxes` leads from a car's box to the member that is its file."""

    made_at: str
    program: str
    schema: str
    tables: dict[str, Tally]
    members: dict[str, KeptFile]
    boxes: dict[str, str]


def may_hold(path: str) -> bool:
    """Whether a file of a shop's folder belongs into an archive."""
    return path.startswith(PARTS)


def export(
    engine: Engine, shop: Path, target: Path, *, at: datetime, program: str, boxes: Mapping[str, Path]
) -> Contents:
    """Write everything of a shop that may be in use into a new archive; `boxes` are box files by car's box.

    Raises
    ------
    RecordError : the file is there already, or the disk refuses; nothing is left of it then.
    """
    if target.exists():
        raise RecordError(
            "a file of that name is there already", where=str(target), remedy="give another name"
        )
    part = target.with_name(f"{target.name}.part")
    try:
        with _whole(part), zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED, allowZip64=True) as archive:
            contents = _fill(archive, engine, shop, boxes, at, program)
        part.rename(target)
    except OSError as error:
        raise RecordError(
            f"the archive cannot be written, {error.strerror or error}",
            where=str(target),
            remedy="make room on the disk, or give a folder you may write to",
        ) from error
    except DBAPIError as error:
        raise refused(error, str(shop)) from error
    return contents


def _fill(
    archive: zipfile.ZipFile,
    engine: Engine,
    shop: Path,
    boxes: Mapping[str, Path],
    at: datetime,
    program: str,
) -> Contents:
    members: dict[str, KeptFile] = {}
    counted: dict[str, Tally] = {}
    with _member(archive, "README.txt", members) as write:
        write(README.encode())
    with engine.connect() as connection, connection.begin():
        schema = str(current_version(connection))
        for table in tables_in(connection):
            if table.name not in LEFT_OUT:
                counted[table.name] = _table(archive, connection, table, members)
    # After the records, so that every photo they speak of is among the files.
    for path in files_in(shop):
        if may_hold(path):
            _file(archive, shop / path, f"files/{path}", members)
    named = {}
    for number, (box, file) in enumerate(sorted(boxes.items()), start=1):
        named[box] = f"boxes/{number}-{file.name}"
        _file(archive, file, named[box], members)
    contents = Contents(
        made_at=at.astimezone(UTC).isoformat(), program=program, schema=schema,
        tables=counted, members=members, boxes=named,
    )  # fmt: skip
    told = {"format": FORMAT, "version": VERSION, **asdict(contents)}
    archive.writestr(_info(LIST), json.dumps(told, ensure_ascii=False, indent=1), zipfile.ZIP_DEFLATED)
    return contents


def _table(
    archive: zipfile.ZipFile, connection: Connection, table: Table, members: dict[str, KeptFile]
) -> Tally:
    counting = Counting()
    with _member(archive, f"tables/{table.name}.jsonl", members) as write:
        for row in rows_of(connection, table):
            line = line_of(row)
            counting.add(line)
            write(f"{line}\n".encode())
    with _member(archive, f"tables/{table.name}.csv", members) as write:
        write(_csv_line([column.name for column in table.columns]))
        for row in rows_of(connection, table):
            write(_csv_line([_cell(value) for value in row.values()]))
    return counting.tally


def _csv_line(cells: list[Any]) -> bytes:
    text = io.StringIO()
    csv.writer(text).writerow(cells)
    return text.getvalue().encode()


def _cell(value: Any) -> Any:
    if isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t", "\r"):
        return f"'{value}"  # a spreadsheet would take it for a formula
    if isinstance(value, datetime):
        return value.isoformat()
    return json.dumps(value, ensure_ascii=False) if isinstance(value, list | dict) else value


def _file(archive: zipfile.ZipFile, path: Path, name: str, members: dict[str, KeptFile]) -> None:
    with path.open("rb") as stream, _member(archive, name, members) as write:
        while piece := stream.read(PIECE):
            write(piece)


def _info(name: str) -> zipfile.ZipInfo:
    # The same shop makes the same archive whenever it is made.
    info = zipfile.ZipInfo(name, FIRST_DAY)
    info.external_attr = 0o600 << 16
    packed = Path(name).suffix.lower() in PACKED
    info.compress_type = zipfile.ZIP_STORED if packed else zipfile.ZIP_DEFLATED
    return info


@contextmanager
def _member(archive: zipfile.ZipFile, name: str, members: dict[str, KeptFile]) -> Iterator[Any]:
    digest, size = hashlib.sha256(), 0
    with archive.open(_info(name), "w", force_zip64=True) as stream:
        out: IO[bytes] = stream

        def write(piece: bytes) -> None:
            nonlocal size
            digest.update(piece)
            size += len(piece)
            out.write(piece)

        yield write
    members[name] = KeptFile(name, size, digest.hexdigest())


@contextmanager
def _whole(part: Path) -> Iterator[None]:
    try:
        yield
    except BaseException:
        with suppress(OSError):
            part.unlink()
        raise
