"""Planetary trains against the worked examples of R. S. Khurmi and J. K. Gupta, *Theory of Machines*, ch. 13.

Edition unknown; examples and pages are given beside each value. Where the book rounds on the way
(examples 13.19 and 13.24) the exact value is used instead, and not as evidence.
"""

from __future__ import annotations

import math

import pytest

from bellhousing.geartrain.layout import Brake, GearTrain, PlanetarySet, Willis
from bellhousing.geartrain.solve import solve
from tests.published.sources import KHURMI

published = pytest.mark.published

SET = ("sun", "ring", "arm")
RING_HELD = (Brake("hold", "ring"),)


@published(
    quantity="ratio of a planetary train",
    source=KHURMI,
    place="ex. 13.20, p. 465",
    code="geartrain.solve.solve:ratio",
    figures=(0,),
)
@published(
    quantity="torque on a held member",
    source=KHURMI,
    place="ex. 13.20, p. 465",
    code="geartrain.solve.solve:torques",
    figures=(1,),
)
def test_sun_drives_arm_with_ring_held() -> None:
    """Example 13.20, p. 465: ratio 5 from 16 and 64 teeth, planets of 24, 100 N·m on the sun, 400 to hold."""
    train = GearTrain(
        "sun", "arm", (*SET, "planet"),
        (PlanetarySet("set", *SET, 16, 64), Willis("planet row", "sun", "planet", "arm", -16 / 24)),
        RING_HELD,
    )  # fmt: skip
    state = solve(train, ["hold"])
    assert state.ratio == pytest.approx(5, abs=1e-12)
    assert 100 * abs(state.torques["hold"]) == pytest.approx(400, abs=1e-9)
    # a planet of 24 teeth rolls inside the held ring of 64: its speed against the arm must agree
    held = Willis("planet in ring", "ring", "planet", "arm", 64 / 24)
    both = GearTrain("sun", "arm", train.members, (*train.sets, held), RING_HELD)
    assert solve(both, ["hold"]).speeds["planet"] == pytest.approx(state.speeds["planet"], abs=1e-12)


@published(
    quantity="speeds of a planetary train",
    source=KHURMI,
    place="ex. 13.7, ring held, p. 444",
    code="geartrain.solve.solve:speeds",
)
def test_arm_speed_with_ring_held() -> None:
    """Example 13.7, p. 444: 40 and 90 teeth, sun one turn clockwise, arm 0.308 turn clockwise."""
    train = GearTrain("sun", "arm", SET, (PlanetarySet("set", *SET, 40, 90),), RING_HELD)
    assert -solve(train, ["hold"]).speeds["arm"] == pytest.approx(-0.308, abs=5e-4)


@published(
    quantity="speeds of a planetary train",
    source=KHURMI,
    place="ex. 13.7, ring turning, p. 444",
    code="geartrain.solve.solve:speeds",
    figures=(0,),
)
def test_arm_speed_with_ring_turning() -> None:
    """Example 13.7, p. 444: the ring turned half a turn the other way, arm 0.04 turn anticlockwise."""
    train = GearTrain(
        "sun", "arm", SET,
        (PlanetarySet("set", *SET, 40, 90), Willis("drive", "sun", "ring", "case", -0.5)), (),
    )  # fmt: skip
    assert -solve(train, []).speeds["arm"] == pytest.approx(0.04, abs=5e-3)
    assert -solve(train, []).speeds["arm"] == pytest.approx(0.0385, abs=5e-5)


@published(
    quantity="speeds of a planetary train",
    source=KHURMI,
    place="ex. 13.6, p. 443",
    code="geartrain.solve.solve:speeds",
)
def test_sun_and_planet_speed() -> None:
    """Example 13.6, p. 443: ring 72 held, sun 32, arm 18 rpm: sun 58.5 rpm, planet 46.8 rpm the other way."""
    train = GearTrain(
        "arm", "sun", (*SET, "planet"),
        (PlanetarySet("set", *SET, 32, 72), Willis("planet row", "sun", "planet", "arm", -32 / 20)),
        RING_HELD,
    )  # fmt: skip
    speeds = solve(train, ["hold"]).speeds
    assert 18 * speeds["sun"] == pytest.approx(58.5, abs=0.05)
    assert 18 * speeds["planet"] == pytest.approx(-46.8, abs=0.05)


@published(
    quantity="speeds of a planetary train",
    source=KHURMI,
    place="ex. 13.17, p. 460",
    code="geartrain.solve.solve:speeds",
)
def test_second_output_ring() -> None:
    """Example 13.17, p. 460: B 20, C 80, D 80, E 30, F 32, B at 1000 rpm: F 12.5; 22.4 with C at 10."""
    sets = (
        Willis("first row", "b", "c", "arm", -20 / 80),
        Willis("second row", "b", "f", "arm", -(20 / 80) * (30 / 32)),
    )
    members = ("b", "c", "f", "arm")
    held = GearTrain("b", "f", members, sets, (Brake("hold", "c"),))
    assert 1000 * solve(held, ["hold"]).speeds["f"] == pytest.approx(12.5, abs=0.05)
    turning = GearTrain("b", "f", members, (*sets, Willis("drive", "b", "c", "case", 10 / 1000)), ())
    assert 1000 * solve(turning, []).speeds["f"] == pytest.approx(22.4, abs=0.05)


@published(
    quantity="speeds of a planetary train",
    source=KHURMI,
    place="ex. 13.13, p. 452",
    code="geartrain.solve.solve:speeds",
)
def test_paradox_train() -> None:
    """Example 13.13, p. 452: A 100 held, C 101, D 99, one turn of the arm: +0.0099 and −0.0101."""
    train = GearTrain(
        "arm", "c", ("arm", "a", "c", "d"),
        (Willis("to c", "a", "c", "arm", 100 / 101), Willis("to d", "a", "d", "arm", 100 / 99)),
        (Brake("hold", "a"),),
    )  # fmt: skip
    speeds = solve(train, ["hold"]).speeds
    assert speeds["c"] == pytest.approx(0.0099, abs=5e-5)
    assert speeds["d"] == pytest.approx(-0.0101, abs=5e-5)


@published(
    quantity="speeds of a planetary train",
    source=KHURMI,
    place="ex. 13.22, p. 468",
    code="geartrain.solve.solve:speeds",
    figures=(0,),
)
@published(
    quantity="torque on a held member",
    source=KHURMI,
    place="ex. 13.22, p. 468",
    code="geartrain.solve.solve:torques",
    figures=(1,),
)
def test_stepped_planets_with_power() -> None:
    """Example 13.22, p. 468: 130 kW at 740 rad/s: 563.8 rad/s out and 54.9 N·m to hold wheel D."""
    train = GearTrain(
        "a", "x", ("a", "x", "d"),
        (Willis("row", "d", "a", "x", -(25 / 20) * (15 / 60)),), (Brake("hold", "d"),),
    )  # fmt: skip
    state = solve(train, ["hold"])
    assert 740 * state.speeds["x"] == pytest.approx(563.8, abs=0.05)
    assert 130e3 / 740 * abs(state.torques["hold"]) == pytest.approx(54.9, abs=0.05)


def two_coupled_sets() -> GearTrain:
    """Example 13.23, p. 469: suns Z 30 and Y 24 on one shaft, rings R 120 (held) and Q 120 (= first arm)."""
    return GearTrain(
        "suns", "output", ("suns", "r", "arm", "output", "p"),
        (
            PlanetarySet("first", "suns", "r", "arm", 30, 120),
            PlanetarySet("second", "suns", "arm", "output", 24, 120),
            Willis("wheel p", "suns", "p", "output", (24 / 120) * (36 / 144)),
        ),
        (Brake("hold", "r"),),
    )  # fmt: skip


@published(
    quantity="speeds of two coupled planetary sets",
    source=KHURMI,
    place="ex. 13.23, p. 469",
    code="geartrain.solve.solve:speeds",
)
def test_two_coupled_sets_speeds() -> None:
    """Example 13.23, p. 469: input 1500 rpm clockwise, output 500 and wheel P 550 rpm clockwise."""
    speeds = solve(two_coupled_sets(), ["hold"]).speeds
    assert -1500 * speeds["output"] == pytest.approx(-500, abs=1e-9)
    assert -1500 * speeds["p"] == pytest.approx(-550, abs=1e-9)


@published(
    quantity="torque on the case with an efficiency",
    source=KHURMI,
    place="ex. 13.23, p. 469",
    code="geartrain.solve.GearState.case_torque",
    figures=(0,),
)
def test_two_coupled_sets_reaction() -> None:
    """Example 13.23, p. 469: 7.5 kW at an efficiency of 0.8: 66.85 N·m tends to turn the held wheel."""
    state = solve(two_coupled_sets(), ["hold"])
    torque_in = 7.5e3 * 60 / (2 * math.pi * 1500)
    assert torque_in * state.case_torque(efficiency=0.8) == pytest.approx(66.85, abs=0.01)
    assert state.case_torque() == pytest.approx(abs(state.torques["hold"]), abs=1e-12)


@published(
    quantity="speeds of a planetary train",
    source=KHURMI,
    place="ex. 13.8, p. 446",
    code="geartrain.solve.solve:speeds",
)
@pytest.mark.parametrize(("ring_speed", "printed"), [(0.0, -4.1), (10.0, 5.4)])
def test_stepped_planets_between_two_rings(ring_speed: float, printed: float) -> None:
    """Example 13.8, p. 446: rings A 64 and B 62 on planets 28 and 26, arm 100 rpm clockwise."""
    row = Willis("row", "a", "b", "arm", (64 / 28) * (26 / 62))
    if ring_speed:
        sets = (row, Willis("drive", "arm", "a", "case", ring_speed / -100))
        train = GearTrain("arm", "b", ("arm", "a", "b"), sets, ())
    else:
        train = GearTrain("arm", "b", ("arm", "a", "b"), (row,), (Brake("hold", "a"),))
    assert -100 * solve(train, [e.name for e in train.elements]).speeds["b"] == pytest.approx(
        printed, abs=0.05
    )


@published(
    quantity="speeds of a planetary train",
    source=KHURMI,
    place="ex. 13.10, p. 448",
    code="geartrain.solve.solve:speeds",
)
def test_compound_planet_to_internal_gear() -> None:
    """Example 13.10, p. 448: C 50, D 20, E 35, G 105 held, A at 110 rpm: B at 50 rpm."""
    train = GearTrain(
        "a", "b", ("a", "b", "g"),
        (Willis("row", "a", "g", "b", -(50 / 20) * (35 / 105)),), (Brake("hold", "g"),),
    )  # fmt: skip
    assert 110 * solve(train, ["hold"]).speeds["b"] == pytest.approx(50, abs=0.05)


@published(
    quantity="speeds of a planetary train",
    source=KHURMI,
    place="ex. 13.11, p. 450",
    code="geartrain.solve.solve:speeds",
)
def test_two_driven_members() -> None:
    """Example 13.11, p. 450: A 12, B 30, C 14, D 56, E 72; A 1 and D −5 rev/s: arm 27.989, E 33.70 rad/s."""
    train = GearTrain(
        "a", "arm", ("a", "d", "e", "arm"),
        (
            Willis("to d", "a", "d", "arm", -(12 / 30) * (14 / 56)),
            Willis("to e", "a", "e", "arm", -12 / 72),
            Willis("drive", "a", "d", "case", -5.0),
        ),
        (),
    )  # fmt: skip
    speeds = solve(train, []).speeds
    # the book takes A clockwise and D anticlockwise; anticlockwise is positive here
    assert -2 * math.pi * speeds["arm"] == pytest.approx(27.989, abs=5e-4)
    assert -2 * math.pi * speeds["e"] == pytest.approx(33.70, abs=5e-3)


@published(
    quantity="speeds of a planetary train",
    source=KHURMI,
    place="ex. 13.21, p. 466",
    code="geartrain.solve.solve:speeds",
)
def test_large_reduction_holding_torque() -> None:
    """Example 13.21, p. 466: A 14, B 43, C 100 held, E/D 98/41, A at 1200 rpm: E at 4 rpm."""
    train = GearTrain(
        "a", "e", ("a", "c", "e", "arm"),
        (Willis("to c", "a", "c", "arm", -14 / 100), Willis("to e", "a", "e", "arm", -(14 / 43) * (41 / 98))),
        (Brake("hold", "c"),),
    )  # fmt: skip
    state = solve(train, ["hold"])
    assert abs(1200 * state.speeds["e"]) == pytest.approx(4, abs=0.02)
