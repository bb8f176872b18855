"""Which gears slip with which element gone: nothing is read from a list, so the pattern must fall out."""

from __future__ import annotations

import pytest

from bellhousing.boxes.gears import applied_elements
from bellhousing.boxes.load import load_box
from bellhousing.road.holding import GEARS
from tests.road.cars_of import changed, shows, sound

SLIPS = ("first", "second", "third", "reverse")

PATTERNS: dict[str, set[str]] = {
    "forward_clutch": {"first", "second", "third"},
    "direct_clutch": {"third", "reverse"},
    "intermediate_clutch": {"second"},
    "intermediate_one_way_clutch": {"second"},
    "low_reverse_band": {"reverse"},
    "low_one_way_clutch": {"first"},
    "overrun_band": set(),
}
"""Gears that slip under load with the element burnt; the overrun band only brakes."""


@pytest.mark.parametrize("element", PATTERNS)
def test_burnt_element_slips_exactly_its_gears(element: str) -> None:
    """Each burnt element slips the gears that cannot do without it, and no other."""
    found = shows(changed(**{f"{element}__grip": 0.02})).chances
    slipping = {gear for gear in SLIPS if found[f"slip-{gear}"][:, 1].mean() > 0.9}
    clean = {gear for gear in SLIPS if found[f"slip-{gear}"][:, 1].mean() < 0.01}
    assert slipping == PATTERNS[element]
    assert clean == set(SLIPS) - PATTERNS[element]


def test_pattern_agrees_with_the_apply_chart() -> None:
    """A clutch or band that slips a gear is applied in it; a one-way clutch needs no applying."""
    box = load_box("box-a")
    for element, gears in PATTERNS.items():
        name = element.replace("_", "-")
        if "one-way" in name:
            continue
        for gear in gears:
            assert name in applied_elements(box, *GEARS[gear])


def test_failed_low_one_way_clutch() -> None:
    """Drive is dead from rest, low drives, reverse drives; second and third do not slip."""
    found = shows(changed(low_one_way_clutch__grip=0.0)).chances
    assert found["dead-ranges"][:, 3].mean() > 0.95
    assert found["slip-second"][:, 1].mean() < 0.01
    assert found["slip-third"][:, 1].mean() < 0.01


@pytest.mark.parametrize(
    ("change", "state"),
    [
        ({"low_reverse_band__grip": 0.0}, 2),
        ({"direct_clutch__grip": 0.0}, 2),
        ({"forward_clutch__grip": 0.0}, 4),
        ({"shaft__whole": 0.0}, 5),
        ({"pump__drive": 0.0}, 5),
    ],
)
def test_dead_ranges(change: dict[str, float], state: int) -> None:
    """No reverse without band or direct clutch, nothing forward without the forward clutch, or nothing."""
    assert shows(changed(**change)).chances["dead-ranges"][:, state].mean() > 0.95


@pytest.mark.parametrize(
    ("element", "missing", "kept"),
    [
        ("overrun_band", {"second"}, {"low", "top"}),
        ("low_reverse_band", {"low"}, {"second", "top"}),
        ("direct_clutch", {"top"}, {"second", "low"}),
    ],
)
def test_engine_braking_goes_with_its_element(element: str, missing: set[str], kept: set[str]) -> None:
    """Second needs the overrun band, low the low-reverse band, top the direct clutch."""
    found = shows(changed(**{f"{element}__grip": 0.0})).chances
    for gear in missing:
        assert found[f"engine-braking-{gear}"][:, 1].mean() > 0.9
    for gear in kept:
        assert found[f"engine-braking-{gear}"][:, 1].mean() < 0.05


def test_burnt_direct_clutch_is_the_flare_two_three_with_slow_reverse() -> None:
    """At a tenth of its grip 2-3 slides, third slips, 1-2 stays clean and reverse takes longer."""
    burnt, usual = shows(changed(direct_clutch__grip=0.12)), shows(sound()[0])
    assert burnt.chances["shift-feel-23"][:, 2].mean() > 0.9
    assert burnt.chances["shift-feel-12"][:, 0].mean() > 0.95
    assert burnt.chances["slip-third"][:, 1].mean() > 0.9
    slower = burnt.readings["engagement-reverse-hot"] / usual.readings["engagement-reverse-hot"]
    assert slower.min() > 1.2
    same = burnt.readings["engagement-drive-hot"] / usual.readings["engagement-drive-hot"]
    assert same == pytest.approx(1.0, abs=1e-6)
