"""Many short stretches of one series side by side, each a row of a table as wide as the longest."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True)
class Windows:
    """Stretches of a series: `rows`, the samples of each (n, longest), and which of them lie `inside` it."""

    rows: IntArray
    inside: BoolArray

    def of(self, values: FloatArray) -> FloatArray:
        """A series in the stretches."""
        return np.asarray(values[self.rows])


def windows(begin: IntArray, end: IntArray) -> Windows:
    """The stretches from each `begin` up to each `end`; cells beyond an end repeat its last sample."""
    length = np.maximum(end - begin, 1)
    place = np.arange(int(length.max(initial=1)))
    return Windows(begin[:, None] + np.minimum(place, length[:, None] - 1), place < (end - begin)[:, None])


class Sums:
    """Means of a series over many stretches, by its running sum."""

    def __init__(self, values: FloatArray) -> None:
        self._total = np.concatenate([[0.0], np.cumsum(values, dtype=np.float64)])

    def means(self, begin: IntArray, end: IntArray) -> FloatArray:
        """Mean from each `begin` up to each `end`, cut at the end of the series."""
        end = np.minimum(end, len(self._total) - 1)
        return np.asarray((self._total[end] - self._total[begin]) / np.maximum(end - begin, 1))


def mean_where(values: FloatArray | BoolArray, mask: BoolArray) -> FloatArray:
    """Mean of the chosen cells of each row; 0 where none is."""
    return np.asarray(np.where(mask, values, 0.0).sum(axis=1) / np.maximum(mask.sum(axis=1), 1))


def deviation_where(values: FloatArray, mask: BoolArray) -> FloatArray:
    """Standard deviation of the chosen cells of each row about their mean."""
    apart = np.where(mask, values - mean_where(values, mask)[:, None], 0.0)
    return np.asarray(np.sqrt((apart**2).sum(axis=1) / np.maximum(mask.sum(axis=1), 1)))


def median_where(values: FloatArray, mask: BoolArray) -> FloatArray:
    """Median of the chosen cells of each row; 0 where none is."""
    ordered = np.sort(np.where(mask, values, np.inf), axis=1)
    count, every = mask.sum(axis=1), np.arange(len(values))
    middle = 0.5 * (ordered[every, np.maximum(count - 1, 0) // 2]
                    + ordered[every, np.minimum(count // 2, values.shape[1] - 1)])  # fmt: skip
    return np.where(count > 0, middle, 0.0)


def last_rise(time: FloatArray, share: FloatArray, level: float, before: FloatArray) -> FloatArray:
    """When each row last rises through a level before a moment; NaN where it never does."""
    rises = (share[:, 1:] >= level) & (share[:, :-1] < level) & (time[:, :-1] < before[:, None])
    place = rises.shape[1] - 1 - np.argmax(rises[:, ::-1], axis=1)
    every = np.arange(len(time))
    low, high = share[every, place], share[every, place + 1]
    part = (level - low) / np.where(high > low, high - low, 1.0)
    moment = time[every, place] + part * (time[every, place + 1] - time[every, place])
    return np.where(rises.any(axis=1), moment, np.nan)


def at_moments(begin: FloatArray, step: float, values: FloatArray, moments: FloatArray) -> FloatArray:
    """Each row, sampled at `step` from its `begin`, at one moment; its ends go on level beyond it."""
    place = np.clip((moments - begin) / step, 0.0, values.shape[1] - 1.0)
    low = np.minimum(place.astype(np.intp), values.shape[1] - 2)
    every = np.arange(len(values))
    part = place - low
    return np.asarray((1.0 - part) * values[every, low] + part * values[every, low + 1])
