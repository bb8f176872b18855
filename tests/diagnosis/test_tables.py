"""Findings with states: the most conspicuous of several causes is what is seen."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from bellhousing.diagnosis.tables import StateTable, differences, state_tables
from tests.diagnosis.by_hand import FAULTS, filtered


def random_table(seed: int, faults: int, states: int) -> tuple[StateTable, np.ndarray, np.ndarray]:
    """A table with the chances of each state that it was made of."""
    rng = np.random.default_rng(seed)
    background = rng.dirichlet(np.ones(states))
    each = rng.dirichlet(np.ones(states), size=faults)
    return StateTable(np.cumsum(background), np.cumsum(each, axis=1)), background, each


def brute_force(sources: list[np.ndarray]) -> np.ndarray:
    """Every way the causes can show, weighed, by the most conspicuous state among them."""
    seen = np.zeros(len(sources[0]))
    for shown in product(range(len(seen)), repeat=len(sources)):
        seen[max(shown)] += np.prod([source[state] for source, state in zip(sources, shown, strict=True)])
    return seen


@pytest.mark.parametrize("states", [2, 3, 5])
def test_most_conspicuous_cause_is_seen(states: int) -> None:
    """Chances of a set are those of the largest of independent draws."""
    table, background, each = random_table(states, 4, states)
    sets = np.array([np.where(held, range(4), 4) for held in product((False, True), repeat=4)])
    found = differences(np.stack([table.cumulative_at(sets, k) for k in range(states)], axis=1))
    of_members = differences(table.cumulative_of(sets))
    for row, members in enumerate(sets):
        wanted = brute_force([background, *(each[fault] for fault in members if fault < 4)])
        assert found[row] == pytest.approx(wanted, abs=1e-12)
        assert of_members[row] == pytest.approx(wanted, abs=1e-12)


def test_shipped_strengths_become_tables() -> None:
    """One fault alone shows its strength over the background, and bears; the others do not."""
    tables = state_tables(filtered(FAULTS), FAULTS, familiarity=1.0, misseen=0.0)
    table = tables["fluid-in-modulator-hose"]
    torn = FAULTS.index("modulator-diaphragm-torn")
    assert list(np.flatnonzero(table.bearing)) == [torn]
    alone = differences(table.cumulative_of(np.array([[torn, len(FAULTS), len(FAULTS)]])))[0]
    assert alone == pytest.approx([(1 - 0.005) * (1 - 0.96), 1 - (1 - 0.005) * (1 - 0.96)])


def test_unfamiliar_box_weakens_strengths() -> None:
    """Half the familiarity leaves half the strength and the whole background."""
    catalogue = filtered(FAULTS)
    known = state_tables(catalogue, FAULTS, familiarity=1.0, misseen=0.0)
    strange = state_tables(catalogue, FAULTS, familiarity=0.5, misseen=0.0)
    for name in known:
        assert 1.0 - strange[name].by_fault == pytest.approx((1.0 - known[name].by_fault) / 2.0)
        assert strange[name].background == pytest.approx(known[name].background)
