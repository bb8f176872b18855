"""The road on a job's page: what was read of its logs, drawn only where there is one."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from markupsafe import Markup
from starlette.requests import Request

from bellhousing.reports.chart import Table
from bellhousing.reports.drive_chart import DrivePicture, drive_svg, drive_table, drive_text
from bellhousing.tasks.road_kept import KeptReading, readings_of_job
from bellhousing.tasks.road_logs import noted_of_log
from bellhousing.tasks.road_shapes import RoadLogAnswer
from bellhousing.web.pages import shop_of, speed_unit

WIDE, NARROW = (640, 320), (310, 300)


@dataclass(frozen=True)
class RoadPart:
    """One log as the page shows it, `noted` what it told that counts, and the job's other logs."""

    reading: KeptReading
    others: tuple[KeptReading, ...]
    noted: tuple[str, ...]
    wide: Markup
    narrow: Markup
    text: str
    table: Table

    @property
    def answer(self) -> RoadLogAnswer:
        """What the log tells."""
        return self.reading.answer


def road_part(request: Request, number: int) -> RoadPart | None:
    """The log asked for with ?log=, else the last one added; None where there is none."""
    shop = shop_of(request)
    readings = readings_of_job(shop, number)
    reading = chosen(readings, request.query_params.get("log", ""))
    if reading is None:
        return None
    unit, picture = speed_unit(request), reading.picture
    return RoadPart(
        reading=reading,
        others=tuple(other for other in readings if other.log != reading.log),
        noted=noted_of_log(shop, number, reading.log),
        wide=Markup(_svg(picture, unit, *WIDE, "drive-wide")),
        narrow=Markup(_svg(picture, unit, *NARROW, "drive-narrow")),
        text=drive_text(picture, unit),
        table=drive_table(picture, unit),
    )


def chosen(readings: tuple[KeptReading, ...], log: str) -> KeptReading | None:
    """The reading of a log, the last one added where none is named or it is not there."""
    return next((one for one in readings if one.log == log), next(iter(readings), None))


@lru_cache(maxsize=16)
def _svg(picture: DrivePicture, unit: str, width: int, height: int, name: str) -> str:
    return drive_svg(picture, unit, width=width, height=height, name=name)
