"""What a log of a drive tells, as every door hands it out."""

from __future__ import annotations

from pydantic import Field

from bellhousing.reports.drive_chart import DrivePicture
from bellhousing.tasks.answers import Shape


class ThrottleAnswer(Shape):
    """The throttle signal at a shift: vacuum in inHg, or the throttle as logged."""

    value: float
    unit: str


class ShiftAnswer(Shape):
    """One shift; `t_s` on the log's own clock and `road_speed_mph` at the start of the ratio change."""

    t_s: float
    from_: int
    to: int
    road_speed_mph: float
    throttle: ThrottleAnswer | None
    duration_s: float
    flare_rpm: float


class SlipAnswer(Shape):
    """A gear in which something behind the converter slips, per cent of the turbine's speed."""

    gear: int
    percent: float


class ColumnAnswer(Shape):
    """What was read as what; `how` is guessed, corrected or remembered."""

    name: str
    meaning: str
    unit: str
    how: str


class RoadFindingAnswer(Shape):
    """A finding the log tells: value in `unit` with its standard uncertainty, or a state."""

    finding: str
    said: str
    value: float | None
    unit: str | None
    uncertainty: float | None
    state: str | None


class RoadLogAnswer(Shape):
    """What a log tells of a drive."""

    shifts: tuple[ShiftAnswer, ...]
    slip: tuple[SlipAnswer, ...]
    columns: tuple[ColumnAnswer, ...]
    warnings: tuple[str, ...]
    findings: tuple[RoadFindingAnswer, ...] = ()
    converter_slip_percent: float | None = None
    lag_s: float = 0.0
    driven_s: float = 0.0
    picture: DrivePicture | None = Field(default=None, exclude=True, repr=False)

    def contract(self) -> dict[str, object]:
        """The four keys others build on."""
        plain = self.model_dump(mode="json", include={"shifts", "slip", "columns", "warnings"})
        for shift in plain["shifts"]:
            shift["from"] = shift.pop("from_")
        keys = ("t_s", "from", "to", "road_speed_mph", "throttle", "duration_s", "flare_rpm")
        plain["shifts"] = [{key: shift[key] for key in keys} for shift in plain["shifts"]]
        return plain
