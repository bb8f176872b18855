"""What the model shows of a sound car and of each physical fault alone, over all plausible cars."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.tables import StackedTables
from bellhousing.road.shown import Shown

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Singles:
    """Averages over the cars of the physical table's first rows.

    `shares` is (1 + faults, outcomes of all findings with states): the cumulative chance over that of a sound
    car, one where no physics bears. `cells` is (readings, 1 + faults, cells), the chance of each cell.
    """

    shares: FloatArray
    readings: tuple[str, ...]
    cells: FloatArray

    @classmethod
    def of(
        cls,
        shown: Shown,
        cells: Mapping[str, NDArray[np.uint8]],
        stacked: StackedTables,
        *,
        rows: int,
        count: int,
    ) -> Singles:
        """From what is shown by physical row and car; `rows` of them are single, `count` cells a reading."""
        shares = np.ones((rows, len(stacked.background)))
        for name, chances in shown.chances.items():
            cumulative = np.cumsum(chances[:rows].mean(axis=1, dtype=np.float64), axis=1)
            shares[:, stacked.spans[name]] = cumulative / np.maximum(cumulative[0], 1e-9)
        counted = [_counted(cells[name][:rows], count) for name in shown.readings]
        return cls(shares, tuple(shown.readings), np.array(counted).reshape(len(counted), rows, count))


def _counted(cells: NDArray[np.uint8], count: int) -> FloatArray:
    places = (np.arange(len(cells))[:, None] * count + cells).ravel()
    flat = np.bincount(places, minlength=len(cells) * count)
    return np.asarray(flat.reshape(len(cells), count) / cells.shape[1])
