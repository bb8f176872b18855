"""Keeping a shop for years: backups, putting them back, moving records, everything out and in again."""

from __future__ import annotations

import logging
import threading
from datetime import datetime
from importlib.metadata import version
from pathlib import Path

from bellhousing.errors import BellhousingError, RecordError
from bellhousing.records import archive, archive_in, backup, copying, restoring
from bellhousing.records.database import where_at
from bellhousing.records.kept_files import settle, write_whole
from bellhousing.records.store import open_store
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.shop import BACKUPS, MOVED, RECORDS, Clock, Shop, need_here, now

LOG = logging.getLogger("bellhousing.keeping")
LATEST = "latest"
LOOK_SECONDS = 900.0
"""How often a running app looks whether a backup is due."""


class BackupAnswer(Shape):
    """A backup: what it is called, when it was made, what it holds, how it was seen to be whole."""

    name: str
    made_at: str
    rows: int
    files: int
    bytes: int
    verified: tuple[str, ...]


class RestoreAnswer(Shape):
    """What was put back, and where what was there before is kept."""

    name: str
    rows: int
    files: int
    kept: str | None


class MoveAnswer(Shape):
    """What was moved and where from and to; each table's rows were compared one by one."""

    rows: dict[str, int]
    left: str
    arrived: str
    kept: str | None


class ArchiveAnswer(Shape):
    """What an archive holds, or what of one was taken in; `moved_boxes` lie in the shop's folder now."""

    path: str
    rows: int
    files: int
    moved_boxes: dict[str, str]


def back_up(shop: Shop, *, keep: int = backup.GENERATIONS) -> BackupAnswer:
    """Back up a shop now; the newest `keep` backups stay.

    Raises
    ------
    RecordError : no room, no right to write, or it did not come back the same.
    """
    made = backup.make_backup(
        shop.store.engine, shop.folder, shop.folder / BACKUPS, at=shop.clock(), keep=keep
    )
    return _answer(made)


def backups(folder: Path) -> tuple[BackupAnswer, ...]:
    """The backups of the shop in a folder, oldest first."""
    return tuple(_answer(one) for one in backup.generations(folder / BACKUPS))


def restore(folder: Path, name: str, *, records: str | None = None, clock: Clock = now) -> RestoreAnswer:
    """Put a backup back into the shop in a folder; what is there now is kept beside it.

    Raises
    ------
    RecordError : there is no such backup, it is not whole, or the shop is in use.
    """
    made = backup.generations(folder / BACKUPS)
    if not made:
        raise RecordError(
            "there is no backup", where=str(folder), remedy="name the shop's folder with --shop"
        )
    chosen = [made[-1]] if name == LATEST else [one for one in made if one.name == name]
    if not chosen:
        raise RecordError(
            "there is no backup of that name", where=name[:80], remedy="see: bellhousing backup --list"
        )
    need_here(folder, records)
    done = restoring.restore(chosen[0], folder / BACKUPS, folder, records, at=clock())
    return RestoreAnswer(name=done.generation, rows=done.rows, files=done.files, kept=done.kept)


def move_records(folder: Path, target: str, *, records: str | None = None, clock: Clock = now) -> MoveAnswer:
    """Move a shop's records into another database that is empty; every row is compared afterwards.

    A file moved from stays under another name, and the folder tells who opens it where the records are.
    Broken off at any moment, it is begun again by the same words and goes on where it was.

    Raises
    ------
    RecordError : the target is not empty, either cannot be opened, or a row did not arrive as it left.
    """
    own, marker = folder / RECORDS, folder / MOVED
    begun = records is None and own.is_file() and marker.is_file()
    if begun and marker.read_text("utf-8").strip() == where_at(target):
        return _finished(own, _unused(folder, clock()), where_at(target))
    need_here(folder, records)
    if records is None and not own.is_file():
        raise RecordError("there are no records to move", where=str(folder), remedy="name it with --shop")
    aside = _unused(folder, clock())
    copies = folder / BACKUPS
    with open_store(records or own, copies=copies) as left, open_store(target, copies=copies) as right:
        counted = copying.move(left.engine, right.engine)
        answer = MoveAnswer(
            rows={name: tally.rows for name, tally in counted.items()},
            left=left.where, arrived=right.where, kept=str(aside) if records is None else None,
        )  # fmt: skip
        to_own = right.engine.dialect.name == "sqlite" and Path(right.where).resolve() == own.resolve()
    if to_own:
        marker.unlink(missing_ok=True)
    elif records is None:
        _put_aside(own, aside, answer.arrived)
    return answer


def export(shop: Shop, target: Path) -> ArchiveAnswer:
    """Write everything of a shop into one archive.

    Raises
    ------
    RecordError : the file is there already, or cannot be written.
    """
    own = {car.box: Path(car.box) for car in shop.store.cars() if _is_file(car.box)}
    made = archive.export(
        shop.store.engine, shop.folder, target, at=shop.clock(), program=version("bellhousing"), boxes=own
    )
    files = sum(name.startswith(("files/", "boxes/")) for name in made.members)
    return ArchiveAnswer(
        path=str(target), rows=sum(one.rows for one in made.tables.values()), files=files, moved_boxes={}
    )


def take_in(shop: Shop, source: Path) -> ArchiveAnswer:
    """Take an archive into a shop that holds nothing yet.

    Raises
    ------
    RecordError : the archive is not what it says, or the shop is not empty.
    """
    taken = archive_in.import_archive(source, shop.store.engine, shop.folder)
    return ArchiveAnswer(
        path=str(source), rows=taken.rows, files=taken.files, moved_boxes=dict(taken.moved_boxes)
    )


def keep_backups(shop: Shop, stop: threading.Event, *, keep: int) -> None:
    """Back up a shop once a day for as long as it is open, whichever of its programs comes to it first."""
    while not stop.is_set():
        try:
            if backup.is_due(shop.folder / BACKUPS, shop.clock()):
                LOG.info("backed up", extra={"fields": {"backup": back_up(shop, keep=keep).name}})
        except BellhousingError as error:
            LOG.warning("the daily backup failed: %s", error, extra={"fields": {"why": error.what}})
        stop.wait(LOOK_SECONDS)


def _put_aside(own: Path, aside: Path, address: str) -> None:
    # First the word where they are, then the file away: broken off between, nobody writes into the old one.
    try:
        write_whole(f"{address}\n".encode(), own.with_name(MOVED))
        _away(own, aside)
    except OSError as error:
        raise RecordError(
            f"the old file cannot be put aside, {error.strerror}",
            where=str(own),
            remedy="the records are there already; make room, then say the same again",
        ) from error


def _finished(own: Path, aside: Path, address: str) -> MoveAnswer:
    """What is left of a move that was broken off after its word where the records are."""
    with open_store(own) as left, left.engine.connect() as connection, connection.begin():
        rows = {name: tally.rows for name, tally in copying.tallies(connection).items()}
        where = left.where
    _away(own, aside)
    return MoveAnswer(rows=rows, left=where, arrived=address, kept=str(aside))


def _away(own: Path, aside: Path) -> None:
    own.rename(aside)
    settle(own.parent)


def _unused(folder: Path, at: datetime) -> Path:
    path, count = folder / f"before-move-{at:%Y%m%dT%H%M%SZ}.sqlite", 2
    found = path
    while found.exists():
        found, count = path.with_name(f"{path.stem}-{count}{path.suffix}"), count + 1
    return found


def _is_file(box: str) -> bool:
    try:
        return Path(box).is_file()
    except (OSError, ValueError):
        return False


def _answer(made: backup.Generation) -> BackupAnswer:
    return BackupAnswer(
        name=made.name,
        made_at=made.made_at.isoformat(timespec="seconds"),
        rows=sum(tally.rows for tally in made.tables.values()),
        files=len(made.files),
        bytes=made.records.size + sum(one.size for one in made.files),
        verified=made.verified,
    )
