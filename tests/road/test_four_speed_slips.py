"""Which gears of a four-speed slip with which element gone: the pattern follows the chart."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from bellhousing.boxes.gears import applied_elements, gear_train_of
from bellhousing.boxes.load import box_from_bytes, shipped_text
from bellhousing.geartrain.essential import essential_elements
from bellhousing.geartrain.solve import solve
from bellhousing.road.cars import Cars, draw_cars
from bellhousing.road.shown import Shown, show_cars, vehicle
from bellhousing.road.vehicle import Vehicle

COUNT = 60
SLIPS = ("first", "second", "third", "fourth", "reverse")
FORWARD = SLIPS[:4]
ELEMENTS = ("front_band", "rear_band", "front_clutch", "rear_clutch", "reverse_anchor")

AS_SHIPPED = (
    '      "2": [front-clutch, rear-band]\n      "3": [front-band, rear-clutch]\n'
    '      "4": [front-clutch, rear-clutch]\n'
)
SWAPPED = (
    '      "2": [front-band, rear-clutch]\n      "3": [front-clutch, rear-band]\n'
    '      "4": [front-clutch, rear-clutch]\n'
)
"""The same box with the elements of second and third exchanged in the D range of its chart."""


@cache
def cars_of(chart: str) -> tuple[Cars, Vehicle]:
    """Sound cars of box B with this D range."""
    text = shipped_text("box-b")
    assert AS_SHIPPED in text
    box = box_from_bytes(text.replace(AS_SHIPPED, chart, 1).encode())
    return draw_cars(box, COUNT, np.random.default_rng(3)), vehicle(box, 3.08, 0.345, 0.0)


@cache
def shows(chart: str, element: str | None = None) -> Shown:
    """What the cars show with an element burnt away."""
    cars, car = cars_of(chart)
    if element is not None:
        cars = cars.with_values({f"{element}.grip": np.full(COUNT, 0.05)})
    return show_cars(cars, car)


def slipping(chart: str, element: str) -> frozenset[str]:
    """Gears that slip in nearly every car, all others being clean in nearly every car."""
    chances = {gear: shows(chart, element).chances[f"slip-{gear}"][:, 1].mean() for gear in SLIPS}
    assert all(chance > 0.9 or chance < 0.02 for chance in chances.values())
    return frozenset(gear for gear, chance in chances.items() if chance > 0.9)


def suspects(chart: str, *gears: str) -> list[str]:
    """Elements whose loss slips these forward gears and no other forward gear."""
    return [name for name in ELEMENTS if slipping(chart, name) & set(FORWARD) == set(gears)]


@pytest.mark.parametrize(
    ("gears", "element"),
    [
        (("first", "third"), "front_band"),
        (("first", "second"), "rear_band"),
        (("second", "fourth"), "front_clutch"),
        (("third", "fourth"), "rear_clutch"),
    ],
)
def test_two_slipping_gears_name_the_element(gears: tuple[str, str], element: str) -> None:
    """Slip in two gears and in no other names one element."""
    assert suspects(AS_SHIPPED, *gears) == [element]


@pytest.mark.parametrize(
    ("gears", "element"),
    [
        (("first", "second"), "front_band"),
        (("first", "third"), "rear_band"),
        (("third", "fourth"), "front_clutch"),
        (("second", "fourth"), "rear_clutch"),
    ],
)
def test_another_chart_names_another_element(gears: tuple[str, str], element: str) -> None:
    """With second and third exchanged in the chart the same complaint points elsewhere."""
    assert suspects(SWAPPED, *gears) == [element]


def test_slips_are_the_gears_that_apply_the_element() -> None:
    """Of every element, in both charts: exactly the gears whose chart names it."""
    for chart in (AS_SHIPPED, SWAPPED):
        _, car = cars_of(chart)
        for element in ELEMENTS:
            assert slipping(chart, element) == {g for g in SLIPS if element in car.gears[g].applied}


@pytest.mark.parametrize(
    ("element", "state"),
    [("front_band", 5), ("rear_band", 4), ("reverse_anchor", 2), ("front_clutch", 0), ("rear_clutch", 0)],
)
def test_dead_ranges(element: str, state: int) -> None:
    """No drive without the front band, none forward without the rear, no reverse without anchor."""
    cars, car = cars_of(AS_SHIPPED)
    gone = show_cars(cars.with_values({f"{element}.grip": np.zeros(COUNT)}), car)
    assert gone.chances["dead-ranges"][:, state].mean() > 0.95


def test_an_empty_coupling_slips_where_it_carries_most() -> None:
    """Behind the front unit it bears 1.46 times the engine's torque in first and reverse, 0.39 in fourth."""
    cars, car = cars_of(AS_SHIPPED)
    half = show_cars(cars.with_values({"coupling.fill": np.full(COUNT, 0.45)}), car)
    assert half.chances["slip-first"][:, 1].mean() > 0.7
    assert half.chances["slip-reverse"][:, 1].mean() > 0.7
    assert half.chances["slip-fourth"][:, 1].mean() < 0.02
    empty = show_cars(cars.with_values({"coupling.fill": np.full(COUNT, 0.0)}), car)
    assert empty.chances["dead-ranges"][:, 5].mean() > 0.95


@pytest.mark.parametrize(
    ("gear", "ratio", "coupling"),
    [
        ("1", 3.758, 114 / 78),
        ("2", 2.571, 1.0),
        ("3", 1.462, 114 / 78 * 42 / 108),
        ("4", 1.0, 42 / 108),
        ("R", -4.192, 114 / 78),
    ],
)
def test_ratios_and_what_the_coupling_carries(gear: str, ratio: float, coupling: float) -> None:
    """Ratios from the teeth, and the coupling's share: 39 % of its shaft's torque in third and fourth."""
    box = box_from_bytes(shipped_text("box-b").encode())
    train = gear_train_of(box)
    applied = applied_elements(box, "R" if gear == "R" else "D", gear)
    state = solve(train, applied)
    assert state.ratio == pytest.approx(ratio, abs=5e-4)
    assert abs(state.torques["coupling"]) == pytest.approx(coupling, rel=1e-9)
    # Every element the chart applies is needed, and so is the coupling.
    groups = essential_elements(train, applied)
    assert {name for group in groups for name in group.elements} == set(applied)
