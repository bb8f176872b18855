"""Margins of the holding elements against sums by hand, and the heat of a change against its energy."""

from __future__ import annotations

import math

import numpy as np
import pytest

from bellhousing.boxes.load import load_box
from bellhousing.road.cars import Cars, draw_cars, middle_car
from bellhousing.road.margins import gear_margins
from bellhousing.road.shift_heat import engagement_heats, shift_heats
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
        assert entry.turned == pytest.approx(turning, rel=1e-6)
        assert entry.before - entry.after == pytest.approx(entry.slip, rel=1e-6)
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


TURNING = 0.07
LB_FT = 1.3558179


def test_the_heat_of_going_into_gear_added_up_step_by_step(box: tuple[Cars, Cars, Vehicle]) -> None:
    """Turbine or runner from idle to rest against an evenly rising torque, in steps of 10 µs.

    What drives it meanwhile is worked out from the figures of the file: 2.1 · (600 / 109)² lb ft behind the
    converter of box A, ((78 / 114) · 450 / 60)² lb ft in the coupling of box B.
    """
    _, middle, car = box
    idle = float(middle["engine.idle_speed"][0])
    rpm = idle * 30.0 / math.pi
    if car.kind.startswith("three"):
        size = float(middle["converter.capacity_factor"][0]) * 30.0 / math.pi * math.sqrt(LB_FT)
        driven = float(middle["converter.stall_torque_ratio"][0]) * (rpm / size) ** 2 * LB_FT
        names = [("forward-clutch",), ("direct-clutch", "low-reverse-band")]
    else:
        driven = (78.0 / 114.0 * 450.0 / 60.0) ** 2 * LB_FT
        names = [("rear-band",), ("reverse-anchor",)]
    found = engagement_heats(middle, car, TURNING)
    assert [entry.into for entry in found] == ["drive", "reverse"]
    assert [entry.elements for entry in found] == names
    for entry in found:
        # The torque that stops it is read back from the time: what is left to check is the heat.
        low, high = driven / 0.25, 1e6
        for _ in range(60):
            rate = 0.5 * (low + high)
            low, high = (rate, high) if _stopped(rate, idle, driven)[0] > entry.time else (low, rate)
        time, heat = _stopped(rate, idle, driven)
        assert time == pytest.approx(entry.time, rel=1e-3)
        assert heat == pytest.approx(entry.energy, rel=3e-3)
        assert 0.5 * TURNING * idle**2 < entry.energy < 0.5 * TURNING * idle**2 + driven * idle * entry.time


def _stopped(rate: float, idle: float, driven: float) -> tuple[float, float]:
    """Time [s], heat [J] of stopping what turns, the torque rising by `rate` [N·m/s], in steps of 20 µs."""
    speed, heat, now, step = idle, 0.0, 0.0, 2e-5
    while speed > 0.0 and now < 0.25:
        held = rate * (now + step / 2.0)
        change = min(driven - held, 0.0) / TURNING * step
        heat += held * max(speed + change / 2.0, 0.0) * step
        speed, now = speed + change, now + step
    return now, heat


def test_a_weak_line_takes_longer_and_heats_more(box: tuple[Cars, Cars, Vehicle]) -> None:
    """Half the pressure of the regulator and signal, more slip before it holds."""
    _, middle, car = box
    low = middle.with_values({"regulator.spring_pressure": 0.5 * middle["regulator.spring_pressure"]})
    for sound, weak in zip(
        engagement_heats(middle, car, TURNING), engagement_heats(low, car, TURNING), strict=True
    ):
        if sound.elements != ("reverse-anchor",):  # held by its shape, whatever the line
            assert weak.time > sound.time
            assert weak.energy > sound.energy
