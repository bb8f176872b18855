"""The order of repairs by exact dynamic programming; where one fault is there, it is by chance over cost."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.errors import CatalogueError

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

MOST_WORKS = 10
"""Works that can be put in order at most; the number of steps looked at grows as three to this power."""


@dataclass(frozen=True)
class Order:
    """Steps of works done before the car is driven again, the chance that each step is needed, and the cost.

    `stopped` is true where the rest is better left for a second visit than tried.
    """

    steps: tuple[tuple[int, ...], ...]
    needed: tuple[float, ...]
    expected: float
    stopped: bool


def chance_uncured(success: FloatArray, sets: BoolArray, weights: FloatArray) -> FloatArray:
    """Chance that a car is not right after each set of works, (2^works,): bit i of the place is work i.

    `success` is (works, faults), the chance that a work puts a fault right where it is there; works fail
    independently of each other. A car is right when every fault of its set is put right.
    """
    count = len(success)
    if count > MOST_WORKS:
        raise CatalogueError(f"at most {MOST_WORKS} works can be put in order")
    success = np.asarray(success, dtype=np.float64)
    uncured = np.empty(2**count)
    for place in range(2**count):
        picked = [index for index in range(count) if place >> index & 1]
        gone = 1.0 - np.prod(1.0 - success[picked], axis=0)  # (faults,)
        uncured[place] = 1.0 - weights @ np.where(sets, gone, 1.0).prod(axis=1)
    return np.maximum(uncured, 0.0)


def cheapest_order(
    uncured: FloatArray, step_cost: FloatArray, stop_cost: FloatArray, late_cost: FloatArray | None = None
) -> Order:
    """The steps of least expected cost, exact over every way of dividing the works into steps.

    All arrays are (2^works,): `uncured` the chance that the car is not right after a set of works,
    `step_cost` what doing a set in one step costs with the drive after it, `stop_cost` what is to be expected
    if nothing more is done after a set, `late_cost` come-backs to be expected of a set:
    E(S) = min(stop(S), min over B of u(S) c(B) + late(S + B) - late(S) + E(S + B)), with u = 1 before the
    first step, which is paid whatever is there. One test after several works is the postponed system test of
    T. Ottosen and F. Jensen, When to test?, Aalborg University, 2010. With exactly one fault, and one action
    for each, the order is by chance over cost: J. Kadane and H. Simon, Annals of Statistics 5, 1977.
    """
    size = len(uncured)
    late = np.zeros(size) if late_cost is None else late_cost
    reached = uncured.copy()
    reached[0] = 1.0
    best = stop_cost.astype(np.float64).copy()
    step = np.zeros(size, dtype=np.intp)
    for done in range(size - 1, -1, -1):
        rest = (size - 1) ^ done
        batch = rest
        while batch:
            cost = reached[done] * step_cost[batch] + late[done | batch] - late[done] + best[done | batch]
            if cost < best[done] - 1e-12:
                best[done], step[done] = cost, batch
            batch = (batch - 1) & rest
    steps, needed, done = [], [], 0
    while step[done]:
        batch = int(step[done])
        steps.append(tuple(index for index in range(size.bit_length() - 1) if batch >> index & 1))
        needed.append(float(reached[done]))
        done |= batch
    return Order(tuple(steps), tuple(needed), float(best[0]), done != size - 1)
