"""Sets of up to two faults that act on the model of the car: the rows of the physical table."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]


def summed(per_fault: FloatArray, members: IntArray) -> FloatArray:
    """Sum over the members of each set of a figure (faults + 1,), by columns, (sets,)."""
    total = per_fault[members[:, 0]]
    for column in members.T[1:]:
        total += per_fault[column]
    return total


def holding(mask: NDArray[np.bool_], members: IntArray) -> NDArray[np.bool_]:
    """Whether each set has a member in a mask (faults + 1,), by columns, (sets,)."""
    held = mask[members[:, 0]]
    for column in members.T[1:]:
        held |= mask[column]
    return held


@dataclass(frozen=True)
class FaultSets:
    """`count` faults, of which `physical` names those that act on the model."""

    count: int
    physical: tuple[int, ...]

    @cached_property
    def is_physical(self) -> NDArray[np.bool_]:
        """Mask of the physical faults, (count,)."""
        mask = np.zeros(self.count, dtype=bool)
        mask[list(self.physical)] = True
        return mask

    @cached_property
    def physical_rows(self) -> tuple[tuple[int, ...], ...]:
        """Physical sets of none, one and two faults, in the order of the physical table."""
        singles = [(fault,) for fault in self.physical]
        return ((), *singles, *combinations(self.physical, 2))

    @cached_property
    def row_of(self) -> IntArray:
        """Row of the physical table of faults a and b, (count + 1, count + 1).

        Index `count` stands for 'none'; a fault that is not physical leaves its partner alone in the table.
        """
        table = np.zeros((self.count + 1, self.count + 1), dtype=np.intp)
        for row, faults in enumerate(self.physical_rows):
            if len(faults) == 1:
                table[faults[0], :] = table[:, faults[0]] = row
        for row, faults in enumerate(self.physical_rows):
            if len(faults) == 2:
                table[faults[0], faults[1]] = table[faults[1], faults[0]] = row
        others = np.append(~self.is_physical, True)
        for row, fault in enumerate(self.physical, start=1):
            table[fault, others] = table[others, fault] = row
        return table
