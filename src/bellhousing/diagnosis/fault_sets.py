"""Every set of up to three faults, as index arrays, and the physical sets they fall into."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]


@dataclass(frozen=True)
class FaultSets:
    """All sets of at most three of `count` faults; `physical` names the faults that act on the model.

    `members` is (sets, 3), padded with `count`. `physical_set` is (sets,): the row of the physical table that
    holds the set's physical faults (none, one or two of them); sets with three point at the row of their
    first pair and are listed in `triples` with the rows of all three pairs.
    """

    count: int
    physical: tuple[int, ...]

    @cached_property
    def members(self) -> IntArray:
        n = self.count
        singles = np.arange(n)
        pairs = np.array(list(combinations(range(n), 2)), dtype=np.intp).reshape(-1, 2)
        triples = np.array(list(combinations(range(n), 3)), dtype=np.intp).reshape(-1, 3)
        rows = np.full((1 + n + len(pairs) + len(triples), 3), n, dtype=np.intp)
        rows[1 : 1 + n, 0] = singles
        rows[1 + n : 1 + n + len(pairs), :2] = pairs
        rows[1 + n + len(pairs) :] = triples
        return rows

    @cached_property
    def physical_rows(self) -> tuple[tuple[int, ...], ...]:
        """Physical sets of none, one and two faults, in the order of the physical table."""
        singles = [(fault,) for fault in self.physical]
        return ((), *singles, *combinations(self.physical, 2))

    @cached_property
    def _row_of(self) -> IntArray:
        """Row of the physical table of the pair (a, b); index `count` stands for 'not physical'."""
        table = np.zeros((self.count + 1, self.count + 1), dtype=np.intp)
        for row, faults in enumerate(self.physical_rows):
            if len(faults) == 1:
                table[faults[0], :] = table[:, faults[0]] = row
        for row, faults in enumerate(self.physical_rows):
            if len(faults) == 2:
                table[faults[0], faults[1]] = table[faults[1], faults[0]] = row
        others = [fault for fault in range(self.count + 1) if fault not in set(self.physical)]
        for fault in others:
            # A fault without physics leaves its partner alone in the table.
            for partner in self.physical:
                single = 1 + self.physical.index(partner)
                table[fault, partner] = table[partner, fault] = single
            table[fault, others] = 0
        return table

    @cached_property
    def pair_rows(self) -> IntArray:
        """Rows of the physical table of each set's three pairs, (sets, 3)."""
        first, second, third = self.members.T
        row = self._row_of
        return np.stack([row[first, second], row[first, third], row[second, third]], axis=1)

    @cached_property
    def triples(self) -> IntArray:
        """Indices of the sets with three physical faults."""
        physical = np.zeros(self.count + 1, dtype=bool)
        physical[list(self.physical)] = True
        return np.flatnonzero(physical[self.members].all(axis=1))

    @cached_property
    def physical_set(self) -> IntArray:
        # Rows grow with the number of physical faults, so the largest of the three pairs holds them all.
        rows: IntArray = self.pair_rows.max(axis=1)
        return rows

    def ln_prior(self, ln_odds: FloatArray) -> FloatArray:
        """Unnormalised log prior of every set: the sum of its members' log odds."""
        padded = np.append(ln_odds, 0.0)
        total: FloatArray = padded[self.members].sum(axis=1)
        return total

    def product(self, per_fault: FloatArray) -> FloatArray:
        """Product over a set's members of a factor per fault, (sets,)."""
        padded = np.append(per_fault, 1.0)
        first, second, third = self.members.T
        return np.asarray(padded[first] * padded[second] * padded[third])

    def marginals(self, weights: FloatArray) -> FloatArray:
        """Sum over the sets holding each fault of `weights`, (count,)."""
        total = sum(np.bincount(self.members[:, k], weights, self.count + 1) for k in range(3))
        return np.asarray(total)[: self.count]
