"""Instruments too coarse for a window: a fifth of it at most, and which would do instead."""

from __future__ import annotations

import math

import pytest

from bellhousing.boxes.load import load_box
from bellhousing.fits.instruments import find_instrument, shipped_instruments
from bellhousing.fits.suitability import fine_enough, too_coarse

THOU = 25.4e-6
EVERY = shipped_instruments()


def test_an_error_that_is_a_part_of_the_reading() -> None:
    """±4 % of 33 lb ft is more than a fifth of 31 to 35; ±2 % is not, and is named."""
    pound_foot = 1.3558179
    wrench = EVERY["torque-wrench"]
    found = too_coarse(wrench, 33 * pound_foot, 31 * pound_foot, 35 * pound_foot, EVERY, unit="lb ft")
    assert found is not None
    assert found.fault == "permissible_error"
    assert found.instruments == ("torque wrench checked to ±2 %",)
    assert "1.3 lb ft" in found.text
    assert "0.8 lb ft" in found.text


@pytest.mark.parametrize("box", ["A", "B"])
def test_what_is_named_would_do_and_something_is_named_for_every_window(box: str) -> None:
    """With the plainest instrument of each use, over every window of the shipped boxes."""
    for bench in load_box(box).measurements.values():
        if bench.window is None or bench.measure.instrument not in EVERY:
            continue
        low, high = bench.window.low, bench.window.high
        usual = EVERY[bench.measure.instrument]
        value = low if math.isfinite(low) else high
        found = too_coarse(usual, value, low, high, EVERY, unit=bench.window.unit)
        if found is None:
            continue
        assert found.instruments, bench.measure.id
        for name in found.instruments:
            assert fine_enough(find_instrument(name), value, found.most)
        assert usual.name not in found.instruments


def test_nothing_fine_enough_says_how_fine_it_would_have_to_be() -> None:
    """A window of a ten-thousandth."""
    found = too_coarse(EVERY["outside-micrometer"], 80 * THOU, 80 * THOU, 80.1 * THOU, EVERY, unit="in")
    assert found is not None
    assert found.instruments == ()
    assert "2e-05 in" in found.text or "0.00002 in" in found.text
