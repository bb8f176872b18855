"""Gear trains the tests of this room share; teeth are invented."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from bellhousing.geartrain.layout import Brake, Clutch, GearTrain, OneWayClutch, PlanetarySet


def simpson_train(sun1: int = 30, ring1: int = 66, sun2: int = 30, ring2: int = 66) -> GearTrain:
    """Two sets with a common sun: front ring driven, front carrier and rear ring to the output."""
    return GearTrain(
        input="turbine",
        output="output",
        members=("turbine", "front-ring", "sun", "output", "rear-carrier", "intermediate-race"),
        sets=(
            PlanetarySet("front", "sun", "front-ring", "output", sun1, ring1),
            PlanetarySet("rear", "sun", "output", "rear-carrier", sun2, ring2),
        ),
        elements=(
            Clutch("forward-clutch", "turbine", "front-ring"),
            Clutch("direct-clutch", "turbine", "sun"),
            Brake("intermediate-clutch", "intermediate-race"),
            OneWayClutch("intermediate-one-way-clutch", "sun", "intermediate-race", holds=-1),
            Brake("overrun-band", "sun"),
            Brake("low-reverse-band", "rear-carrier"),
            OneWayClutch("low-one-way-clutch", "rear-carrier", "case", holds=-1),
        ),
    )


@pytest.fixture
def simpson() -> GearTrain:
    """Equal sets 30/66."""
    return simpson_train()


@pytest.fixture
def chart() -> dict[str, tuple[str, ...]]:
    """Clutches and bands applied in each range; one-way clutches see to themselves."""
    return {
        "D1": ("forward-clutch",),
        "D2": ("forward-clutch", "intermediate-clutch"),
        "D3": ("forward-clutch", "intermediate-clutch", "direct-clutch"),
        "S1": ("forward-clutch",),
        "S2": ("forward-clutch", "intermediate-clutch", "overrun-band"),
        "L1": ("forward-clutch", "low-reverse-band"),
        "R": ("direct-clutch", "low-reverse-band"),
    }


@pytest.fixture
def ravigneaux() -> GearTrain:
    """Small sun 30 through double pinions, large sun 36, one ring 72 to the output."""
    return GearTrain(
        input="turbine",
        output="ring",
        members=("turbine", "small-sun", "large-sun", "carrier", "ring"),
        sets=(
            PlanetarySet("double", "small-sun", "ring", "carrier", 30, 72, double_pinion=True),
            PlanetarySet("single", "large-sun", "ring", "carrier", 36, 72),
        ),
        elements=(
            Clutch("small-sun-clutch", "turbine", "small-sun"),
            Clutch("large-sun-clutch", "turbine", "large-sun"),
            Clutch("carrier-clutch", "turbine", "carrier"),
            Brake("large-sun-band", "large-sun"),
            Brake("carrier-band", "carrier"),
        ),
    )


@pytest.fixture(scope="session")
def any_simpson() -> Callable[..., GearTrain]:
    """The same builder for property tests, which may not use a fixture made anew for each test."""
    return simpson_train
