"""The integrator: order of convergence, a general solver beside it, and work summed independently."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from scipy.integrate import simpson, solve_ivp

from bellhousing.road.drive.drive import Drive
from bellhousing.road.drive.manoeuvres import Manoeuvre, Phase
from bellhousing.road.drive.mechanics import Mechanics, Push, State
from bellhousing.road.drive.road_load import Body
from bellhousing.road.drive.set_up import machine_of
from tests.road.drive.drives import MPH, box_a, drive, middle

SMOOTH = Manoeuvre(
    "smooth",
    "Top gear, steady throttle: nothing slips, locks or shifts.",
    (Phase("D", "pedal 0.3", 6.0),),
    50.0,
    3,
)
WHOLE = Manoeuvre(
    "whole",
    "From rest through both upshifts.",
    (Phase("N", "shut", 0.5, held=True), Phase("D", "shut", 1.5, held=True), Phase("D", "pedal 0.30", 17.0)),
)


def mechanics_of_the_middle_car() -> Mechanics:
    """The middle car's engine, converter, gears and road load."""
    box, car = box_a()
    return machine_of(box, middle(), car, Body()).mechanics


def push(mechanics: Mechanics, pedal: float) -> Push:
    """A pedal held still and nothing else."""
    engines = mechanics.engines
    area = engines.shut + (engines.wide - engines.shut) * pedal**2
    none = np.zeros((3, 1))
    still = np.zeros(1)
    constant, slope = mechanics.road.against(still, still)
    return Push(
        (area,) * 3, (still,) * 3, none, none, constant, slope, np.array([False]), any_held=False, slips=False
    )


def in_top() -> State:
    """Third gear sticks and the engine drives."""
    none = np.zeros(1)
    return State(none, none, none, np.array([2]), np.zeros((4, 1)), np.array([False]))


@cache
def every_step(manoeuvre: Manoeuvre, step: float) -> Drive:
    """The middle car through a manoeuvre, a row at every step."""
    return drive(middle(), manoeuvre, step=step, record=step)


def ends(manoeuvre: Manoeuvre, steps: list[float]) -> np.ndarray:
    """Road and engine speed at the end for each step."""
    found = []
    for step in steps:
        made = every_step(manoeuvre, step)
        found.append([made.speed[-1, 0], made.engine[-1, 0]])
        assert made.time[-1] == pytest.approx(manoeuvre.longest)
    return np.array(found)


def test_fourth_order_where_nothing_slips_or_shifts() -> None:
    """Halving the step divides the error by about sixteen."""
    found = ends(SMOOTH, [0.005, 0.0025, 0.00125])
    ratio = np.abs(found[0] - found[1]) / np.abs(found[1] - found[2])
    assert np.all(ratio > 12.0)


def test_second_order_over_a_whole_drive() -> None:
    """Engagement, two shifts and their locking: halving the step divides the error by about four."""
    found = ends(WHOLE, [0.01, 0.005, 0.0025, 0.00125])
    apart = np.abs(np.diff(found, axis=0))
    assert apart[:, 0].sum() < 0.02 * MPH
    order = np.log2(apart[1] / apart[2])
    assert np.all(order > 1.7)


@pytest.mark.other_program("scipy, an implicit method", code="road.drive.simulate.simulate:speed")
def test_a_general_solver_finds_the_same_drive() -> None:
    """scipy's implicit Runge-Kutta method (Radau) with a tight tolerance, in top gear."""
    mechanics = mechanics_of_the_middle_car()
    held = push(mechanics, 0.3)
    made = drive(middle(), SMOOTH, step=0.01, record=0.5)
    through = mechanics.through(in_top())

    def rate(_: float, x: np.ndarray) -> list[float]:
        speeds = (x[:1], x[1:], x[1:])
        found = mechanics.rates(speeds, held, 0, through)
        return [float(found.engine[0]), float(found.output[0])]

    start = [made.engine[0, 0], made.speed[0, 0] / mechanics.road.metres]
    exact = solve_ivp(
        rate, (0.0, SMOOTH.longest), start, method="Radau", t_eval=made.time, rtol=1e-10, atol=1e-10
    )
    assert made.engine[:, 0] == pytest.approx(exact.y[0], rel=1e-7)
    assert made.speed[:, 0] / mechanics.road.metres == pytest.approx(exact.y[1], rel=1e-7)


def work(manoeuvre: Manoeuvre, step: float) -> tuple[float, float]:
    """Energy that is missing and energy supplied [J], summed by Simpson's rule from the rows of a drive.

    The engine's work is that of its recorded torque; converter and slipping paths take torque times slip,
    and the teeth their share.
    """
    made = every_step(manoeuvre, step)
    mechanics = mechanics_of_the_middle_car()
    time = made.time
    engine, turbine, output = made.engine[:, 0], made.turbine[:, 0], made.speed[:, 0] / mechanics.road.metres
    pump, driven = mechanics.converter.torques(engine, turbine)
    still = np.zeros(len(time))
    load = mechanics.road.load(output, *mechanics.road.against(still, still))
    slip = simpson(made.slip_heat[:, 0] + made.mesh_heat[:, 0], x=time)
    supplied = simpson(made.torque[:, 0] * engine, x=time)
    heat = simpson(pump * engine - driven * turbine, x=time)
    road = simpson(load * output, x=time)
    masses = mechanics.masses
    kinetic = 0.5 * (masses.engine * engine**2 + masses.turbine * turbine**2 + masses.car * output**2)
    return float(supplied - heat - slip - road - (kinetic[-1] - kinetic[0])), float(supplied)


def test_energy_closes_where_nothing_slips_or_locks() -> None:
    """To a millionth of what the engine supplied."""
    missing, supplied = work(SMOOTH, 0.01)
    assert abs(missing) < 1e-6 * supplied


def test_energy_closes_over_a_whole_drive_the_better_the_smaller_the_step() -> None:
    """Engagement, two shifts and all that slips in them: to a thousandth, and falling with the step."""
    shares = []
    for step in (0.01, 0.005, 0.0025):
        missing, supplied = work(WHOLE, step)
        shares.append(abs(missing) / supplied)
    assert shares[0] < 1e-3
    assert shares[2] < 0.5 * shares[0]
