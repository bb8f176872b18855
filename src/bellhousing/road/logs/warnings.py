"""What a reader of a log should know: what was assumed, mended or cannot be told."""

from __future__ import annotations

from collections.abc import Sequence

from bellhousing.road.logs.clock import ClockRepair
from bellhousing.road.logs.coasting import Coasting
from bellhousing.road.logs.columns import Column, Correction
from bellhousing.road.logs.shifts import Shift
from bellhousing.road.logs.tracks import Cleaned

COARSE = 0.3
"""Time between rows from which the length of a shift is not told [s]."""


def about_columns(columns: Sequence[Column]) -> list[str]:
    """Units that were guessed, and what is missing."""
    said = [
        f"no unit is written for '{column.name}' ({column.meaning}): read in {column.unit.name}"
        for column in columns
        if column.unit_from == "figures" and column.meaning not in ("lever", "time") and column.unit.name
    ]
    if not {column.meaning for column in columns} & {"vacuum", "manifold-pressure", "throttle"}:
        said.append(
            "nothing in this log tells the throttle: shifts are found, but not set against a throttle"
        )
    return said


def about_none(columns: Sequence[Column], remembered: Sequence[Correction]) -> list[str]:
    """What no column was taken for only because it was said so of an earlier log."""
    there = {column.meaning for column in columns}
    return [
        f"no column is taken for {said.meaning.replace('-', ' ')}, as was said of an earlier log with this "
        f"head: {said.meaning}=COLUMN takes it back"
        for said in remembered
        if said.meaning not in there
    ]


def about_clock(clock: ClockRepair, step: float) -> list[str]:
    """What was met in the clock."""
    said = []
    if clock.clockless:
        said.append(f"this log has no clock: rows are taken to be {step:g} s apart")
    if clock.coarse:
        said.append("several rows share one stamp: they are spread evenly up to the next")
    if clock.jumps:
        said.append(f"the clock was set {clock.jumps} time(s) while the car went on: time was joined there")
    if clock.repeated:
        said.append(f"{clock.repeated} row(s) written twice were left out")
    if clock.moved:
        said.append(f"{clock.moved} row(s) stood out of order in time: they were put in order")
    if clock.stepped_back:
        said.append(f"{clock.stepped_back} row(s) out of order in time were left out")
    if clock.unread:
        said.append(f"{clock.unread} row(s) without a readable time were left out")
    return said


def about_coasting(coasting: Coasting, gears: int) -> list[str]:
    """Which changes down at idle could be read and which could not."""
    if not coasting.coasts:
        return []
    said = []
    told = {change.before for change in coasting.usual}
    unread = [f"{before}-{before - 1}" for before in range(gears, 1, -1) if before not in told]
    if unread:
        said.append(
            f"a change down at idle leaves no mark in these columns: {' and '.join(unread)} coasting "
            f"not read ({coasting.coasts} coast(s) down)"
        )
    for change in coasting.usual:
        alone = sum(shift.before == change.before for shift in coasting.shifts)
        said.append(
            f"{change.before}-{change.before - 1} coasting is told by a small rise of the idle, over "
            f"{change.coasts} coasts together and in {alone} by itself"
        )
    return said


def about_drive(
    cleaned: Cleaned, lag: float, shifts: Sequence[Shift], step: float, seconds: float
) -> list[str]:
    """What was mended in the drive, and what it cannot tell."""
    said = []
    if cleaned.wild:
        said.append(f"{cleaned.wild} figure(s) that no logger can mean were left out")
    if cleaned.spikes:
        said.append(f"{cleaned.spikes} spike(s) no car can make were left out")
    said += [
        f"the {meaning.replace('-', ' ')} stood for {seconds:.0f} s while the car went on: left out there"
        for meaning, seconds in sorted(cleaned.frozen.items())
    ]
    if cleaned.holes:
        said.append(f"the log has {cleaned.holes} gap(s): what happened there is not known")
    said += [
        f"the {meaning.replace('-', ' ')} is written again until it is new: only fresh values were taken"
        for meaning in sorted(cleaned.held)
    ]
    if lag:
        said.append(f"the road speed came {lag:.1f} s late against the engine speed: this was taken out")
    if step > COARSE:
        said.append(f"rows are {step:.2g} s apart: how long a shift takes is only told to that")
    if not shifts:
        said.append("no shift was found in this log" + ("" if seconds > 20 else ", which is very short"))
    return said
