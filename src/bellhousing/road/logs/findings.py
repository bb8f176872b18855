"""What a drive's reading says in the findings of a diagnosis, each with its uncertainty."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from bellhousing.road.logs.read import DriveReading
from bellhousing.road.logs.shifts import Shift
from bellhousing.road.logs.units import RPM

MPH = 0.44704
INHG = 3386.389

ORDINALS = ("first", "second", "third", "fourth")

VACUUM_BANDS: Mapping[str, tuple[float, float, float]] = {
    "light": (13.5, 18.0, 15.5),
    "medium": (7.5, 11.5, 9.5),
    "full": (0.0, 2.0, 0.5),
}
"""Manifold vacuum from, to and in the middle by which the trade names the throttle [inHg]: practice."""

OPENING_BANDS: Mapping[str, tuple[float, float]] = {
    "light": (0.02, 0.25), "medium": (0.40, 0.60), "full": (0.93, 1.01),
}  # fmt: skip
"""The same by opening where no vacuum is logged [-]; common practice, no source."""

PER_INHG = {"1-2": 1.5, "2-3": 4.0, "3-4": 5.0}
"""How much earlier a shift comes for each inch of vacuum [mph]; common practice, no source."""

OPENING_DOUBT = {"light": 1.5, "medium": 3.0, "full": 1.0}
"""What naming the throttle by its opening leaves open [mph]; judgement, no source."""

SLOW_SHIFT, QUICK_SHIFT, FLARE = 1.0, 0.25, 100 * RPM
SCATTER = 3.0 * MPH
PULLED_ENOUGH = 3.0
PROMPT = 1.0
"""Time within which the lower gear comes when the pedal goes to its stop [s]; the trade's figure."""

HUNTING_SPAN, HUNTING_CHANGES = 20.0, 4


@dataclass(frozen=True)
class RoadFinding:
    """One finding told by a log: a value with its standard uncertainty [SI], or a state; `said` in words."""

    finding: str
    said: str
    value: float | None = None
    standard_uncertainty: float | None = None
    state: str | None = None


def road_findings(reading: DriveReading) -> tuple[RoadFinding, ...]:
    """Everything a drive tells that a diagnosis asks."""
    found: list[RoadFinding] = []
    found += _upshifts(reading)
    found += _coast_downs(reading)
    found += _feel(reading)
    found += _slip(reading)
    found += _hunting(reading)
    found += _kickdown(reading)
    for into, name in (("drive", "engagement-drive-hot"), ("reverse", "engagement-reverse-hot")):
        delays = [one.delay for one in reading.engagements if one.into == into]
        if delays:
            spread = float(np.hypot(reading.step / 2, np.std(delays) / np.sqrt(len(delays))))
            middle = float(np.median(delays))
            found.append(RoadFinding(name, f"{into} takes up {middle:.1f} s after the lever", middle, spread))
    return tuple(found)


def throttle_band(shift: Shift, *, vacuum: bool) -> str | None:
    """Light, medium or full as the trade names it; None between them or where nothing tells."""
    if vacuum and shift.signal is not None:
        inches = shift.signal / INHG
        return next((name for name, (low, high, _) in VACUUM_BANDS.items() if low <= inches <= high), None)
    if shift.load is None:
        return None
    opening = shift.load
    return next((name for name, (low, high) in OPENING_BANDS.items() if low <= opening <= high), None)


def has_vacuum(reading: DriveReading) -> bool:
    """Whether the throttle signal of the shifts is a vacuum."""
    return bool({column.meaning for column in reading.columns} & {"vacuum", "manifold-pressure"})


def _upshifts(reading: DriveReading) -> list[RoadFinding]:
    vacuum = has_vacuum(reading)
    found = []
    scattered: list[bool] = []
    for before in range(1, reading.gears):
        name = f"{before}-{before + 1}"
        for band, doubt in OPENING_DOUBT.items():
            every: list[Shift] = []
            shifts = [
                shift
                for shift in reading.shifts
                if (shift.before, shift.after) == (before, before + 1)
                and throttle_band(shift, vacuum=vacuum) == band
            ]
            if not shifts:
                continue
            if vacuum:
                every, shifts = shifts, _nearest(shifts, VACUUM_BANDS[band][2])
                off = [abs((shift.signal or 0.0) / INHG - VACUUM_BANDS[band][2]) for shift in shifts]
                doubt = PER_INHG.get(name, 4.0) * float(np.mean(off)) / np.sqrt(3.0)
            speeds = np.array([shift.speed for shift in shifts])
            spread = float(np.std(speeds, ddof=1)) if len(speeds) > 1 else 0.0
            own = float(np.mean([shift.spread for shift in shifts]))
            sure = float(np.sqrt(own**2 + spread**2 / len(speeds) + (doubt * MPH) ** 2))
            middle = float(np.median(speeds))
            said = f"{name} at {middle / MPH:.1f} mph, {band} throttle ({len(shifts)} of the log)"
            found.append(
                RoadFinding(f"upshift-{before}{before + 1}-{band}", said, middle, max(sure, 0.2 * MPH))
            )
            if vacuum and len(every) > 2:
                even = _less_vacuum(every, PER_INHG.get(name, 4.0))
                scattered.append(bool(np.ptp(even) > SCATTER))
    if scattered:
        state = "scatter" if any(scattered) else "same"
        found.append(RoadFinding("shift-speeds-scatter", f"shift speeds over the log: {state}", state=state))
    return found


def _nearest(shifts: Sequence[Shift], inches: float) -> list[Shift]:
    """The shifts whose vacuum comes nearest to one, to half an inch."""
    off = [abs((shift.signal or 0.0) / INHG - inches) for shift in shifts]
    return [shift for shift, away in zip(shifts, off, strict=True) if away <= min(off) + 0.5]


def _less_vacuum(shifts: Sequence[Shift], per_inch: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Shift speeds brought to one vacuum [m/s]."""
    inches = np.array([(shift.signal or 0.0) / INHG for shift in shifts])
    speeds = np.array([shift.speed for shift in shifts])
    return np.asarray(speeds + per_inch * MPH * (inches - inches.mean()))


def _coast_downs(reading: DriveReading) -> list[RoadFinding]:
    found = []
    usual = {change.before: change for change in reading.coasting.usual}
    for before in range(reading.gears, 1, -1):
        if before in usual:
            change = usual[before]
            said = f"{before}-{before - 1} coasting at {change.speed / MPH:.1f} mph"
            said += f" by the idle of {change.coasts} coasts"
            sure = float(np.hypot(change.spread, 1.0 * MPH))
            found.append(RoadFinding(f"coast-down-{before}{before - 1}", said, change.speed, sure))
            continue
        shifts = [
            shift
            for shift in reading.shifts
            if (shift.before, shift.after) == (before, before - 1)
            and shift.gain < 0.2
            and not shift.pulled
            and (shift.load is None or shift.load < 0.1)
        ]
        if shifts:
            speeds = np.array([shift.speed for shift in shifts])
            middle = float(np.median(speeds))
            sure = float(np.hypot(np.mean([shift.spread for shift in shifts]), 1.0 * MPH))
            said = f"{before}-{before - 1} coasting at {middle / MPH:.1f} mph"
            found.append(RoadFinding(f"coast-down-{before}{before - 1}", said, middle, sure))
    return found


def _feel(reading: DriveReading) -> list[RoadFinding]:
    if reading.step > 0.15:
        return []
    found = []
    for before in range(1, reading.gears):
        shifts = [shift for shift in reading.shifts if (shift.before, shift.after) == (before, before + 1)]
        if not shifts:
            continue
        length = float(np.median([shift.duration for shift in shifts]))
        flare = float(np.median([shift.flare for shift in shifts]))
        if length > SLOW_SHIFT or flare > FLARE:
            state = "slides-or-flares"
        elif length < QUICK_SHIFT:
            continue  # quick alone is not harsh: that is felt
        else:
            state = "clean"
        said = f"{before}-{before + 1} takes {length:.1f} s, flares {flare / RPM:.0f} rpm"
        found.append(RoadFinding(f"shift-feel-{before}{before + 1}", said, state=state))
    return found


def _slip(reading: DriveReading) -> list[RoadFinding]:
    slipping = {slip.gear: slip for slip in reading.slips}
    found = []
    for gear in range(1, reading.gears + 1):
        name = f"slip-{ORDINALS[gear - 1]}"
        if gear in slipping:
            share = 100 * slipping[gear].share
            found.append(RoadFinding(name, f"{ORDINALS[gear - 1]} slips {share:.0f} %", state="slips"))
        elif reading.pulled.get(gear, 0.0) >= PULLED_ENOUGH:
            found.append(RoadFinding(name, f"no slip in {ORDINALS[gear - 1]}", state="none"))
    return found


def _hunting(reading: DriveReading) -> list[RoadFinding]:
    top = reading.gears
    changes = [shift for shift in reading.shifts if {shift.before, shift.after} == {top, top - 1}]
    for place in range(len(changes) - HUNTING_CHANGES + 1):
        some = changes[place : place + HUNTING_CHANGES]
        steady = (
            all(shift.load is None for shift in some) or np.ptp([shift.load or 0.0 for shift in some]) < 0.2
        )
        if some[-1].time - some[0].time < HUNTING_SPAN and steady:
            said = f"changes {top}-{top - 1}-{top} again and again from {some[0].clock:.0f} s"
            return [RoadFinding("hunting", said, state="hunts")]
    return []


def _kickdown(reading: DriveReading) -> list[RoadFinding]:
    """The middle answer of all times the pedal went to its stop in top."""
    if not reading.floored:
        return []
    delays = sorted(np.inf if one.delay is None else one.delay for one in reading.floored)
    middle = delays[len(delays) // 2]
    state = "none" if np.isinf(middle) else "works" if middle <= PROMPT else "late"
    speed = reading.floored[0].speed / MPH
    return [RoadFinding("kickdown", f"pedal to the floor at {speed:.0f} mph: {state}", state=state)]
