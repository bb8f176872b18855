"""What a test would tell of faults that nothing found so far touches: each is there or not, by itself."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.prepare import Prepared

FloatArray = NDArray[np.float64]

WORTH_SEEKING = 0.005
"""Faults less likely than this are not looked for."""


def information_about_alone(
    prepared: Prepared, alone: FloatArray, cumulative: FloatArray
) -> dict[str, float]:
    """Sum over independent faults of I(test; fault) [bit], by test.

    `alone` is (faults,), the chance of each fault that is independent of all others; `cumulative` (outcomes
    of all findings with states,) the mean cumulative chances with these faults in them. What the faults tell
    together is a little less than the sum, as two of them can hide each other.
    """
    sought = np.flatnonzero(alone >= WORTH_SEEKING)
    if not len(sought):
        return {}
    singles = prepared.singles
    chance, physical = alone[sought], prepared.sets.is_physical[sought]
    rows = 1 + np.searchsorted(np.array(prepared.sets.physical), sought[physical])
    brought = prepared.stacked.padded[sought]
    gone = cumulative / (1.0 - chance[:, None] * (1.0 - brought))
    there = gone * brought
    there[physical] *= singles.shares[rows]
    starts = np.array([span.start for span in prepared.stacked.spans.values()])
    bits = _information(chance[:, None], _each(there, starts), _each(gone, starts))
    states = np.add.reduceat(bits.sum(axis=0), starts)
    told = dict(zip(prepared.stacked.spans, states.tolist(), strict=True))
    if len(rows):
        cells = _information(chance[physical][:, None], singles.cells[:, rows], singles.cells[:, :1])
        told |= dict(zip(singles.readings, cells.sum(axis=(1, 2)).tolist(), strict=True))
    return {name: max(0.0, value) for name, value in told.items()}


def _each(cumulative: FloatArray, starts: NDArray[np.intp]) -> FloatArray:
    chances = np.diff(cumulative, axis=1, prepend=0.0)
    chances[:, starts] = cumulative[:, starts]
    return np.asarray(np.maximum(chances, 0.0))


def _information(chance: FloatArray, there: FloatArray, gone: FloatArray) -> FloatArray:
    """Each outcome's part in the mutual information of a test with a fault; summed it is the information."""
    mean = chance * there + (1.0 - chance) * gone
    return np.asarray(chance * _p_log_p(there) + (1.0 - chance) * _p_log_p(gone) - _p_log_p(mean))


def _p_log_p(chances: FloatArray) -> FloatArray:
    return np.asarray(chances * np.log2(np.where(chances > 0.0, chances, 1.0)))
