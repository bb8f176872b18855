"""The rows of the physical table: every set of up to two physical faults once."""

from __future__ import annotations

from itertools import combinations

import pytest

from bellhousing.diagnosis.fault_sets import FaultSets

CASES = [FaultSets(0, ()), FaultSets(1, (0,)), FaultSets(7, (1, 2, 5)), FaultSets(6, tuple(range(6)))]


@pytest.mark.parametrize("sets", CASES, ids=lambda sets: f"{sets.count} faults")
def test_every_set_of_up_to_two_once(sets: FaultSets) -> None:
    """None, each alone, each pair of the physical faults."""
    wanted = [chosen for size in range(3) for chosen in combinations(sets.physical, size)]
    assert sorted(sets.physical_rows) == sorted(wanted)


@pytest.mark.parametrize("sets", CASES, ids=lambda sets: f"{sets.count} faults")
def test_row_of_a_pair_holds_its_physical_faults(sets: FaultSets) -> None:
    """Whatever two faults (or none) are asked for, the row holds just those of them that are physical."""
    for first in range(sets.count + 1):
        for second in range(sets.count + 1):
            wanted = tuple(sorted({first, second} & set(sets.physical)))
            assert sets.physical_rows[sets.row_of[first, second]] == wanted
