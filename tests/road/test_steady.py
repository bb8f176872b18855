"""The valve body over throttle and speed: what the regulator lets go, and who caps whom."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.boxes.load import load_box
from bellhousing.road.calibration import calibrated
from bellhousing.road.cars import middle_car
from bellhousing.road.shown import vehicle
from bellhousing.road.steady import Steady, steady

TRAVEL, MPH = np.linspace(0.0, 1.0, 5), np.linspace(0.0, 80.0, 9)


def shown(name: str, **changed: float) -> Steady:
    """The middle car of a box with some of its parameters multiplied."""
    box = calibrated(load_box(name))
    one = middle_car(box)
    one = one.with_values(
        {key.replace("__", "."): one[key.replace("__", ".")] * by for key, by in changed.items()}
    )
    return steady(one, vehicle(box, 3.08, 0.345, 0.0), TRAVEL, MPH)


@pytest.mark.parametrize("name", ["box-a", "box-b"])
def test_the_line_feeds_the_governor_and_the_pump_feeds_the_line(name: str) -> None:
    """No signal stands above the line; all shares lie between nought and one; more pedal, more line."""
    found = shown(name)
    for pressure in found.governor.values():
        assert np.all(pressure <= found.line + 1e-6)
    assert np.all((found.spilled >= 0.0) & (found.spilled <= 1.0))
    assert np.all(np.diff(found.line[:, :, 0], axis=1) >= -1e-6)


@pytest.mark.parametrize("name", ["box-a", "box-b"])
def test_a_worn_pump_leaves_nothing_to_let_go(name: str) -> None:
    """At idle a pump that loses all it delivers holds less line, and the regulator stays shut."""
    sound, worn = shown(name), shown(name, pump__leakage=8.0)
    assert worn.line[0, 0, 0] < 0.7 * sound.line[0, 0, 0]
    assert worn.spilled[0, 0, 0] == pytest.approx(0.0, abs=1e-6)
    assert worn.valves["1-2"].up_needs == pytest.approx(sound.valves["1-2"].up_needs)
