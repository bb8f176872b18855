"""Margins of the holding elements against sums by hand, and the heat of a change against its energy."""

from __future__ import annotations

import math

import numpy as np
import pytest

from bellhousing.boxes.load import load_box
from bellhousing.road.cars import Cars, draw_cars, middle_car
from bellhousing.road.margins import gear_margins, shift_heats
from bellhousing.road.shown import vehicle
from bellhousing.road.vehicle import Vehicle

PSI = 6894.757


@pytest.fixture(scope="module", params=["box-a", "box-b"])
def box(request: pytest.FixtureRequest) -> tuple[Cars, Cars, Vehicle]:
    """Plausible cars, the middle one, and the box in its car."""
    loaded = load_box(request.param)
    car = vehicle(loaded, 3.08, 0.345, 0.0)
    return draw_cars(loaded, 200, np.random.default_rng(5)), middle_car(loaded), car


def test_every_gear_that_drives_has_its_margins(box: tuple[Cars, Cars, Vehicle]) -> None:
    """Held torque grows with the line, and a sound box holds full throttle in nine cars of ten."""
    cars, middle, car = box
    found = gear_margins(cars, middle, car, [60 * PSI, 100 * PSI, 140 * PSI])
    assert [entry.gear for entry in found] == list(car.gears)
    for gear in found:
        assert gear.groups
        for group in gear.groups:
            assert np.all(np.diff(group.held, axis=0) >= 0.0)
            assert (group.margin >= 1.0).mean() > 0.9
            at = np.interp(group.slips_below, np.array([60, 100, 140]) * PSI, np.median(group.held, axis=1))
            if 60 * PSI < group.slips_below < 140 * PSI:
                assert at == pytest.approx(float(np.median(gear.demand)), rel=0.05)


def test_a_plate_clutch_against_a_sum_by_hand(box: tuple[Cars, Cars, Vehicle]) -> None:
    """T = n μ (p A − F) r of the middle car; what its feed and leak take away is a few in a hundred."""
    _, middle, car = box
    name = "forward_clutch" if car.kind.startswith("three") else "front_clutch"
    slug = name.replace("_", "-")
    pressure = 100 * PSI
    radius = 0.5 * (middle[f"{name}.inner_radius"] + middle[f"{name}.outer_radius"])
    force = pressure * middle[f"{name}.piston_area"] - middle[f"{name}.return_force"]
    by_hand = float((middle[f"{name}.plates"] * middle[f"{name}.friction_coefficient"] * force * radius)[0])
    second = next(g for g in gear_margins(middle, middle, car, [pressure]) if g.gear == "second")
    group = next(g for g in second.groups if slug in g.elements)
    assert float(group.held[0, 0]) * group.share == pytest.approx(by_hand, rel=0.05)
    assert float(group.held[0, 0]) * group.share <= by_hand * (1 + 1e-9)


def test_the_heat_of_a_change_lies_between_its_bounds(box: tuple[Cars, Cars, Vehicle]) -> None:
    """``½·I·Δω² ≤ E ≤ ½·I·Δω² + T·Δω·t``: what turned, and what the engine did meanwhile."""
    _, middle, car = box
    found = shift_heats(middle, car)
    assert {entry.throttle for entry in found} == {"light", "medium", "full"}
    for entry in found:
        turning = 0.5 * float(middle["engine.inertia"][0]) * entry.slip**2
        pushed = float(middle["engine.peak_torque"][0]) * entry.slip * entry.time
        assert turning * (1 - 1e-6) <= entry.energy <= turning + pushed
        if math.isfinite(entry.power):
            assert entry.lining_margin == pytest.approx(2.3e6 / entry.power)
            assert entry.steel_rise > 0.0
        else:
            assert any("band" in name for name in entry.elements)


def test_full_throttle_heats_most(box: tuple[Cars, Cars, Vehicle]) -> None:
    """A later change with more torque is hotter, in every gear."""
    _, middle, car = box
    for into in {entry.into for entry in shift_heats(middle, car)}:
        heats = {entry.throttle: entry.energy for entry in shift_heats(middle, car) if entry.into == into}
        assert heats["light"] < heats["medium"] < heats["full"]
