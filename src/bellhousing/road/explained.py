"""Whether the parts on the bench explain what the car showed: one rule for readings, one for states."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Outcome = Literal["explains it", "explains part", "does not", "nothing to explain"]

HELD = 0.95
"""Share of predicted cars, the reading's own error counted, that the band of a reading holds."""

PART = 0.25
"""Least share of the way from a sound box to the reading that is part of it; common practice, no source."""


@dataclass(frozen=True)
class Explained:
    """What a reading is worth beside the parts.

    Parameters
    ----------
    outcome : "explains it", "explains part", "does not" or "nothing to explain"
    low, middle, high : what cars with these parts would have read, 95 of 100 between the ends [SI]
    sound_low, sound_middle, sound_high : the same of cars with sound parts [SI]
    share : of the way from the sound middle to the reading that the parts go, nan where there is no way [-]
    """

    outcome: Outcome
    low: float
    middle: float
    high: float
    sound_low: float
    sound_middle: float
    sound_high: float
    share: float


def explained(
    value: float, standard_uncertainty: float, parts: FloatArray, sound: FloatArray, *, seed: int = 5
) -> Explained:
    """Judge one reading against what cars with these parts, and with sound ones, would have read.

    The rule: to every predicted car the reading's own error is added. (1) A reading in the middle 95 of 100
    of both, sound and with these parts, leaves nothing to explain. (2) In that of the parts: they explain
    it. (3) Else, if the middle of the parts lies at least a quarter of the way from the sound middle to the
    reading and not beyond it, they explain part. (4) Else they do not, whether they fall short or ask for
    more than was read.

    Parameters
    ----------
    value, standard_uncertainty : of the reading [SI]
    parts, sound : predicted, (n,), the same cars in both; inf = never [SI]
    seed : of the reading's error

    Source: predictive interval; the quarter is common practice, no source.
    """
    error = standard_uncertainty * np.random.default_rng(seed).standard_normal(len(parts))
    low, middle, high = _band(parts + error)
    sound_low, sound_middle, sound_high = _band(sound + error)
    way = value - sound_middle
    gone = middle - sound_middle
    share = float(gone / way) if np.isfinite(gone) and np.isfinite(way) and way != 0.0 else float("nan")
    outcome: Outcome = "does not"
    if low <= value <= high:
        outcome = "nothing to explain" if sound_low <= value <= sound_high else "explains it"
    elif not sound_low <= value <= sound_high and PART <= share <= 1.0:
        outcome = "explains part"
    return Explained(outcome, low, middle, high, sound_low, sound_middle, sound_high, share)


def explained_state(parts: float, sound: float) -> Outcome:
    """Judge one state seen by the chance of seeing it with these parts and with sound ones.

    The rule: more likely than not with sound parts, there is nothing to explain; with these parts, they
    explain it; where they make it at least twice as likely and by a tenth more, they explain part.

    Source: common practice, no source.
    """
    if sound >= 0.5:
        return "nothing to explain" if parts >= 0.5 else "does not"
    if parts >= 0.5:
        return "explains it"
    return "explains part" if parts >= 2.0 * sound and parts - sound >= 0.1 else "does not"


def _band(values: FloatArray) -> tuple[float, float, float]:
    tail = (1.0 - HELD) / 2.0
    low, middle, high = np.quantile(values, [tail, 0.5, 1.0 - tail], method="inverted_cdf")
    return float(low), float(middle), float(high)
