"""The invented box of the example file: ratios of its double-pinion train by Willis and by the lever."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from bellhousing.boxes.gears import applied_elements, gear_ratios, gear_train_of
from bellhousing.boxes.load import load_box
from bellhousing.geartrain.solve import solve

EXAMPLE = Path(__file__).resolve().parents[2] / "docs" / "examples" / "two-sun.yaml"
SMALL, LARGE, RING = Fraction(28), Fraction(32), Fraction(70)


@pytest.mark.from_memory("H. E. Merritt, Gear Trains, Willis's formula for a train with and without an idler")
def test_ratios_by_willis() -> None:
    """First R/S, reverse −R/L, second R(S + L)/(S(L + R)), third 1, of 28, 32 and 70 teeth.

    With the carrier held the small sun turns the ring through two pinions, the same way: 70/28 = 5/2. The
    large sun turns it through one, backward: 70/32 = 35/16. With the large sun held the carrier turns at
    R/(L + R) = 70/102 of the ring; against it the small sun turns 5/2 times as fast as the ring does.
    """
    carrier = RING / (LARGE + RING)
    second = carrier + RING / SMALL * (1 - carrier)
    assert (RING / SMALL, RING / LARGE, second) == (Fraction(5, 2), Fraction(35, 16), Fraction(25, 17))
    found = dict(gear_ratios(load_box(EXAMPLE)))
    assert found == pytest.approx({"1": 2.5, "2": 1.470588235294, "3": 1.0, "R": -2.1875}, abs=1e-12)


@pytest.mark.from_memory("H. L. Benford and M. B. Leising, The Lever Analogy, SAE 810102, 1981")
def test_ratios_and_torques_by_the_lever() -> None:
    """On one lever: carrier at 0, ring at 1, small sun at 2.5, large sun at −2.1875, speeds on a line.

    What is held is the fulcrum, so second is (2.5 + 2.1875)/(1 + 2.1875). What holds bears the moments left
    over: input torque 1 at the small sun, −ratio at the ring.
    """
    place = {"carrier": 0.0, "ring": 1.0, "small-sun": 2.5, "large-sun": -2.1875}
    box = load_box(EXAMPLE)
    train = gear_train_of(box)
    for lever, gear, driven, held, element in (
        ("D", "1", "small-sun", "carrier", "low-one-way-clutch"),
        ("D", "2", "small-sun", "large-sun", "second-band"),
        ("R", "R", "large-sun", "carrier", "low-reverse-band"),
    ):
        state = solve(train, applied_elements(box, lever, gear))
        ratio = (place[driven] - place[held]) / (place["ring"] - place[held])
        assert state.ratio == pytest.approx(ratio, abs=1e-12)
        assert state.speeds[held] == pytest.approx(0.0, abs=1e-12)
        assert abs(state.torques[element]) == pytest.approx(abs(ratio - 1.0), abs=1e-9)
        for member, at in place.items():
            line = (at - place[held]) / (place[driven] - place[held])
            assert state.speeds[member] == pytest.approx(line, abs=1e-12)
