"""Whether tyre radius and axle ratio can be right: what no slip of a clutch explains in the highest gear.

With the foot off and the wheels driving it the engine never turns faster than the turbine, and pulling it
never turns slower, however a clutch slips. Where it does, the road speed is led to the output shaft wrongly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.gear_set import GearSet
from bellhousing.road.logs.gears import GearPath
from bellhousing.road.logs.slips import Slip
from bellhousing.road.logs.tracks import Track

FloatArray = NDArray[np.float64]

APART = 0.2
"""Time between the samples kept [s]."""

HELD, ENOUGH = 1.2, 25
"""Time for which the foot must have rested [s], and samples from which something is said; judgement."""

OFF, ON = 0.04, 0.12
"""Throttle opening up to which the foot is off, and from which it is on [-]."""

SLOWING = -0.3
"""Acceleration up to which the car is driven by its wheels, foot off [m/s2]."""

NOT_IDLING = 1.4
"""Engine speed over idle from which an engine with the foot off is driven [-]."""

MUCH = 0.1
"""Share of slip of the highest gear from which nothing is said of the tyre [-]; judgement."""

TOO_FAR = 0.01
"""How far beyond 1 the speeds of engine and turbine must stand before it is said [-]."""


@dataclass
class TyreCheck:
    """Gathers engine over turbine speed in the highest gear, driven by the wheels and pulling."""

    gears: GearSet
    _driven: list[FloatArray] = field(default_factory=list)
    _pulling: list[FloatArray] = field(default_factory=list)

    def take(self, track: Track, path: GearPath, wanted: slice) -> None:
        """Add a part of one stretch."""
        if not len(track.load) or track.step > APART:
            return
        every = max(1, round(APART / track.step))
        rows = np.arange(wanted.start, wanted.stop, every)
        top = path.gear[rows] == len(path.ratios) - 1
        top &= (path.speed[rows] > 6.0) & (track.engine[rows] > NOT_IDLING * path.idle)
        load, gain = track.load[rows], path.gain[rows]
        turns = track.engine[rows] / np.maximum(path.ratios[-1] * path.output[rows], 1.0)
        self._driven.append(turns[_rested(top & (load < OFF) & (gain < SLOWING))])
        self._pulling.append(turns[_rested(top & (load > ON) & (np.abs(gain) < 0.5))])

    def warning(self, slips: Sequence[Slip]) -> str | None:
        """What is wrong with the radius or the axle ratio given, and which would fit; None if nothing is.

        Where the highest gear alone slips much, what is read of it tells nothing of the tyre.
        """
        top = len(self.gears.ratios)
        if [slip.gear for slip in slips] == [top] and slips[0].share > MUCH:
            return None
        driven = np.concatenate(self._driven) if self._driven else np.empty(0)
        pulling = np.concatenate(self._pulling) if self._pulling else np.empty(0)
        if min(len(driven), len(pulling)) < ENOUGH:
            return None
        low, high = float(np.median(driven)), float(np.median(pulling))
        if low <= 1.0 + TOO_FAR and high >= 1.0 - TOO_FAR:
            return None
        # Between driven and pulling, where neither gives anything, both turn alike.
        right = float(np.sqrt(low * high))
        what = "faster than the wheels drive it, foot off" if right > 1.0 else "slower than what it pulls"
        radius, axle = self.gears.tyre_radius / right, self.gears.axle_ratio * right
        return (
            f"in the highest gear the engine turns {what}: no slip does that, the tyre radius or axle ratio "
            f"given is wrong; {radius:.3f} m, or an axle of {axle:.2f}, would fit this log to some hundredths"
        )


def _rested(there: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Samples at which it has been so for long enough."""
    place = np.arange(len(there))
    last = np.maximum.accumulate(np.where(there, -1, place)) if len(there) else place
    return np.asarray(place - last > HELD / APART)
