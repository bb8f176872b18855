"""The converter's torque ratio against the open table of a simulation package: no citable source."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.road.converter import torque_ratio

SPEED_RATIO = np.array([0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.89])
TORQUE_RATIO = np.array([1.93, 1.89, 1.80, 1.71, 1.58, 1.43, 1.35, 1.23, 1.12, 1.00])
EFFICIENCY = np.array([0.0, 19.0, 36.0, 51.0, 63.0, 72.0, 81.0, 86.0, 89.0, 89.0])


def test_the_table_agrees_with_itself() -> None:
    """Efficiency is torque ratio times speed ratio, each within one point."""
    found = 100.0 * SPEED_RATIO * TORQUE_RATIO
    assert found == pytest.approx(EFFICIENCY, abs=1.0)


def test_straight_line_stays_near_the_table() -> None:
    """From stall to the coupling point the straight line is never 6 in 100 off."""
    found = torque_ratio(np.array(1.93), np.array(0.89), SPEED_RATIO)
    assert found == pytest.approx(TORQUE_RATIO, rel=0.06)
    assert found[0] == pytest.approx(1.93)
    assert found[-1] == pytest.approx(1.00)
