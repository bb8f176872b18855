"""How hard the engine usually pulls at a throttle opening, learnt from a first reading of the gears.

In a wrong gear the pull does not follow the foot as it does in the rest of the drive. Where nothing tells the
throttle, what the car gains and its drag ask of the engine in each gear stands for it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.gear_set import GearSet
from bellhousing.road.logs.tracks import Track
from bellhousing.road.logs.units import RPM

FloatArray = NDArray[np.float64]

CLOSED = 0.10
"""Throttle opening below which the foot is off [-]."""

BINS = 16
ENOUGH = 15.0
"""Time under load from which something is learnt [s]."""

SPREAD = 250 * RPM
"""Scatter of the pull at one opening [rad/s]; judgement."""

MOST = 1.5
"""Highest cost of an unusual pull [1/s]."""


def unusual_pull(
    track: Track,
    gears: GearSet,
    gear: NDArray[np.intp],
    pulls: FloatArray,
    gain: FloatArray,
    speed: FloatArray,
    told: NDArray[np.bool_],
) -> FloatArray | None:
    """Cost of each gear at each sample for a pull that is unusual at its opening [1/s]; None if too little
    is known."""
    opening = _opening(track, gears, gain, speed)
    loaded = told & (opening[:, 0] > CLOSED if len(track.load) else gain > 0.2)
    if np.count_nonzero(loaded) * track.step < ENOUGH:
        return None
    rows = np.flatnonzero(loaded)
    own = gear[rows]
    place = np.minimum((opening[rows, own % opening.shape[1]] * BINS).astype(np.int8), BINS - 1)
    order = np.argsort(place, kind="stable")
    counts = np.bincount(place, minlength=BINS)
    pulled = np.split(pulls[rows, own][order], np.cumsum(counts)[:-1])
    usual = np.full(BINS, np.nan)
    for bin_, there in enumerate(pulled):
        if len(there) * track.step > 1.0:
            usual[bin_] = np.median(there)
    known = np.flatnonzero(np.isfinite(usual))
    if len(known) < 2:
        return None
    middles = (known + 0.5) / BINS
    expected = np.interp(opening, middles, usual[known])
    spread = SPREAD * gears.factors
    return np.asarray(np.minimum((pulls - expected) ** 2 / (2.0 * spread**2), MOST) * loaded[:, None])


def _opening(track: Track, gears: GearSet, gain: FloatArray, speed: FloatArray) -> FloatArray:
    """How far the throttle is open, one column if it is logged, else one a gear [-]."""
    if len(track.load):
        return track.load[:, None]
    asked = np.maximum(gain + 0.2 + 3e-4 * speed**2, 0.0)
    return np.clip(asked / gears.array[:, None] / 2.0, 0.0, 1.0).T
