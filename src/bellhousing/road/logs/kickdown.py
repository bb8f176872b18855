"""Whether the pedal on its stop brings the lower gear, where the throttle itself is logged."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellhousing.road.logs.gears import GearPath
from bellhousing.road.logs.tracks import Track

MPH = 0.44704
FLOOR, BEFORE = 0.93, 0.75
"""Throttle opening on the stop, and below which it was a second earlier [-]; common practice, no source."""

FROM, TO = 40.0 * MPH, 60.0 * MPH
"""Road speeds at which it is asked [m/s]; common practice, no source."""

HELD = 2.0
"""Time the pedal must stay down before it is said that nothing came [s]."""


@dataclass(frozen=True)
class Floored:
    """The pedal went to its stop in top: `time` [s], `speed` [m/s], `delay` to the lower gear [s] or None."""

    time: float
    speed: float
    delay: float | None


def floored(track: Track, path: GearPath) -> tuple[Floored, ...]:
    """Every time the pedal went down in top between 40 and 60 mph and stayed there or was answered."""
    if not len(track.load):
        return ()
    step, top = track.step, len(path.ratios) - 1
    down = track.load > FLOOR
    earlier = max(1, round(1.0 / step))
    found = []
    for place in (int(row) + 1 for row in np.flatnonzero(down[1:] & ~down[:-1])):
        before = max(0, place - earlier)
        if track.load[before] > BEFORE or path.gear[before] != top or not FROM < path.speed[place] < TO:
            continue
        up = np.flatnonzero(~down[place:])
        held = step * float(up[0] if len(up) else len(track) - place)
        changes = [
            track.time[change.edge.begin] - track.time[place]
            for change in path.changes
            if change.before == top and change.after < top and before <= change.edge.begin
        ]
        delay = next((max(0.0, float(after)) for after in changes if after < min(held, 3.0) + 0.5), None)
        if delay is not None or held >= HELD:
            found.append(Floored(float(track.time[place]), float(path.speed[place]), delay))
    return tuple(found)
