"""How long it takes from the lever to the engine feeling the load, where the lever is logged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bellhousing.road.logs.shifts import Shift
from bellhousing.road.logs.tracks import Track
from bellhousing.road.logs.units import RPM

PARK, REVERSE, NEUTRAL, DRIVE = 0.0, 1.0, 2.0, 3.0
LEAST_FALL = 25 * RPM
"""Fall of the idle by which an engagement shows [rad/s]."""


@dataclass(frozen=True)
class Engagement:
    """The lever moved at `time` [s] into "drive" or "reverse", and the engine felt it `delay` later [s]."""

    time: float
    clock: float
    into: str
    delay: float


def driving_on(track: Track, shifts: Sequence[Shift]) -> list[Shift]:
    """The shifts at which the lever stands in no park, reverse or neutral."""
    rows = np.searchsorted(track.time, [shift.time for shift in shifts])
    lever = np.rint(track.lever[np.clip(rows, 0, len(track) - 1)])
    off = np.isin(lever, (PARK, REVERSE, NEUTRAL))
    return [shift for shift, out in zip(shifts, off, strict=True) if not out]


def engagements(track: Track) -> tuple[Engagement, ...]:
    """Every engagement of the standing car that the idle shows: until nine tenths of its fall."""
    if not len(track.lever):
        return ()
    lever = np.rint(track.lever)
    found = []
    for place in np.flatnonzero(np.diff(lever) != 0) + 1:
        into = {DRIVE: "drive", REVERSE: "reverse"}.get(float(lever[place]))
        if into is None or lever[place - 1] not in (NEUTRAL, PARK) or track.speed[place] > 0.5:
            continue
        before = slice(max(0, place - round(1.0 / track.step)), place)
        after = slice(place, min(len(track), place + round(5.0 / track.step)))
        level = float(np.median(track.engine[before]))
        settled = float(np.median(track.engine[after][-max(3, len(track.engine[after]) // 3) :]))
        if level - settled < LEAST_FALL or np.any(track.speed[after] > 1.0):
            continue
        low = np.flatnonzero(track.engine[after] <= level - 0.9 * (level - settled))
        if len(low):
            delay = float(track.time[place + low[0]] - track.time[place - 1] - track.step / 2)
            found.append(Engagement(float(track.time[place]), float(track.clock[place]), into, delay))
    return tuple(found)
