"""What the car gains for what its engine gives, learnt from a first reading of the gears.

The converter takes engine torque with the square of the pull, multiplies it while its turbine is slow, and
the gear multiplies it again; how heavy the car is for its converter is one number of the whole drive. In a
wrong gear the car gains too much or too little for its engine's speed, whatever the foot does.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.gear_set import GearSet
from bellhousing.road.logs.tracks import Track

FloatArray = NDArray[np.float64]

ENOUGH = 6.0
"""Time under power from which the number is learnt [s]."""

LEAST_GAIN = 0.5
"""Acceleration from which the car counts as under power [m/s2]."""

ROLLING, DRAG = 0.15, 3e-4
"""Deceleration of a rolling car [m/s2] and what the air adds [1/m]; common practice, no source."""

COUPLED = 0.88
"""Speed ratio from which a converter no longer multiplies [-]; common practice, no source."""

SPREAD, SPREAD_PER_GAIN = 0.35, 0.10
"""Scatter of the gain from hills and wind [m/s2] and from the converter's law [-]; judgement."""

MOST = 2.5
"""Highest cost of an unusual gain [1/s]."""


def given(gears: GearSet, engine: FloatArray, output: FloatArray, pulls: FloatArray) -> FloatArray:
    """Torque at the output shaft in each gear, by the square of the pull [rad2/s2]."""
    at = np.clip(gears.array[:, None] * (output / np.maximum(engine, 1.0)), 0.0, 1.0)
    multiplied = np.maximum(gears.multiplies - (gears.multiplies - 1.0) * at / COUPLED, 1.0)
    return np.asarray(gears.array[:, None] * multiplied * np.maximum(pulls.T, 0.0) ** 2).T


def unusual_gain(
    track: Track,
    gears: GearSet,
    gear: NDArray[np.intp],
    pulls: FloatArray,
    gain: FloatArray,
    speed: FloatArray,
    output: FloatArray,
    told: NDArray[np.bool_],
) -> FloatArray | None:
    """Cost of each gear at each sample for a gain that its engine does not explain [1/s]; None if too little
    is known."""
    under = told & (gain > LEAST_GAIN)
    rows = np.flatnonzero(under)
    if len(rows) * track.step < ENOUGH:
        return None
    gives = given(gears, track.engine[rows], output[rows], pulls.T[:, rows].T)
    asked = gain[rows] + ROLLING + DRAG * speed[rows] ** 2
    own = gives[np.arange(len(rows)), gear[rows]]
    each = asked[own > 0] / own[own > 0]
    if not len(each):
        return None
    expected = float(np.median(each)) * gives
    spread = SPREAD + SPREAD_PER_GAIN * expected
    cost = np.zeros((gives.shape[1], len(gain)))
    cost[:, rows] = np.minimum((expected - asked[:, None]) ** 2 / (2.0 * spread**2), MOST).T
    return cost.T
