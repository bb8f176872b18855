"""The error an instrument carries into all of its readings: one draw per plausible car and instrument."""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.evidence import Evidence

FloatArray = NDArray[np.float64]


@lru_cache(maxsize=256)
def drawn_bias(instrument: str, seed: int, count: int) -> FloatArray:
    """Bias of an instrument on each of `count` plausible cars, in standard deviations, (count,).

    The middles of `count` equally likely slices of a normal spread, in an order of the instrument's own:
    stratified sampling (McKay, Beckman and Conover, A comparison of three methods for selecting values of
    input variables, Technometrics 21, 1979), so that the mean over cars is exactly zero.
    """
    normal = NormalDist()
    slices = np.array([normal.inv_cdf((k + 0.5) / count) for k in range(count)])
    drawn = np.random.default_rng([seed, zlib.crc32(instrument.encode())]).permutation(slices)
    drawn.setflags(write=False)
    return drawn


def shared_shift(evidence: Evidence, seed: int, count: int) -> FloatArray:
    """What the instruments of a reading add to it on each car, in standard deviations of one, (count,)."""
    total = np.zeros(count)
    for instrument, weight in evidence.instruments:
        total += weight * drawn_bias(instrument, seed, count)
    return total


def bias_share(evidence: Evidence) -> float:
    """Standard deviation of the instruments' part of a reading, in that of one: sqrt(sum of weights^2).

    A reading whose instrument is not known has one of its own.
    """
    if not evidence.instruments:
        return 1.0
    return float(np.sqrt(sum(weight**2 for _, weight in evidence.instruments)))


def sharing(evidence: Sequence[Evidence]) -> list[Evidence]:
    """The evidence with instruments named only where another reading was taken with one of them.

    What no other reading shares is added to the reading's own error exactly and needs no draws.
    """
    used: dict[str, int] = {}
    for entry in evidence:
        for instrument, _ in entry.instruments:
            used[instrument] = used.get(instrument, 0) + 1
    return [
        entry
        if any(used[instrument] > 1 for instrument, _ in entry.instruments) or len(entry.instruments) != 1
        else replace(entry, instruments=())
        for entry in evidence
    ]
