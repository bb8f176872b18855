"""What happens if nothing is done for now: whether the car may be driven, and what waiting may cost."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.catalogue import parsed
from bellhousing.diagnosis.fault_sets import holding, summed
from bellhousing.errors import CatalogueError

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

DRIVE = ("yes", "gently", "no")
"""Whether a car may be driven meanwhile, best first."""

MONTH = 30.4
"""Days of a month [d]."""

SEASON = 6.0
"""Months of a season."""

TOLERATED = 0.1
"""Chance of its getting worse at which a car is looked at again: common practice."""

UNSEEN = 1e-6
"""Belief on a set of faults below which it is not looked at."""

ALIKE = 12
"""Decimals of the monthly rate (natural log) to which sets of faults worsen alike."""

SOONEST, LATEST = 7, 182
"""A re-check lies so many days ahead, at least and at most [d]."""


@dataclass(frozen=True)
class Waiting:
    """What waiting does to a car with one fault; `grows_by` in hours of labour [h]."""

    drive: str
    monthly: float
    grows_by: float
    text: str
    watch: str


@dataclass(frozen=True)
class Outlook:
    """What is to be expected if nothing is done for now.

    `worse` holds the chance that something has got worse after one month and after a season; `adds` what
    that costs on average after a season [h]. `must_stand` is the chance of a fault with which the car should
    not be driven, `gently` of one with which it should be driven with care. `recheck` is in days. `causes`
    are the indices of the faults that weigh most in it.
    """

    must_stand: float
    gently: float
    worse_month: float
    worse_season: float
    adds: float
    recheck: int
    causes: tuple[int, ...]


@cache
def load_waiting(parse: Callable[[str], Any] = parsed) -> Mapping[str, Waiting]:
    """Read what waiting does with each fault; `parse` makes data of the text of the file.

    Raises
    ------
    CatalogueError : a fault that is there twice, or a figure that cannot be.
    """
    path = resources.files("bellhousing.diagnosis") / "catalogue" / "waiting.yaml"
    found: dict[str, Waiting] = {}
    for row in parse(path.read_text(encoding="utf-8")):
        drive = {True: "yes", False: "no"}.get(row["drive"], row["drive"])
        waiting = Waiting(drive, float(row["monthly"]), float(row["grows_by"]), row["text"], row["watch"])
        if drive not in DRIVE or not 0.0 <= waiting.monthly < 1.0 or waiting.grows_by < 0.0:
            raise CatalogueError("its figures cannot be", where=row["faults"][0])
        for fault in row["faults"]:
            if fault in found:
                raise CatalogueError("it is there twice", where=fault)
            found[fault] = waiting
    return found


def outlook(
    table: Sequence[Waiting], members: IntArray, weights: FloatArray, alone: FloatArray | None = None
) -> Outlook:
    """What is to be expected if nothing is done, for a belief over sets of faults padded with their number.

    `table` is what waiting does with each fault, `alone` the chance of those independent of the sets.

    The chance that something has got worse after t months is 1 - sum over z of P(z) times the product over
    its faults of (1 - monthly)^t, faults taken to worsen independently of each other.
    """
    seen = weights > UNSEEN
    members, weights = members[seen], weights[seen] / weights[seen].sum()
    keep = np.log1p(-np.array([*(row.monthly for row in table), 0.0]))
    # Sets that worsen alike are one.
    rate, alike = np.unique(np.round(summed(keep, members), ALIKE), return_inverse=True)
    share = np.bincount(alike.reshape(-1), weights)
    apart = np.zeros(len(table)) if alone is None else np.asarray(alone)
    held = apart + sum(np.bincount(column, weights, len(table) + 1)[:-1] for column in members.T)

    def unchanged(months: float) -> float:
        inside = float(share @ np.exp(rate * months))
        return inside * float(np.prod(1.0 - apart * -np.expm1(keep[:-1] * months)))

    def any_of(drive: str) -> float:
        mask = np.array([*(row.drive == drive for row in table), False])
        clear = float(weights[~holding(mask, members)].sum())
        return 1.0 - clear * float(np.prod(1.0 - apart[mask[:-1]]))

    grown = held * -np.expm1(keep[:-1] * SEASON)
    adds = grown * np.array([row.grows_by for row in table])
    months = _when(unchanged)
    leading = np.argsort(-adds, kind="stable")[:3]
    return Outlook(
        must_stand=max(0.0, any_of("no")),
        gently=max(0.0, any_of("gently")),
        worse_month=max(0.0, 1.0 - unchanged(1.0)),
        worse_season=max(0.0, 1.0 - unchanged(SEASON)),
        adds=float(adds.sum()),
        recheck=int(min(LATEST, max(SOONEST, np.floor(months * MONTH)))),
        causes=tuple(int(index) for index in leading if adds[index] > 0.0),
    )


def _when(unchanged: Callable[[float], float]) -> float:
    """Months until the chance of its getting worse reaches what is tolerated, by bisection."""
    low, high = 0.0, LATEST / MONTH
    if 1.0 - unchanged(high) < TOLERATED:
        return high
    for _ in range(20):  # to within seconds
        middle = 0.5 * (low + high)
        low, high = (middle, high) if 1.0 - unchanged(middle) < TOLERATED else (low, middle)
    return low
