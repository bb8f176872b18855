"""The owner's report of a job as PDF."""

from __future__ import annotations

from pathlib import Path

from bellhousing.errors import BellhousingError, InputFileError
from bellhousing.reports.owner_pdf import owner_pdf
from bellhousing.tasks.owner_report import Gathered
from bellhousing.tasks.photos import LARGE, photo_file
from bellhousing.tasks.shop import Shop

FONTS = "fonts"


def report_pdf(shop: Shop, gathered: Gathered) -> bytes:
    """A gathered report as PDF; a photo whose file is missing is left out, and said to be.

    Letters that the usual face lacks are taken from font files in the shop's folder `fonts`, if it has one.

    Raises
    ------
    InputFileError : a photo that cannot be printed.
    """
    report = gathered.report
    kept, contents, lost = [], [], 0
    for photo in report.photos:
        try:
            path, _ = photo_file(shop, report.job, photo.digest, LARGE)
            contents.append(path.read_bytes())
            kept.append(photo)
        except (BellhousingError, OSError):
            lost += 1
    if lost:
        missing = f"{lost} of the photos could not be printed, because the file is missing or damaged"
        report = report.model_copy(update={"photos": tuple(kept), "not_done": (*report.not_done, missing)})
    return owner_pdf(
        report.model_dump(mode="json"),
        chart=None if gathered.drawn is None else gathered.drawn.svg,
        chart_title="" if gathered.drawn is None else gathered.drawn.title,
        photos=contents,
        at=gathered.at,
        fonts=shop.folder / FONTS,
    )


def write_report(shop: Shop, gathered: Gathered, path: Path) -> int:
    """Write a gathered report to a file; how many bytes it holds.

    Raises
    ------
    InputFileError : a file that cannot be written, or as `report_pdf`.
    """
    content = report_pdf(shop, gathered)
    try:
        path.write_bytes(content)
    except (OSError, ValueError) as error:
        raise InputFileError(
            f"the report cannot be written: {getattr(error, 'strerror', None) or error}",
            where=str(path)[:200],
            remedy="name a file in a folder you may write to with --output",
        ) from None
    return len(content)
