"""What was read of the logs of a job, kept beside them so that no page has to read them again."""

from __future__ import annotations

import os
from pathlib import Path

from pydantic import ValidationError

from bellhousing.errors import InputFileError
from bellhousing.reports.drive_chart import DrivePicture
from bellhousing.road.logs.store import FOLDER
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.road_shapes import RoadLogAnswer
from bellhousing.tasks.shop import Shop


class KeptReading(Shape):
    """A log of a job: its name, when and by whom it was added, what it tells; `log` names it for good."""

    log: str
    name: str
    at: str
    who: str = ""
    rate: str | None
    answer: RoadLogAnswer
    picture: DrivePicture


def keep_reading(
    shop: Shop, job: int, kept: Path, answer: RoadLogAnswer, *, name: str, rate: str | None
) -> None:
    """Keep what was read of a log for a job.

    Raises
    ------
    InputFileError : the folder cannot be written to.
    """
    assert answer.picture is not None
    reading = KeptReading(
        log=kept.stem, name=name, at=shop.clock().isoformat(), who=shop.who, rate=rate,
        answer=answer, picture=answer.picture,
    )  # fmt: skip
    target = _folder(shop, job) / f"{kept.stem}.json"
    beside = target.with_suffix(f".{os.getpid()}.new")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        beside.write_text(reading.model_dump_json(), encoding="utf-8")
        beside.replace(target)
    except OSError as error:
        raise InputFileError(f"what was read cannot be kept: {error.strerror}", where=str(target)) from None


def readings_of_job(shop: Shop, job: int) -> tuple[KeptReading, ...]:
    """Everything read of a job's logs, the last added first; what cannot be read any more is left out."""
    found = []
    for path in sorted(_folder(shop, job).glob("*.json")):
        try:
            found.append(KeptReading.model_validate_json(path.read_bytes()))
        except (OSError, ValidationError):
            continue
    return tuple(sorted(found, key=lambda reading: reading.at, reverse=True))


def kept_path(shop: Shop, log: str) -> Path:
    """Where the rows of a log are kept."""
    return shop.folder / FOLDER / f"{log}.parquet"


def _folder(shop: Shop, job: int) -> Path:
    return shop.folder / FOLDER / f"job-{job}"
