"""Rows put into the order in which they were driven: newest first, or shuffled on their way."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.blocks import Rows
from bellhousing.road.logs.clock import BACK

FloatArray = NDArray[np.float64]

FEW = 0.01
"""Share of steps back up to which rows are not shuffled: the clock was set, or single rows came late;
judgement."""

SHUFFLED = 0.2
"""Share of long steps back from which nothing of the order is left; judgement."""


def oldest_first(pieces: Iterator[Rows]) -> Iterator[Rows]:
    """The rows of a log as they were driven, also where its newest row stands first.

    Only a log that runs backwards is kept in memory as a whole.
    """
    first = next(pieces, None)
    if first is None:
        return
    if not _falls(first.figures.get("time")):
        yield first
        yield from pieces
        return
    for rows in reversed([first, *pieces]):
        yield Rows(
            {name: array[::-1] for name, array in rows.figures.items()},
            {name: cells[::-1] for name, cells in rows.texts.items()},
            rows.wild,
        )


def _falls(stamps: FloatArray | None) -> bool:
    if stamps is None:
        return False
    steps = np.diff(stamps[np.isfinite(stamps)])
    falling = int(np.count_nonzero(steps < 0))
    return falling > 5 and falling > 10 * int(np.count_nonzero(steps > 0))


def in_order(stamps: FloatArray | None) -> NDArray[np.intp] | None:
    """Places of the rows in the order of their stamps [s], None where they stand in it.

    Between two long steps back, where the clock was set or another drive begins, rows stay together; where
    every other step is one, the whole piece was shuffled.
    """
    if stamps is None or len(stamps) < 8:
        return None
    if np.count_nonzero(stamps[1:] < stamps[:-1]) <= max(3.0, FEW * len(stamps)):
        return None
    steps = np.diff(stamps)
    cuts = np.flatnonzero(steps < -BACK) + 1
    if len(cuts) > SHUFFLED * len(stamps):
        return np.argsort(stamps, kind="stable")
    parts = np.split(np.arange(len(stamps)), cuts)
    return np.concatenate([part[np.argsort(stamps[part], kind="stable")] for part in parts])
