"""Whether a shop is sound: records, photos, box files, logs, backups, clock, disk; and what to do."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from datetime import datetime, timedelta
from importlib.metadata import version
from pathlib import Path

from bellhousing.errors import BellhousingError
from bellhousing.records import backup, restoring
from bellhousing.records.archive_in import STAGING
from bellhousing.road.logs.store import FOLDER as LOGS
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.photos import photo_files
from bellhousing.tasks.shop import BACKUPS, Clock, Shop, now, open_shop

LATE = timedelta(days=2)
CLOCK_OFF = timedelta(minutes=10)
LITTLE_ROOM = 200 * 2**20
PUT_BACK = "put the last good backup back with: bellhousing restore latest"


class Trouble(Shape):
    """Something that is not as it should be: where, what, and what to do; `mended` if that was done."""

    area: str
    what: str
    remedy: str
    mended: bool = False


class CheckAnswer(Shape):
    """What was looked at and what was found wrong."""

    looked_at: tuple[str, ...]
    troubles: tuple[Trouble, ...]

    @property
    def sound(self) -> bool:
        """Whether nothing is left to do."""
        return all(trouble.mended for trouble in self.troubles)


class Health(Shape):
    """Whether the running app can do its work, and what is in its way."""

    ok: bool
    version: str
    problems: tuple[str, ...]


def check(folder: Path, *, records: str | None = None, mend: bool = False, clock: Clock = now) -> CheckAnswer:
    """Read a shop through; `mend` puts photos and logs back from the backups where they are damaged."""
    troubles: list[Trouble] = []
    looked = ["database", "photos", "box files", "logs", "backups", "clock", "disk"]
    troubles += _disk(folder)
    try:
        shop = open_shop(folder, records=records, clock=clock)
    except BellhousingError as error:
        where = error.what if error.where is None else f"{error.what} ({error.where})"
        opening = Trouble(area="database", what=where, remedy=error.remedy or PUT_BACK)
        return CheckAnswer(looked_at=("database", "disk"), troubles=(opening, *troubles))
    with shop:
        for area, look in (
            ("database", _database), ("photos", _photos), ("box files", _boxes), ("logs", _logs),
            ("backups", _backups), ("clock", _clock),
        ):  # fmt: skip
            try:
                troubles += look(shop, mend)
            except BellhousingError as error:
                troubles.append(Trouble(area=area, what=error.what, remedy=error.remedy or PUT_BACK))
    return CheckAnswer(looked_at=tuple(looked), troubles=tuple(troubles))


def health(shop: Shop) -> Health:
    """What a watcher asks of a running app; quick, and without a word of what the shop holds."""
    found = [trouble.what for trouble in _disk(shop.folder)]
    try:
        found += [trouble.what for trouble in _clock(shop, False)]
    except BellhousingError as error:
        found.append(error.what)
    made = backup.generations(shop.folder / BACKUPS)
    if made and shop.clock() - made[-1].made_at > LATE:
        found.append("the last backup is old")
    return Health(ok=not found, version=version("bellhousing"), problems=tuple(found))


def _database(shop: Shop, mend: bool) -> Iterator[Trouble]:
    for what in shop.store.problems():
        yield Trouble(area="database", what=what, remedy=PUT_BACK)


def _photos(shop: Shop, mend: bool) -> Iterator[Trouble]:
    entries = shop.store.photos.entries()
    files = photo_files(shop)
    kinds = {entry.file.digest: entry.file.kind for entry in entries}
    found = files.check(kinds.items())
    first: dict[str, int] = {}
    for entry in entries:
        first.setdefault(entry.file.digest, entry.job)
    for digests, how in ((found.missing, "is missing"), (found.changed, "was changed or cut short")):
        for digest in digests:
            path = files.original(digest, kinds[digest])
            what = f"a photo of job {first[digest]} {how}, {path.name}"
            yield _mended(shop, "photos", what, path, mend)
    for path in found.unknown:
        yield Trouble(
            area="photos",
            what=f"no entry speaks of {path.name}, left by a sending that was cut off",
            remedy=f"nothing is lost; it may be removed: {path}",
        )


def _mended(shop: Shop, area: str, what: str, path: Path, mend: bool) -> Trouble:
    backups = shop.folder / BACKUPS
    made = backup.generations(backups)
    within = path.relative_to(shop.folder).as_posix()
    if mend and restoring.mend_file(backups, made, within, shop.folder):
        return Trouble(area=area, what=what, remedy="put back from a backup", mended=True)
    kept = any(one.path == within for generation in made for one in generation.files)
    if kept and not mend:
        return Trouble(
            area=area, what=what, remedy="a backup has it; put it back with: bellhousing check --mend"
        )
    return Trouble(area=area, what=what, remedy=f"no backup has it whole; put your own copy to {path}")


def _boxes(shop: Shop, mend: bool) -> Iterator[Trouble]:
    cars: dict[str, list[str]] = {}
    for car in shop.store.cars():
        cars.setdefault(car.box, []).append(car.name)
    for box, names in cars.items():
        try:
            shop.box(box)
        except BellhousingError as error:
            yield Trouble(
                area="box files",
                what=f"the box of {', '.join(names)} cannot be used: {error.what}",
                remedy=error.remedy or f"put {box} right, or give the car another box",
            )


def _logs(shop: Shop, mend: bool) -> Iterator[Trouble]:
    for path in sorted((shop.folder / LOGS).glob("job-*/*.json")):
        rows = shop.folder / LOGS / f"{path.stem}.parquet"
        if not rows.is_file():
            yield _mended(shop, "logs", f"the rows of a log of {path.parent.name} are missing", rows, mend)


def _backups(shop: Shop, mend: bool) -> Iterator[Trouble]:
    backups = shop.folder / BACKUPS
    made = backup.generations(backups)
    if not made:
        yield Trouble(area="backups", what="there is no backup", remedy="make one with: bellhousing backup")
        return
    for what in backup.verify(made[-1], backups):
        yield Trouble(
            area="backups",
            what=f"the last backup is damaged: {what}",
            remedy="make one with: bellhousing backup",
        )
    if shop.clock() - made[-1].made_at > LATE:
        day = made[-1].made_at.date()
        yield Trouble(
            area="backups", what=f"the last backup is of {day}", remedy="make one with: bellhousing backup"
        )


def _clock(shop: Shop, mend: bool) -> Iterator[Trouble]:
    newest: datetime | None = shop.store.newest()
    if newest is not None and newest - shop.clock() > CLOCK_OFF:
        yield Trouble(
            area="clock",
            what=f"the clock of this machine is behind what was written at {newest:%Y-%m-%d %H:%M} UTC",
            remedy="set the clock; what was written keeps its order, since entries are numbered",
        )


def _disk(folder: Path) -> list[Trouble]:
    there = next(path for path in (folder, *folder.absolute().parents) if path.exists())
    found = []
    if folder.is_dir() and not os.access(folder, os.W_OK):
        found.append(
            Trouble(
                area="disk", what="the shop's folder cannot be written to",
                remedy=f"give yourself the right to write to {folder}",
            )
        )  # fmt: skip
    for left in sorted(folder.glob(f"{STAGING}*.part")):
        found.append(
            Trouble(
                area="disk", what=f"{left.name} was left by an import that was broken off",
                remedy=f"nothing of it is needed; remove it: {left}",
            )
        )  # fmt: skip
    free = shutil.disk_usage(there).free
    if free < LITTLE_ROOM:
        found.append(
            Trouble(
                area="disk", what=f"only {free // 2**20} MB are free on the disk",
                remedy="make room before the next photo or backup",
            )
        )  # fmt: skip
    return found
