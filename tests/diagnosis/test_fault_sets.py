"""Fault sets: every set once, each pointing at its own row of physics."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from bellhousing.diagnosis.fault_sets import FaultSets

CASES = [FaultSets(0, ()), FaultSets(1, (0,)), FaultSets(7, (1, 2, 5)), FaultSets(6, tuple(range(6)))]


def members_of(sets: FaultSets) -> list[tuple[int, ...]]:
    """Sets as tuples without their padding."""
    return [tuple(int(f) for f in row if f < sets.count) for row in sets.members]


@pytest.mark.parametrize("sets", CASES, ids=lambda sets: f"{sets.count} faults")
def test_every_set_of_up_to_three_once(sets: FaultSets) -> None:
    """All combinations of none to three faults, none twice."""
    wanted = [chosen for size in range(4) for chosen in combinations(range(sets.count), size)]
    found = members_of(sets)
    assert sorted(found) == sorted(wanted)
    assert len(set(found)) == len(found)


def test_whole_vacuum_catalogue() -> None:
    """97 faults make 152,194 sets."""
    assert len(FaultSets(97, ()).members) == 152_194


@pytest.mark.parametrize("sets", CASES, ids=lambda sets: f"{sets.count} faults")
def test_row_of_physics_holds_the_physical_members(sets: FaultSets) -> None:
    """A set of up to two physical faults points at the row with just these."""
    for faults, row in zip(members_of(sets), sets.physical_set, strict=True):
        physical = tuple(fault for fault in faults if fault in sets.physical)
        if len(physical) < 3:
            assert sets.physical_rows[row] == physical


@pytest.mark.parametrize("sets", CASES, ids=lambda sets: f"{sets.count} faults")
def test_triples_and_their_pairs(sets: FaultSets) -> None:
    """Sets of three physical faults are listed, each with the rows of its three pairs."""
    found = members_of(sets)
    assert [found[z] for z in sets.triples] == list(combinations(sets.physical, 3))
    for z in sets.triples:
        pairs = [sets.physical_rows[row] for row in sets.pair_rows[z]]
        assert pairs == list(combinations(found[z], 2))


def test_sums_and_products_over_members() -> None:
    """Prior, product and marginals are those of a loop over the sets."""
    sets = FaultSets(6, (0, 3))
    rng = np.random.default_rng(3)
    ln_odds, factor = rng.normal(size=6), rng.random(6)
    weights = rng.random(len(sets.members))
    found = members_of(sets)
    assert sets.ln_prior(ln_odds) == pytest.approx([sum(ln_odds[list(z)]) for z in found])
    assert sets.product(factor) == pytest.approx([np.prod(factor[list(z)]) for z in found])
    wanted = [
        sum(weight for z, weight in zip(found, weights, strict=True) if fault in z) for fault in range(6)
    ]
    assert sets.marginals(weights) == pytest.approx(wanted)
