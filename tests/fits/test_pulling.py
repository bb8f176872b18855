"""Pulling screws and what tightening again does not do."""

from __future__ import annotations

import pytest

from bellhousing.errors import QuantityError
from bellhousing.fits.fasteners import GRADES, TAPPED, Hole, nut_factors, preload_of
from bellhousing.fits.pulling import NEVER, pull
from bellhousing.fits.retorque import gasket_regains, ring_regains
from bellhousing.fits.threads import INCH, find_thread

SCREWS = Hole(find_thread("3/8-16"), 0.375 * INCH, TAPPED["cast aluminium"])
APART = 0.18


@pytest.mark.beside("every friction of the finish tried", code="fits.pulling.pull:torque")
@pytest.mark.parametrize("finish", ["dry", "oiled", "zinc plated"])
@pytest.mark.parametrize("engagement", [0.15, 0.3, 0.6])
def test_the_torque_never_strips_the_thread(finish: str, engagement: float) -> None:
    """Whatever the friction, the pull stays at half the strip force or the screw's own limit."""
    hole = Hole(SCREWS.thread, engagement * INCH, SCREWS.strength)
    plan = pull(hole, APART, finish=finish)
    for factor in nut_factors(finish):
        force = preload_of(plan.torque, hole.thread.diameter, factor)
        assert force <= hole.strip_force / 2.0 * (1.0 + 1e-12)
        assert force <= 0.75 * GRADES["5"].proof * hole.thread.stress_area * (1.0 + 1e-12)


def test_a_short_thread_limits_it_and_a_long_one_leaves_it_to_the_screw() -> None:
    """By what gives first."""
    short = pull(Hole(SCREWS.thread, 0.2 * INCH, SCREWS.strength), APART)
    assert short.limited_by == "thread in the part"
    long = pull(Hole(SCREWS.thread, 0.9 * INCH, SCREWS.strength), APART)
    assert long.limited_by == "screw"
    assert long.torque > short.torque


def test_a_torn_hole_is_pulled_less_hard_and_one_without_thread_not_at_all() -> None:
    """Threads that are gone bear nothing."""
    worn = Hole(SCREWS.thread, SCREWS.engagement, SCREWS.strength, damaged=3.0)
    assert pull(worn, APART).torque < pull(SCREWS, APART).torque
    with pytest.raises(QuantityError, match="no sound thread"):
        pull(Hole(SCREWS.thread, SCREWS.engagement, SCREWS.strength, damaged=10.0), APART)


def test_a_quarter_turn_is_a_quarter_of_the_pitch() -> None:
    """And tilts the part by that over the distance of the screws."""
    plan = pull(SCREWS, APART)
    assert plan.advance == pytest.approx(INCH / 64)
    assert plan.tilt == pytest.approx(INCH / 64 / APART, rel=1e-4)


def test_the_steps_say_never_to_lever_on_the_case_face() -> None:
    """And to stop and look at the torque worked out."""
    plan = pull(SCREWS, APART)
    assert NEVER in plan.steps
    assert any("stop and look" in step and "lb ft" in step for step in plan.steps)


@pytest.mark.parametrize(("apart", "safety", "grade"), [(0.0, 2.0, "5"), (0.2, 0.5, "5"), (0.2, 2.0, "77")])
def test_impossible_pulls_are_refused(apart: float, safety: float, grade: str) -> None:
    """No distance, no safety, no such grade."""
    with pytest.raises(QuantityError):
        pull(SCREWS, apart, safety=safety, grade=grade)


@pytest.mark.beside("by hand", code=("fits.retorque.ring_regains:regained", "fits.retorque.Retorque.share"))
def test_torque_does_not_bring_a_ring_back() -> None:
    """Half as much bolt force again shortens the metal by micrometres; tenths of a millimetre are gone."""
    told = ring_regains(0.35e-3, 8000.0, length=15e-3, area=1.2e-4)
    # By hand: 8000 · 15e-3 / (1.2e-4 · 70e9) = 14.3 µm.
    assert told.regained == pytest.approx(14.3e-6, rel=0.01)
    assert told.share == pytest.approx(14.3 / 350.0, rel=0.005)
    assert "Only a new ring" in told.text


def test_a_sound_ring_has_nothing_to_regain() -> None:
    """And a joint without metal, paper or bolts is refused."""
    assert ring_regains(0.0, 8000.0, length=15e-3, area=1.2e-4).share == 1.0
    with pytest.raises(QuantityError):
        ring_regains(1e-4, 8000.0, length=0.0, area=1.2e-4)
    with pytest.raises(QuantityError):
        gasket_regains(0.0, 0.1, 1e6, modulus=60e6, span=0.1)
