"""The shift map as bands over cars, sound and with a fault."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.prepare import CarFacts, prepare
from bellhousing.diagnosis.shift_bands import shift_bands
from bellhousing.errors import FindingError
from tests.diagnosis.by_hand import MPH, small
from tests.shipped import catalogue_as_shipped

SHIFTS = {"1-2", "2-3", "2-1", "3-2"}


@pytest.mark.parametrize("fault", [None, "vacuum-hose-off", "pump-worn"])
def test_bands_are_ordered_over_cars_and_throttle(fault: str | None) -> None:
    """Low, middle, high in order at every vacuum; no upshift earlier as the throttle opens."""
    found = shift_bands(small(), fault)
    assert set(found.curves) == SHIFTS
    assert np.all(np.diff(found.vacuum) < 0.0)
    for shift, (low, middle, high) in found.curves.items():
        assert np.all((low <= middle) & (middle <= high)), shift
        assert np.all(np.diff(middle[np.isfinite(middle)]) >= -1e-9), shift
    for low_end, middle_end, high_end in found.forced.values():
        assert low_end <= middle_end <= high_end


def test_downshifts_lie_below_upshifts() -> None:
    """At every vacuum the middle car is held in its gear between the two."""
    curves = shift_bands(small()).curves
    assert np.all(curves["2-1"][1] < curves["1-2"][1])
    assert np.all(curves["3-2"][1] < curves["2-3"][1])


def test_hose_off_is_a_map_without_throttle() -> None:
    """Late at light throttle, and much flatter than the sound map."""
    sound, off = shift_bands(small()), shift_bands(small(), "vacuum-hose-off")
    assert off.curves["1-2"][1][0] > 2.0 * sound.curves["1-2"][1][0]
    assert np.ptp(off.curves["1-2"][1]) < 0.7 * np.ptp(sound.curves["1-2"][1])


def test_stripped_governor_never_shifts() -> None:
    """Infinite speed: no shift on any road."""
    curves = shift_bands(small(), "governor-gear-stripped").curves
    assert np.all(np.isinf(curves["1-2"][0]))


def test_forced_downshifts_of_box_a() -> None:
    """Pedal on its stop: 3-2 below about 70 mph, 2-1 below about 23, in the middle car; common practice."""
    forced = shift_bands(small()).forced
    assert 55.0 < forced["3-2"][1] / MPH < 75.0
    assert 15.0 < forced["2-1"][1] / MPH < 30.0


def test_box_b_has_a_map_of_three_upshifts() -> None:
    """Every shift of the four-speed, a rod out of setting shows in all of them; 4-3 forced below 55-65."""
    prepared = prepare(load_box("box-b"), CarFacts(), catalogue_as_shipped(), cars=24)
    found = shift_bands(prepared)
    assert set(found.curves) == {"1-2", "2-3", "3-4", "2-1", "3-2", "4-3"}
    for early, late in (("1-2", "2-3"), ("2-3", "3-4")):
        assert np.all(found.curves[early][1] < found.curves[late][1])
    for up in ("1-2", "2-3", "3-4"):
        assert np.all(found.curves[up[::-1]][1] < found.curves[up][1])
    assert 50.0 < found.forced["4-3"][1] / MPH < 65.0
    bent = shift_bands(prepared, "tv-rod-out-of-setting")
    for up in ("1-2", "2-3", "3-4"):
        low, high = found.curves[up][0][8], found.curves[up][2][8]
        assert bent.curves[up][0][8] < low
        assert bent.curves[up][2][8] > high


def test_fault_that_is_none_is_refused() -> None:
    """The message names it."""
    with pytest.raises(FindingError, match="no fault 'gremlins'"):
        shift_bands(small(), "gremlins")
