"""Torques, power flow and which one-way clutches hold."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bellhousing.errors import GearTrainError
from bellhousing.geartrain.layout import (
    CASE,
    Brake,
    Clutch,
    GearTrain,
    OneWayClutch,
    PlanetarySet,
    Willis,
)
from bellhousing.geartrain.solve import GearState, solve

A = 30 / 66


def check_balance(train: GearTrain, state: GearState) -> None:
    """Speed equations, torque balance of every set and member, and power, all to 1e-12 of the largest."""
    speeds = {CASE: 0.0, **dict.fromkeys(state.undetermined, 0.0), **state.speeds}
    scale = 1e-12 * max(1.0, *(abs(v) for v in speeds.values()), *(abs(v) for v in state.torques.values()))
    size = max([1.0, *(abs(v) for v in state.set_torques.values())])
    on_member = dict.fromkeys((*train.members, CASE), 0.0)
    on_member[train.input] += 1.0
    on_member[train.output] -= state.ratio
    for gear_set in train.sets:
        members = dict(gear_set.coefficients)
        torques = {m: state.set_torques[gear_set.name, m] for m in members}
        if not set(members) & set(state.undetermined):
            assert abs(sum(c * speeds[m] for m, c in members.items())) < scale
            assert abs(sum(t * speeds[m] for m, t in torques.items())) < scale * size
        assert abs(sum(torques.values())) < scale * size
        assert abs(sum(state.power_flow.get((gear_set.name, m), 0.0) for m in members)) < scale * size
        for member, torque in torques.items():
            on_member[member] += torque
    for name, torque in state.torques.items():
        first, second = train.element(name).ends
        on_member[first] += torque
        on_member[second] -= torque
        if not {first, second} & set(state.undetermined):
            assert abs(torque * (speeds[first] - speeds[second])) < scale * size
    for member in train.members:
        assert abs(on_member[member]) < scale * size
    assert on_member[CASE] == pytest.approx(-state.case_torque(), abs=scale * size)


@pytest.mark.parametrize("name", ["D1", "D2", "D3", "S2", "L1", "R"])
def test_balance_in_every_range(simpson: GearTrain, chart: dict[str, tuple[str, ...]], name: str) -> None:
    """Torque and power balance in every range."""
    check_balance(simpson, solve(simpson, chart[name]))


@pytest.mark.parametrize(
    ("name", "torques"),
    [
        ("D1", {"forward-clutch": -1.0, "low-one-way-clutch": A * (1 + 66 / 30)}),
        ("D2", {"forward-clutch": -1.0, "intermediate-clutch": A, "intermediate-one-way-clutch": A}),
        ("D3", {"forward-clutch": -66 / 96, "direct-clutch": -30 / 96, "intermediate-clutch": 0.0}),
        ("R", {"direct-clutch": -1.0, "low-reverse-band": -96 / 30}),
    ],
)
def test_element_torques_by_hand(
    simpson: GearTrain, chart: dict[str, tuple[str, ...]], name: str, torques: dict[str, float]
) -> None:
    """Torque on each first end by hand: sun a·T, rear carrier a(1 + 1/b)·T, and so on."""
    state = solve(simpson, chart[name])
    for element, torque in torques.items():
        assert state.torques[element] == pytest.approx(torque, abs=1e-12)


@pytest.mark.parametrize(
    ("name", "holding", "overrunning"),
    [
        ("D1", ("low-one-way-clutch",), ()),
        ("D2", ("intermediate-one-way-clutch",), ("low-one-way-clutch",)),
        ("D3", (), ("intermediate-one-way-clutch", "low-one-way-clutch")),
        ("S2", (), ("low-one-way-clutch",)),
        ("L1", (), ()),
        ("R", (), ()),
    ],
)
def test_one_way_clutches(
    simpson: GearTrain,
    chart: dict[str, tuple[str, ...]],
    name: str,
    holding: tuple[str, ...],
    overrunning: tuple[str, ...],
) -> None:
    """Which one-way clutches hold and which over-run; beside a band they carry nothing."""
    state = solve(simpson, chart[name])
    assert (state.holding, state.overrunning) == (holding, overrunning)


def test_a_brake_beside_a_one_way_clutch_carries_the_torque(
    simpson: GearTrain, chart: dict[str, tuple[str, ...]]
) -> None:
    """Redundant but consistent: the band takes what the one-way clutch took."""
    alone, beside = solve(simpson, chart["D1"]), solve(simpson, chart["L1"])
    assert beside.torques["low-reverse-band"] == pytest.approx(alone.torques["low-one-way-clutch"])
    assert beside.torques.get("low-one-way-clutch", 0.0) == 0.0
    assert beside.shared == ()


def test_a_share_that_statics_does_not_settle_is_named() -> None:
    """A set locked by two clutches at once turns as one; which carries how much is not settled."""
    members = ("sun", "ring", "carrier")
    train = GearTrain(
        "sun", "carrier", members, (PlanetarySet("set", *members, 30, 60),),
        (Clutch("c1", "sun", "ring"), Clutch("c2", "ring", "carrier"), Clutch("c3", "sun", "carrier")),
    )  # fmt: skip
    state = solve(train, ["c1", "c2", "c3"])
    assert state.ratio == pytest.approx(1.0)
    assert state.shared == ("c1", "c2", "c3")
    check_balance(train, state)


def test_power_circulates_when_the_output_feeds_back() -> None:
    """A half-and-half set, its second leg driven by the output at 1.5: by hand w = 2, 3 go round."""
    train = GearTrain(
        "in", "out", ("in", "leg", "out"),
        (Willis("set", "in", "leg", "out", -1.0), Willis("pair", "out", "leg", "case", 1.5)),
        (),
    )  # fmt: skip
    state = solve(train, [])
    assert 1 / state.ratio == pytest.approx(2.0)
    assert state.power_flow["set", "leg"] == pytest.approx(3.0)
    assert state.circulating_power == pytest.approx(3.0)
    check_balance(train, state)


def test_power_that_only_divides_does_not_circulate() -> None:
    """The same set with the leg turned the other way at −2: half the power goes each way."""
    train = GearTrain(
        "in", "out", ("in", "leg", "out"),
        (Willis("set", "in", "leg", "out", -1.0), Willis("pair", "out", "leg", "case", -2.0)),
        (),
    )  # fmt: skip
    state = solve(train, [])
    assert 1 / state.ratio == pytest.approx(0.25)
    assert state.power_flow["set", "out"] == pytest.approx(-0.5)
    assert state.power_flow["set", "leg"] == pytest.approx(-0.5)
    assert state.circulating_power == 0.0


@pytest.mark.parametrize("name", ["D1", "D2", "D3", "L1", "R"])
def test_simpson_power_never_circulates(
    simpson: GearTrain, chart: dict[str, tuple[str, ...]], name: str
) -> None:
    """All power of the common-sun train goes straight through."""
    assert solve(simpson, chart[name]).circulating_power == 0.0


teeth = st.tuples(st.integers(15, 60), st.integers(61, 120))


@settings(max_examples=40, deadline=None)
@given(front=teeth, rear=teeth, name=st.sampled_from(["D1", "D2", "D3", "S2", "L1", "R"]))
def test_balance_for_any_teeth(
    front: tuple[int, int], rear: tuple[int, int], name: str, any_simpson: Callable[..., GearTrain]
) -> None:
    """Balance and the general Simpson ratios hold for any teeth."""
    train = any_simpson(*front, *rear)
    applied = {
        "D1": ("forward-clutch",),
        "D2": ("forward-clutch", "intermediate-clutch"),
        "D3": ("forward-clutch", "intermediate-clutch", "direct-clutch"),
        "S2": ("forward-clutch", "intermediate-clutch", "overrun-band"),
        "L1": ("forward-clutch", "low-reverse-band"),
        "R": ("direct-clutch", "low-reverse-band"),
    }[name]
    check_balance(train, solve(train, applied))


MEMBERS = ("m0", "m1", "m2", "m3", "m4")


@st.composite
def any_train(draw: st.DrawFn) -> GearTrain:
    """Up to three sets over five members, single or double pinion, with brakes and clutches."""
    sets = []
    for i in range(draw(st.integers(1, 3))):
        sun, ring, carrier = draw(st.permutations(MEMBERS))[:3]
        sun_teeth, ring_teeth = draw(teeth)
        sets.append(PlanetarySet(f"s{i}", sun, ring, carrier, sun_teeth, ring_teeth, draw(st.booleans())))
    elements: list[Brake | Clutch | OneWayClutch] = []
    for i in range(draw(st.integers(1, 4))):
        a, b = draw(st.permutations(MEMBERS))[:2]
        sense = draw(st.sampled_from([-1, 1]))
        kinds: tuple[Brake | Clutch | OneWayClutch, ...] = (
            Brake(f"e{i}", a),
            Clutch(f"e{i}", a, b),
            OneWayClutch(f"e{i}", a, CASE, sense),
        )
        elements.append(draw(st.sampled_from(kinds)))
    return GearTrain("m0", "m1", MEMBERS, tuple(sets), tuple(elements))


@settings(max_examples=400, deadline=None)
@given(train=any_train(), drive=st.sampled_from([-1, 1]))
def test_any_layout_balances_or_says_why_not(train: GearTrain, drive: int) -> None:
    """Whatever the layout, either all balances and every one-way clutch obeys, or an error says why not."""
    try:
        state = solve(train, [e.name for e in train.elements], drive=drive)
    except GearTrainError:
        return
    check_balance(train, state)
    for clutch in train.elements:
        if not isinstance(clutch, OneWayClutch):
            continue
        assert drive * clutch.holds * state.torques.get(clutch.name, 0.0) <= 1e-9
        if clutch.member in state.speeds:
            assert clutch.holds * state.speeds[clutch.member] <= 1e-9
    again = solve(train, [e.name for e in train.elements][::-1], drive=drive)
    assert again.ratio == state.ratio
