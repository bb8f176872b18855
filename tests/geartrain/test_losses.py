"""Mesh losses: the loss-free limit, the power balance, and which way the loss falls."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bellhousing.errors import GearTrainError
from bellhousing.geartrain.layout import CASE, Brake, Clutch, GearTrain, PlanetarySet, Willis
from bellhousing.geartrain.losses import Losses, solve_with_losses
from bellhousing.geartrain.solve import solve
from tests.geartrain.conftest import simpson_train

CHART = {
    "D1": ("forward-clutch",),
    "D2": ("forward-clutch", "intermediate-clutch"),
    "D3": ("forward-clutch", "intermediate-clutch", "direct-clutch"),
    "L1": ("forward-clutch", "low-reverse-band"),
    "R": ("direct-clutch", "low-reverse-band"),
}
teeth = st.tuples(st.integers(18, 50), st.integers(52, 110))
shares = st.floats(0.8, 0.999)


def two_units(front: tuple[int, int], rear: tuple[int, int], reverse: tuple[int, int]) -> GearTrain:
    """A front and a rear unit with a coupling between, and a reverse unit behind them."""
    return GearTrain(
        input="front-ring",
        output="output",
        members=(
            "front-ring",
            "front-sun",
            "front-carrier",
            "rear-sun",
            "rear-ring",
            "output",
            "reverse-ring",
        ),
        sets=(
            PlanetarySet("front", "front-sun", "front-ring", "front-carrier", *front),
            PlanetarySet("rear", "rear-sun", "rear-ring", "output", *rear),
            PlanetarySet("reverse", "rear-ring", "reverse-ring", "output", *reverse),
        ),
        elements=(
            Brake("front-band", "front-sun"),
            Clutch("front-clutch", "front-sun", "front-carrier"),
            Brake("rear-band", "rear-ring"),
            Clutch("rear-clutch", "rear-ring", "front-carrier"),
            Brake("reverse-anchor", "reverse-ring"),
            Clutch("coupling", "front-carrier", "rear-sun"),
        ),
    )


GEARS = {
    "1": ("front-band", "rear-band", "coupling"),
    "2": ("front-clutch", "rear-band", "coupling"),
    "3": ("front-band", "rear-clutch", "coupling"),
    "4": ("front-clutch", "rear-clutch", "coupling"),
    "R": ("front-band", "reverse-anchor", "coupling"),
}


def check_balance(train: GearTrain, applied: tuple[str, ...], found: Losses, drive: int) -> None:
    """Power in, out and lost agree, no set gains any, and elements that hold lose none."""
    state = solve(train, applied, drive=drive)
    through = found.output_torque / state.ratio
    put_in, out = (1.0, through) if drive > 0 else (through, 1.0)
    assert out / put_in == pytest.approx(found.efficiency, rel=1e-9)
    assert sum(found.set_losses.values()) == pytest.approx(1.0 - found.efficiency, abs=1e-9)
    assert min(found.set_losses.values()) > -1e-9
    assert found.efficiency <= 1.0 + 1e-9


@settings(max_examples=60, deadline=None)
@given(teeth, teeth, teeth, shares, st.sampled_from(sorted(GEARS)), st.sampled_from([1, -1]))
def test_power_balances_in_every_gear(
    front: tuple[int, int],
    rear: tuple[int, int],
    reverse: tuple[int, int],
    share: float,
    gear: str,
    drive: int,
) -> None:
    """Two units in series, driving and on the overrun, whatever the teeth and the efficiency."""
    train = two_units(front, rear, reverse)
    found = solve_with_losses(train, GEARS[gear], share, drive=drive)
    check_balance(train, GEARS[gear], found, drive)


@settings(max_examples=60, deadline=None)
@given(teeth, teeth, shares, st.sampled_from(sorted(CHART)))
def test_power_balances_with_a_common_sun(
    first: tuple[int, int], second: tuple[int, int], share: float, gear: str
) -> None:
    """Two sets with one sun between them, driving."""
    train = simpson_train(*first, *second)
    check_balance(train, CHART[gear], solve_with_losses(train, CHART[gear], share), 1)


@pytest.mark.parametrize("gear", sorted(CHART))
def test_the_loss_free_limit_is_the_loss_free_train(gear: str) -> None:
    """With an efficiency of one every torque is that of the loss-free solution."""
    train = simpson_train()
    state, found = solve(train, CHART[gear]), solve_with_losses(train, CHART[gear], 1.0)
    assert found.efficiency == pytest.approx(1.0, abs=1e-12)
    assert found.output_torque == pytest.approx(state.ratio, abs=1e-12)
    assert found.torques == pytest.approx(dict(state.torques), abs=1e-12)


def test_locked_sets_lose_nothing() -> None:
    """In direct drive no mesh rolls, so top gear is without loss."""
    train = two_units((36, 78), (42, 66), (26, 64))
    assert solve_with_losses(train, GEARS["4"], 0.9).efficiency == pytest.approx(1.0, abs=1e-12)
    assert solve_with_losses(train, GEARS["3"], 0.9).set_losses["rear"] == pytest.approx(0.0, abs=1e-12)


def test_losses_multiply_along_a_series() -> None:
    """First of two units in series: the product of what each alone would give."""
    train = two_units((36, 78), (42, 66), (26, 64))
    first, second, third = (solve_with_losses(train, GEARS[g], 0.97).efficiency for g in "123")
    assert first == pytest.approx(second * third, abs=1e-12)


def test_a_brake_holds_more_or_less_than_without_losses() -> None:
    """The reaction is what the output gains over the input: it shrinks with the loss when driving."""
    train = two_units((36, 78), (42, 66), (26, 64))
    plain, lossy = solve(train, GEARS["2"]), solve_with_losses(train, GEARS["2"], 0.95)
    assert abs(lossy.torques["rear-band"]) == pytest.approx(lossy.output_torque - 1.0, abs=1e-12)
    assert abs(lossy.torques["rear-band"]) < abs(plain.torques["rear-band"])


def test_a_train_of_nearly_equal_wheels_locks_by_its_own_friction() -> None:
    """Driven from the sun side through a near-unity row, a great reduction does not turn when driven back."""
    train = GearTrain(
        "arm", "wheel", ("arm", "wheel", "held"),
        (Willis("row", "held", "wheel", "arm", 0.99),), (Brake("hold", "held"),),
    )  # fmt: skip
    assert 0.0 < solve_with_losses(train, ["hold"], 0.98).efficiency < 0.5
    with pytest.raises(GearTrainError, match="lock"):
        solve_with_losses(train, ["hold"], 0.98, drive=-1)


def test_fixed_axes_lose_their_own_share() -> None:
    """A pair of wheels on fixed axes delivers its efficiency, whichever way the power goes."""
    train = GearTrain("a", "b", ("a", "b"), (Willis("pair", "a", "b", CASE, -0.5),), ())
    for drive in (1, -1):
        assert solve_with_losses(train, [], {"pair": 0.96}, drive=drive).efficiency == pytest.approx(0.96)


@pytest.mark.parametrize("share", [0.0, -0.5, 1.01])
def test_impossible_efficiencies_are_refused(share: float) -> None:
    """An efficiency of nought, less, or more than one is no efficiency."""
    with pytest.raises(GearTrainError, match="efficiency"):
        solve_with_losses(simpson_train(), CHART["D1"], share)
