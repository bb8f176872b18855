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
    if len(track.load):
        opening = np.repeat(track.load[:, None], pulls.shape[1], axis=1)
    else:
        asked = np.maximum(gain + 0.2 + 3e-4 * speed**2, 0.0)
        opening = np.clip(asked[:, None] / gears.array[None, :] / 2.0, 0.0, 1.0)
    loaded = told & (opening[:, 0] > CLOSED if len(track.load) else gain > 0.2)
    if np.count_nonzero(loaded) * track.step < ENOUGH:
        return None
    rows = np.flatnonzero(loaded)
    place = np.minimum((opening * BINS).astype(np.intp), BINS - 1)
    usual = np.full(BINS, np.nan)
    for bin_ in range(BINS):
        there = rows[place[rows, gear[rows]] == bin_]
        if len(there) * track.step > 1.0:
            usual[bin_] = np.median(pulls[there, gear[there]])
    known = np.flatnonzero(np.isfinite(usual))
    if len(known) < 2:
        return None
    middles = (known + 0.5) / BINS
    expected = np.interp(opening, middles, usual[known])
    cost = np.minimum((pulls - expected) ** 2 / (2.0 * SPREAD**2), MOST)
    return np.asarray(np.where(loaded[:, None], cost, 0.0))
