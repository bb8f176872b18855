"""Tests are worth something for faults that nothing found so far touches."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.diagnosis.information import mutual_information_of_tests
from bellhousing.diagnosis.unsought import WORTH_SEEKING, information_about_alone
from tests.diagnosis.by_hand import by_hand, small

LEAK = "output-seal-hard"


@pytest.mark.beside("its own table of two rows", code="diagnosis.unsought.information_about_alone")
def test_one_fault_alone_by_its_table() -> None:
    """With one such fault the sum is the mutual information of its own two-row table."""
    prepared = small()
    fault, chance = prepared.faults.index(LEAK), 0.07
    alone = np.zeros(len(prepared.faults))
    alone[fault] = chance
    mean = prepared.stacked.background * prepared.stacked.cumulative_alone(alone)
    told = information_about_alone(prepared, alone, mean)
    hand = by_hand()
    for name in ("joint-output-seal", "rear-drips", "spot-rear"):
        finding = prepared.catalogue.finding(name)
        rows = [hand.chances(faults, finding, 0) for faults in ((), (LEAK,))]
        joint = np.array([[(1.0 - chance) * p for p in rows[0]], [chance * p for p in rows[1]]])
        assert told[name] == pytest.approx(mutual_information_of_tests(joint, (0,))[0], abs=1e-9)
        assert told[name] > 0.001


def test_a_physical_fault_is_sought_with_the_gauge() -> None:
    """A worn pump that nothing speaks for yet is told by line pressure, not by a look at the tail."""
    prepared = small()
    alone = np.zeros(len(prepared.faults))
    alone[prepared.faults.index("pump-worn")] = 0.05
    mean = prepared.stacked.background * prepared.stacked.cumulative_alone(alone)
    told = information_about_alone(prepared, alone, mean)
    assert told["line-drive-idle"] > 20.0 * told["joint-output-seal"]


def test_what_is_too_rare_is_not_sought() -> None:
    """Below the least chance nothing is told."""
    prepared = small()
    alone = np.full(len(prepared.faults), 0.9 * WORTH_SEEKING)
    assert information_about_alone(prepared, alone, prepared.stacked.background) == {}
