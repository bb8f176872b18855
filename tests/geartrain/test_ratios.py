"""Ratios and speeds against formulas derived by hand (identities and own derivations)."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from bellhousing.geartrain.layout import Brake, Clutch, GearTrain, PlanetarySet, Willis
from bellhousing.geartrain.solve import solve

MEMBERS = ("sun", "ring", "carrier")


@pytest.mark.parametrize(
    ("driver", "driven", "held", "speed_ratio"),
    [
        ("sun", "carrier", "ring", 3.2),
        ("ring", "carrier", "sun", 1 + 1 / 2.2),
        ("carrier", "ring", "sun", 2.2 / 3.2),
        ("carrier", "sun", "ring", 1 / 3.2),
        ("sun", "ring", "carrier", -2.2),
        ("ring", "sun", "carrier", -1 / 2.2),
    ],
)
def test_six_modes_of_a_simple_set(driver: str, driven: str, held: str, speed_ratio: float) -> None:
    """The six ways to use one set 30/66, ring over sun k = 2.2."""
    train = GearTrain(
        driver, driven, MEMBERS, (PlanetarySet("set", *MEMBERS, 30, 66),), (Brake("brake", held),)
    )
    assert solve(train, ["brake"]).ratio == pytest.approx(speed_ratio, abs=1e-12)


@pytest.mark.parametrize(("a", "b"), [((30, 66), (30, 66)), ((28, 57), (37, 80)), ((24, 70), (31, 62))])
def test_simpson_ratios_in_general(
    a: tuple[int, int],
    b: tuple[int, int],
    chart: dict[str, tuple[str, ...]],
    any_simpson: Callable[..., GearTrain],
) -> None:
    """First 1 + a + a/b, second 1 + a, third 1, reverse −1/b with a, b = sun over ring teeth."""
    train = any_simpson(*a, *b)
    first, second = a[0] / a[1], b[0] / b[1]
    expected = {"D1": 1 + first + first / second, "D2": 1 + first, "D3": 1.0, "R": -1 / second}
    for name, ratio in expected.items():
        assert solve(train, chart[name]).ratio == pytest.approx(ratio, abs=1e-12)


@pytest.mark.parametrize(("name", "ratio"), [("D1", 2.5533), ("D2", 1.4912), ("R", -2.1622)])
def test_unequal_simpson_numbers(
    name: str, ratio: float, chart: dict[str, tuple[str, ...]], any_simpson: Callable[..., GearTrain]
) -> None:
    """Sets 28/57 and 37/80, own arithmetic to four decimals."""
    train = any_simpson(28, 57, 37, 80)
    assert solve(train, chart[name]).ratio == pytest.approx(ratio, abs=5e-5)


def test_common_sun_in_neutral(simpson: GearTrain) -> None:
    """With the ring driven and the output standing, the free common sun turns at −k times the input."""
    members = ("turbine", "front-ring", "sun", "output")
    standing = GearTrain(
        "turbine", "sun", members, simpson.sets[:1], (simpson.elements[0], Brake("pawl", "output"))
    )
    state = solve(standing, ["forward-clutch", "pawl"])
    assert state.speeds["sun"] == pytest.approx(-2.2, abs=1e-12)


@pytest.mark.parametrize(
    ("applied", "ratio"),
    [
        (("small-sun-clutch", "carrier-band"), 72 / 30),
        (("small-sun-clutch", "large-sun-band"), 1.4666666666666668),
        (("small-sun-clutch", "carrier-clutch"), 1.0),
        (("carrier-clutch", "large-sun-band"), 72 / (72 + 36)),
        (("large-sun-clutch", "carrier-band"), -2.0),
    ],
)
def test_ravigneaux(ravigneaux: GearTrain, applied: tuple[str, ...], ratio: float) -> None:
    """Five ranges of a set with a short and a long pinion."""
    assert solve(ravigneaux, applied).ratio == pytest.approx(ratio, abs=1e-12)


FOUR_SPEED = GearTrain(
    input="engine",
    output="output",
    members=("engine", "front-sun", "front-carrier", "rear-sun", "rear-ring", "output", "reverse-ring"),
    sets=(
        PlanetarySet("front", "front-sun", "engine", "front-carrier", 36, 78),
        PlanetarySet("rear", "rear-sun", "rear-ring", "output", 42, 66),
        PlanetarySet("reverse", "rear-ring", "reverse-ring", "output", 26, 64),
    ),
    elements=(
        Brake("front-band", "front-sun"),
        Clutch("front-clutch", "front-sun", "front-carrier"),
        Clutch("coupling", "front-carrier", "rear-sun"),
        Brake("rear-band", "rear-ring"),
        Clutch("rear-clutch", "rear-ring", "front-carrier"),
        Brake("anchor", "reverse-ring"),
    ),
)


@pytest.mark.parametrize(
    ("applied", "ratio"),
    [
        (("front-band", "rear-band"), 3.758),
        (("front-clutch", "rear-band"), 2.571),
        (("front-band", "rear-clutch"), 1.462),
        (("front-clutch", "rear-clutch"), 1.0),
        (("front-band", "anchor"), -4.192),
    ],
)
def test_two_reducing_sets_in_series(applied: tuple[str, ...], ratio: float) -> None:
    """An invented four-speed, fronts 36/78, rear 42/66, reverse 26/64: each set reduces or is locked."""
    assert solve(FOUR_SPEED, [*applied, "coupling"]).ratio == pytest.approx(ratio, abs=5e-4)


def test_coupling_between_the_units_carries_part_of_the_torque() -> None:
    """With both units locked the rear sun takes 42/(42 + 66) of the torque, about 39 %."""
    state = solve(FOUR_SPEED, ["front-clutch", "rear-clutch", "coupling"])
    assert abs(state.torques["coupling"]) == pytest.approx(42 / 108, abs=1e-12)


def test_member_free_to_turn_is_named(simpson: GearTrain, chart: dict[str, tuple[str, ...]]) -> None:
    """In reverse the driven front ring's clutch is off but its speed is settled; the race is not."""
    state = solve(simpson, chart["R"])
    assert state.undetermined == ("intermediate-race",)
    assert "intermediate-race" not in state.speeds
    assert state.speeds["front-ring"] == pytest.approx(
        (96 * state.speeds["output"] - 30 * state.speeds["sun"]) / 66, abs=1e-12
    )


def test_double_pinion_by_train_value_agrees() -> None:
    """A double-pinion set is a train value of +Zs/Zr: the two ways to say it give one answer."""
    brake = (Brake("brake", "ring"), Clutch("unused", "sun", "ring"))
    by_teeth = GearTrain(
        "sun", "carrier", MEMBERS, (PlanetarySet("set", *MEMBERS, 30, 72, double_pinion=True),), brake
    )
    by_value = GearTrain("sun", "carrier", MEMBERS, (Willis("set", *MEMBERS, 30 / 72),), brake)
    assert solve(by_teeth, ["brake"]).ratio == pytest.approx(1 - 72 / 30, abs=1e-12)
    assert solve(by_value, ["brake"]).ratio == pytest.approx(1 - 72 / 30, abs=1e-12)


def test_ratio_is_finite_for_near_unity_trains() -> None:
    """Teeth that differ by one give a very large, still exact ratio."""
    train = GearTrain(
        "arm", "out", ("arm", "out", "fixed"), (Willis("row", "fixed", "out", "arm", 9999 / 10000),),
        (Brake("brake", "fixed"),),
    )  # fmt: skip
    assert math.isclose(solve(train, ["brake"]).ratio, 10000.0, rel_tol=1e-9)
