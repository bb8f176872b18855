"""What is done at the bench and with the pedal by common practice, no source."""

from __future__ import annotations

import math

import numpy as np
import pytest

from bellhousing.boxes.load import load_box
from bellhousing.fits.fasteners import TAPPED, Hole, tightening_steps
from bellhousing.fits.instruments import shipped_instruments
from bellhousing.fits.pulling import NEVER, next_turn, pull
from bellhousing.fits.retorque import gasket_regains
from bellhousing.fits.suitability import too_coarse
from bellhousing.fits.threads import INCH, find_thread
from bellhousing.road.cars import middle_car
from bellhousing.road.drive.applying import standing
from bellhousing.road.drive.four.layout import layout_of
from bellhousing.road.drive.four.valves import linkage_body
from bellhousing.road.engine import vacuum_at_travel
from bellhousing.road.four_speed.pressures import travel_at, travel_by_vacuum

THOU, INHG = 25.4e-6, 3386.389
EVERY = shipped_instruments()
SCREWS = Hole(find_thread("3/8-16"), 0.375 * INCH, TAPPED["cast aluminium"])
APART = 0.18


def test_rounds_end_on_the_whole_torque() -> None:
    """A third, two thirds, the whole twice."""
    assert tightening_steps(30.0) == (10.0, 20.0, 30.0, 30.0)


def test_screws_take_turns() -> None:
    """The one behind is next; evenly, the first."""
    plan = pull(SCREWS, APART)
    assert next_turn(plan, SCREWS, (0.0, 0.0), (0.0, 0.0)).screw == "first"
    assert next_turn(plan, SCREWS, (0.25, 0.0), (5.0, 0.0)).screw == "second"
    assert not next_turn(plan, SCREWS, (0.25, 0.0), (5.0, 0.0)).stop


def test_stop_and_look_when_the_torque_is_reached() -> None:
    """At the limit on either screw, and the face is left alone."""
    plan = pull(SCREWS, APART)
    told = next_turn(plan, SCREWS, (0.5, 0.5), (1.0, plan.torque))
    assert told.stop
    assert "a bolt still in" in told.text
    assert NEVER in told.text


def test_stop_when_one_side_runs_ahead() -> None:
    """More than a turn askew jams it: the slope is said."""
    plan = pull(SCREWS, APART)
    told = next_turn(plan, SCREWS, (2.0, 0.5), (1.0, 1.0))
    assert told.stop
    assert told.screw == "second"
    assert "0.8°" in told.text  # 1.5 turns of a sixteenth of an inch over 180 mm


def test_torque_does_not_bring_a_paper_gasket_back() -> None:
    """Pressed to the last the threads bear it regains part of its thickness and nothing along the joint."""
    pressed = (12_000.0 - 8_000.0) * 8 / 6e-3  # eight bolts on 60 cm²
    told = gasket_regains(0.4e-3, 0.15, pressed, modulus=60e6, span=75e-3)
    assert told.lost == pytest.approx(60e-6)
    # By hand: half of 5.33 MPa · 0.4 mm / 60 MPa.
    assert told.regained == pytest.approx(17.8e-6, rel=0.01)
    assert told.share < 0.5
    assert told.across == pytest.approx(1.5e-3)
    assert "Only a new gasket" in told.text


@pytest.mark.parametrize(
    ("instrument", "low", "high", "fault"),
    [
        ("dial-indicator", 6, 18, None),  # a thousandth in twelve
        ("dial-indicator", 6, 11, None),  # a fifth exactly
        ("dial-indicator", 6, 10.9, "resolution"),
        ("feeler", 3, 6, "resolution"),
        ("feeler", -math.inf, 4, "resolution"),  # open below: from nothing up
        ("feeler", 20, math.inf, None),  # open above: no width to compare with
        ("travel-gauge", 60, 84, "resolution"),
        ("travel-gauge", 60, 86, None),
    ],
)
def test_a_fifth_of_the_window_is_the_most(
    instrument: str, low: float, high: float, fault: str | None
) -> None:
    """Steps and permissible error against the width, in thousandths of an inch."""
    found = too_coarse(EVERY[instrument], low * THOU, low * THOU, high * THOU, EVERY, unit="in")
    assert (None if found is None else found.fault) == fault


def test_throttles_are_named_by_the_vacuum_gauge() -> None:
    """A hair of pedal at 16 inHg, half at 10, the whole at none; the vacuum falls in proportion."""
    assert [travel_at(inhg * INHG) for inhg in (16.0, 10.0, 0.0)] == pytest.approx([0.03, 0.5, 1.0])
    cars = middle_car(load_box("box-b"))
    found = [float(travel_by_vacuum(cars, inhg * INHG)[0]) for inhg in (16.0, 13.0, 10.0)]
    assert found == pytest.approx([0.03, 0.265, 0.5], abs=0.02)
    vacuum = [float(vacuum_at_travel(cars, travel)[0]) for travel in (0.0, 0.5)]
    assert vacuum[1] == pytest.approx(0.5 * vacuum[0], rel=1e-9)


def test_an_accumulator_softens_a_clutch() -> None:
    """Nothing until full, in a tenth to the plateau, along the stroke about it, in a tenth to the line."""
    off = standing(np.zeros((3, 1), dtype=bool), np.array([[1.0], [0.5], [0.5]]))
    off.bring_on(1, np.array([True]), np.zeros(1), np.array([0.3]), np.array([0.4]))
    levels = [float(off.level(time)[1, 0]) for time in (0.29, 0.4, 0.6, 0.8, 0.9)]
    assert levels == pytest.approx([0.0, 0.425, 0.5, 0.575, 1.0], abs=1e-9)


def test_throttle_pressure_backs_a_change_up() -> None:
    """At a shut throttle an element comes on at a quarter of the line, with the pedal down at the whole."""
    box = load_box("box-b")
    cars = middle_car(box)
    body = linkage_body(cars, layout_of(box, 0.97))
    full = cars["throttle_valve.full_pressure"]
    assert body.cushion(np.zeros(1)) == pytest.approx(0.25)
    assert body.cushion(full) == pytest.approx(1.0)
    assert body.cushion(0.5 * full) == pytest.approx(0.625)
