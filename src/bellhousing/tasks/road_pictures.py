"""The picture of a drive, from what was read of its log."""

from __future__ import annotations

import numpy as np

from bellhousing.quantities.units import to_si
from bellhousing.reports.drive_chart import DrivePicture, DriveShift, gear_stretches
from bellhousing.road.logs.read import DriveReading
from bellhousing.road.logs.trace import thinned
from bellhousing.road.logs.units import RPM
from bellhousing.tasks.road_shapes import RoadLogAnswer, ShiftAnswer

PIXELS = 1_000
"""Pieces of time whose extremes are kept for the picture: more than any picture is wide."""


def picture_of(reading: DriveReading, answer: RoadLogAnswer) -> DrivePicture:
    """What the chart shows of a reading, thinned."""
    trace = reading.trace
    band = gear_stretches(trace.time, trace.gear, trace.stretch)
    few = thinned(trace, PIXELS)
    return DrivePicture(
        time=_plain(few.time, 3),
        speed=_plain(few.speed, 3),
        engine=_plain(few.engine / RPM, 1),
        stretch=tuple(int(number) for number in few.stretch),
        gears=band,
        shifts=tuple(
            _shift(told, round(read.time, 3))
            for told, read in zip(answer.shifts, reading.shifts, strict=True)
        ),
        slipping=tuple((slip.gear, slip.percent) for slip in answer.slip),
    )


def _plain(values: np.ndarray[tuple[int], np.dtype[np.float64]], digits: int) -> tuple[float, ...]:
    return tuple(np.round(values, digits).tolist())


def _shift(told: ShiftAnswer, time: float) -> DriveShift:
    throttle = "" if told.throttle is None else f"{told.throttle.value:g} {told.throttle.unit}".strip()
    return DriveShift(
        time=time,
        clock=told.t_s,
        before=told.from_,
        after=told.to,
        speed=float(to_si(told.road_speed_mph, "mph")),
        throttle=throttle,
        duration=told.duration_s,
        flare=told.flare_rpm,
    )
