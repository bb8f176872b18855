"""Single steps of simulated three-speed drives worked out another way: by a library, by Newton, by roots."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicHermiteSpline
from scipy.optimize import brentq

from bellhousing.hydraulics.fluid import density, kinematic_viscosity
from bellhousing.road.drive.foot import foot_of
from bellhousing.road.drive.long_step import long_step
from bellhousing.road.drive.looked import Bears
from bellhousing.road.drive.manoeuvres import Manoeuvre, Phase
from bellhousing.road.drive.mechanics import State
from bellhousing.road.drive.moving import Moving
from bellhousing.road.drive.road_load import Body
from bellhousing.road.drive.set_up import Machine, machine_of
from tests.road.drive.drives import PSI, RPM, box_a, middle

STILL = np.zeros(1)
FULL = Manoeuvre("by hand", "The pedal down in second gear.", (Phase("D", "full", 5.0),))
HOT = 80.0


@cache
def machine() -> Machine:
    """The middle car of box A without loss in its teeth."""
    box, car = box_a()
    made = machine_of(box, middle(), car, Body())
    lossless = replace(made.mechanics.paths, driving=np.ones((4, 1)), overrun=np.ones((4, 1)))
    return replace(made, mechanics=replace(made.mechanics, paths=lossless))


def in_second(bears: float = 900.0, rate: float = 0.0) -> Moving:
    """The middle car with its pedal down in second gear, whose path bears a torque that changes [N m/s]."""
    mechanics = machine().mechanics
    foot = foot_of(FULL, mechanics.engines)
    output = np.array([90.0])
    turbine = mechanics.paths.ratio[1] * output
    side = np.where(turbine > mechanics.paths.ratio * output, 1.0, -1.0)
    side[1] = 0.0
    state = State(turbine + 60.0, turbine, output, np.array([1]), side, np.array([False]))
    torque, changes = np.zeros((8, 1)), np.zeros((8, 1))
    torque[1], torque[5], changes[1] = bears, 0.5 * bears, rate
    return Moving(mechanics, foot, state, Bears(0.0, torque, changes, np.array([False])), foot.set_to(0.0))


@pytest.mark.beside(
    "a straight line through what is borne, read by numpy", code="road.drive.moving.Moving.held_by_stuck"
)
def test_what_second_gear_holds_until_the_next_look() -> None:
    """From 900 N m at the look to 700 a tenth of a second on; half of it at the look, and as much later."""
    moving = in_second(rate=-2000.0)
    for time in (0.0, 0.03, 0.07, 0.1):
        driving, overrun = moving.held_by_stuck(time)
        assert driving == pytest.approx(np.interp(time, [0.0, 0.1], [900.0, 700.0]), rel=1e-9)
        assert overrun == pytest.approx(450.0)
    assert in_second(rate=-2000.0).held_by_stuck(0.6)[0] == 0.0
    loose = in_second()
    loose.state.stuck[:] = -1
    assert np.isinf(loose.held_by_stuck(0.0)).all()


@pytest.mark.beside(
    "Newton's law of engine, turbine and car", code="road.drive.moving.Moving.settle:0.rates.output"
)
@pytest.mark.parametrize("bears", [900.0, 100.0])
def test_a_settled_moment_by_newton(bears: float) -> None:
    """What holds drives car and turbine together; what cannot slips, bears all it can, and lets both go."""
    moving, masses = in_second(bears), machine().mechanics.masses
    moment, push = moving.settle(0.0, 0.01)
    rates, ratio = moment.rates, machine().mechanics.paths.ratio[1]
    holds = moving.state.stuck[0] == 1
    assert holds == (bears == 900.0)
    through_gear = moment.needed if holds else bears
    assert masses.turbine * rates.turbine == pytest.approx(rates.turbine_torque - through_gear, rel=1e-9)
    assert masses.car * rates.output == pytest.approx(ratio * through_gear - rates.load, rel=1e-9)
    assert masses.engine * rates.engine == pytest.approx(rates.engine_torque - rates.pump_torque, rel=1e-9)
    assert holds == bool(np.isclose(rates.turbine, ratio * rates.output))
    assert holds or push.taken == pytest.approx(np.full((3, 1), bears))


@pytest.mark.other_program(
    "scipy, an explicit method of eighth order",
    code=(
        "road.drive.long_step.long_step:part.state.engine",
        "road.drive.long_step.long_step:part.state.output",
    ),
)
def test_a_long_step_by_a_general_solver() -> None:
    """What engine and car gain in 0.02 s, to a few parts in ten thousand.

    An engine that still runs up is not let take it; one that pulls steadily takes 0.04 s.
    """
    moving = in_second()
    made, push, through = moving.mechanics, moving.still_push(), moving.path()
    ratio = float(made.paths.ratio[1, 0])

    def rate(_: float, speeds: np.ndarray) -> np.ndarray:
        engine, output = speeds[:, None]
        found = made.rates((engine, ratio * output, output), push, 0, through)
        return np.concatenate([found.engine, found.output])

    start = np.array([moving.state.engine[0], moving.state.output[0]])
    wanted = solve_ivp(rate, (0.0, 0.02), start, method="DOP853", rtol=1e-12, atol=1e-12).y[:, -1]
    step = long_step(moving, 0.0, 0.02)
    there = np.array([step.part.state.engine[0], step.part.state.output[0]])
    assert there - start == pytest.approx(wanted - start, rel=5e-4)
    steady = in_second()
    steady.state.engine += 39.0
    assert not step.good.any()
    assert long_step(steady, 0.0, 0.04).good.all()


@pytest.mark.beside(
    "the slope of the converter's torque by differences",
    code=("road.drive.mechanics.Mechanics.quickness", "road.drive.mechanics.Mechanics.free_quickness"),
)
def test_how_fast_an_engine_answers_its_converter() -> None:
    """At 300 rad/s: 2 w (1 + r⁴) times it with the turbine at 0.6; 4 w times it with both free and alike."""
    made, w, step = machine().mechanics, 300.0, 1e-3

    def slope(turbine: float) -> float:
        ways = [made.converter.torques(np.array([w + d]), np.array([turbine]))[0][0] for d in (step, -step)]
        return float(ways[0] - ways[1]) / (2.0 * step)

    engine, turbine = float(made.masses.engine[0]), float(made.masses.turbine[0])
    assert 2.0 * w * (1.0 + 0.6**4) * made.quickness == pytest.approx(slope(0.6 * w) / engine, rel=1e-6)
    alike = slope(w - 2.0 * step) * (1.0 / engine + 1.0 / turbine)
    assert 4.0 * w * made.free_quickness == pytest.approx(alike, rel=1e-4)


@pytest.mark.other_program(
    "scipy, a cubic through two ends and their slopes",
    code=(
        "road.drive.long_step.LongStep.between:0.state.engine",
        "road.drive.long_step.LongStep.between:1.rates.output",
    ),
)
def test_speeds_within_a_long_step_by_a_library() -> None:
    """At a third and at three quarters of a step of 0.04 s; the rates there are those of these speeds."""
    moving, ahead = in_second(), 0.04
    start = (moving.state.engine[0], moving.state.output[0])
    step = long_step(moving, 0.0, ahead)
    for share in (1.0 / 3.0, 0.75):
        there, moment = step.between(share * ahead)
        for begin, end, rate, rate_end, found in (
            (
                start[0],
                moving.state.engine,
                step.first.rates.engine,
                step.last.rates.engine,
                there.state.engine,
            ),
            (
                start[1],
                moving.state.output,
                step.first.rates.output,
                step.last.rates.output,
                there.state.output,
            ),
        ):
            cubic = CubicHermiteSpline([0.0, ahead], [begin, end[0]], [rate[0], rate_end[0]])
            assert found[0] == pytest.approx(float(cubic(share * ahead)), rel=1e-12)
        again = in_second()
        again.state = there.state
        rates = again.settle(0.0, 1e-6)[0].rates
        assert moment.rates.output == pytest.approx(rates.output, rel=1e-9)
        assert moment.rates.engine == pytest.approx(rates.engine, rel=1e-9)


@pytest.mark.beside(
    "the flow that orifice and passage share, by a root finder",
    code="road.drive.valves.ValveBody.fill_and_stroke",
)
def test_filling_and_stroke_by_the_flow_through_the_feed() -> None:
    """The clutch of second gear at 60 psi and 2000 rpm, its pump not asked too much.

    Its hole and the passage behind it, 0.3 m of the same bore, take the pressure between them; the stroke
    runs on what the line has over the accumulator's plateau, through the hole alone.
    """
    cars, line = middle(), 60.0 * PSI
    fill, stroke = machine().body.fill_and_stroke(
        1, np.array([True]), np.array([line]), np.array([2000.0 * RPM])
    )

    def of(name: str) -> float:
        return float(cars[f"intermediate_clutch.{name}"][0])

    rho = float(density(cars["fluid.density_15"], HOT)[0])
    thin = float(kinematic_viscosity(HOT, cars["fluid.viscosity_40"], cars["fluid.viscosity_100"])[0])
    springs = of("return_force") / of("piston_area")
    hole = 0.62 * np.pi / 4.0 * of("feed_diameter") ** 2

    def left(flow: float) -> float:
        in_hole = 0.5 * rho * (flow / hole) ** 2
        in_passage = 128.0 * thin * rho * 0.3 * flow / (np.pi * of("feed_diameter") ** 4)
        return line - springs - in_hole - in_passage

    flow = brentq(left, 0.0, 1e-2)
    assert fill[0] == pytest.approx(of("apply_volume") / (flow - of("leakage") * springs), rel=1e-6)
    over = line * (1.0 - float(cars["accumulator_first_second.plateau"][0]))
    volume = box_a()[0].number("accumulator_first_second.volume").value
    assert volume is not None
    assert stroke[0] == pytest.approx(volume / (hole * np.sqrt(2.0 * over / rho)), rel=1e-6)
