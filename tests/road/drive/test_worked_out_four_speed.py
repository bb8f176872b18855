"""Parts of the simulated four-speed drives worked out another way: by virtual work and by the whole train."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from bellhousing.boxes.gears import applied_elements, gear_train_of
from bellhousing.geartrain.losses import solve_with_losses
from bellhousing.geartrain.solve import solve
from bellhousing.hydraulics.governor import governor_pressure
from bellhousing.hydraulics.governor_sum import GovernorSum
from bellhousing.road.cars import Cars
from bellhousing.road.drive.four.layout import Layout, layout_of
from bellhousing.road.drive.four.mechanics import NO_TORQUE, Acting, Bound, times
from bellhousing.road.drive.four.mechanics import Mechanics as FourMechanics
from bellhousing.road.drive.four.mechanics import State as FourState
from bellhousing.road.drive.four.run import _mechanics
from bellhousing.road.drive.four.sticking import carried as carried_by_four
from bellhousing.road.drive.four.sticking import slipping_torque
from bellhousing.road.drive.four.valves import linkage_body
from bellhousing.road.drive.road_load import Body
from bellhousing.road.four_speed import pressures as linkage_pressures
from bellhousing.road.four_speed.driving import up_speed as up_speed_of_four
from bellhousing.road.holding import FOUR_SPEED_GEARS
from tests.road.drive.drives import PSI, RPM, box_b, middle_b

STILL = np.zeros(1)


@cache
def four() -> tuple[FourMechanics, Layout, Cars]:
    """The middle four-speed, its layout without loss in the teeth."""
    box, car = box_b()
    cars = middle_b()
    layout = layout_of(box, 1.0)
    return _mechanics(box, cars, car, layout, Body()), layout, cars


@pytest.mark.beside("the gear train solved as a whole", code="road.drive.four.mechanics.Mechanics.slips")
@pytest.mark.parametrize("gear", ["first", "second", "third", "fourth"])
def test_slips_by_the_whole_train(gear: str) -> None:
    """What is applied stands still against its other end; the rest slips as the solved members turn."""
    made, layout, _ = four()
    train = gear_train_of(box_b()[0])
    state = solve(train, applied_elements(box_b()[0], *FOUR_SPEED_GEARS[gear]))
    ends = {one.name.replace("-", "_"): one.ends for one in train.elements}
    coupling = next(one for one in train.elements if one.name.replace("-", "_") not in layout.names)
    speeds = np.array([[100.0 * state.speeds[name]] for name in (train.input, *coupling.ends, train.output)])
    slips = made.slips(speeds)[:, 0]
    turned = {**state.speeds, "case": 0.0}
    for place, name in enumerate(layout.names):
        one, other = (turned.get(end, 0.0) for end in ends[name])
        assert slips[place] == pytest.approx(100.0 * (one - other), abs=1e-6)


@pytest.mark.beside(
    "virtual work, and the power that is left over",
    code=(
        "road.drive.four.mechanics.Mechanics.on_speeds",
        "road.drive.four.mechanics.Mechanics.mesh_loss",
    ),
)
def test_torques_on_the_speeds_by_virtual_work() -> None:
    """Whatever turns and holds: power out of the speeds is heat in slip and in the teeth."""
    made, layout, _ = four()
    rng = np.random.default_rng(8)
    torque, speeds = rng.normal(size=(len(layout.names), 6)), rng.normal(size=(4, 6))
    for passed in (np.ones_like(torque), rng.uniform(0.9, 1.0, torque.shape)):
        power = (made.on_speeds(torque, passed) * speeds).sum(axis=0)
        heat = (torque * made.slips(speeds)).sum(axis=0) + made.mesh_loss(torque, speeds, passed)
        assert power == pytest.approx(-heat, abs=1e-9)
        assert made.on_speeds(torque, passed).any()


def bound_in(gear: str, made: FourMechanics, layout: Layout) -> tuple[FourState, Bound]:
    """A gear whose two elements stick."""
    front, rear = sorted(layout.gears[gear])
    count = len(layout.names)
    state = FourState(
        np.array([[180.0], [0.0], [0.0], [0.0]]),
        np.array([[front], [rear]]),
        np.ones((count, 1)),
        np.zeros((count, 1), dtype=bool),
    )
    return state, made.bound(state, np.array([False]))


def acting(made: FourMechanics) -> Acting:
    """A throttle half open on the level."""
    area = 0.5 * (made.engines.shut + made.engines.wide)
    return Acting((area,) * 3, (STILL,) * 3, NO_TORQUE, *made.road.against(STILL, STILL))


@pytest.mark.beside(
    "what sticks goes on sticking, and energy",
    code=(
        "road.drive.four.sticking.carried",
        "road.drive.four.sticking.slipping_torque",
        "road.drive.four.mechanics.Mechanics.torques",
    ),
)
def test_what_sticks_in_a_four_speed_by_newton() -> None:
    """With the torque told on them, sticking elements have no slip to come; a slipping one bears all it can.

    Power on the four speeds is the engine's less that of the fluid and of the road; the fluid takes its
    capacity times w² - v⁴/w².
    """
    made, layout, _ = four()
    state, bound = bound_in("second", made, layout)
    speeds = np.array([[200.0], [150.0], [120.0], [60.0]])
    torque, engine, fluid, load = made.torques(speeds, acting(made), 0)
    left = engine * speeds[0] - fluid * (speeds[1] - speeds[2]) - load * speeds[3]
    assert (torque * speeds).sum(axis=0) == pytest.approx(left, rel=1e-9)
    assert fluid == pytest.approx(made.coupling.capacity * (150.0**2 - 120.0**4 / 150.0**2), rel=1e-9)
    share = made.engines.share(speeds[0], acting(made).area[0], STILL)
    assert engine == pytest.approx(made.engines.torque(speeds[0], share), rel=1e-9)
    borne = carried_by_four(bound, torque, state)
    whole = torque + made.on_speeds(borne, np.ones_like(borne))
    rates = whole / made.inertia
    stuck = state.stuck[:, 0]
    assert made.slips(rates)[stuck, 0] == pytest.approx(0.0, abs=1e-7)
    assert rates == pytest.approx(times(bound.answer, torque), rel=1e-9, abs=1e-9)
    assert abs(borne[stuck, 0]).min() > 1.0
    bears = np.full((2, *borne.shape), 40.0)
    slipping = slipping_torque(state, bears)[:, 0]
    assert sorted(slipping) == pytest.approx([0.0, 0.0] + [40.0] * (len(slipping) - 2))


@pytest.mark.other_program(
    "scipy, an explicit method of eighth order", code="road.drive.four.mechanics.Mechanics.step"
)
def test_a_step_of_the_four_speed_by_a_general_solver() -> None:
    """A hundredth of a second in second gear: to a few parts in a hundred million."""
    made, layout, _ = four()
    _, bound = bound_in("second", made, layout)
    push = acting(made)

    def rate(_: float, x: np.ndarray) -> np.ndarray:
        return times(bound.answer, made.torques(x[:, None], push, 0)[0])[:, 0]

    start = np.array([200.0, 150.0, 120.0, 60.0])
    exact = solve_ivp(rate, (0.0, 0.002), start, method="DOP853", rtol=1e-12, atol=1e-12).y[:, -1]
    first = rate(0.0, start)[:, None]
    gained = made.step(start[:, None], push, bound, first, 0.002)[:, 0] - start
    assert gained == pytest.approx(exact - start, rel=1e-4)


@pytest.mark.beside("the gear train solved with losses", code=("road.drive.four.mechanics.Mechanics.passed",))
def test_a_four_speed_passes_on_what_its_train_does() -> None:
    """Over both units, driving and on the overrun."""
    box, car = box_b()
    layout = layout_of(box, 0.97)
    made = _mechanics(box, middle_b(), car, layout, Body())
    for gear, places in layout.gears.items():
        train, applied = gear_train_of(box), applied_elements(box, *FOUR_SPEED_GEARS[gear])
        for back in (False, True):
            whole = solve_with_losses(train, applied, 0.97, drive=-1 if back else 1).efficiency
            passed = made.passed(np.full((len(layout.names), 1), back))[list(places), 0]
            share = 1.0 / np.prod(passed) if back else np.prod(passed)
            assert share == pytest.approx(whole, abs=1e-9)


@pytest.mark.beside(
    "the standing car's pressures, worked out for the diagnosis",
    code=(
        "road.drive.four.valves.LinkageBody.throttle_pressure",
        "road.drive.four.valves.LinkageBody.line",
        "road.drive.four.valves.LinkageBody.governors",
    ),
)
@pytest.mark.parametrize(("gear", "number"), [("first", 1), ("third", 3), ("reverse", -1)])
def test_pressures_of_a_driven_four_speed_are_those_of_the_diagnosis(gear: str, number: int) -> None:
    """The same car by the two ways there are."""
    _, layout, cars = four()
    body = linkage_body(cars, layout)
    travel = np.array([0.4])
    signal = body.throttle_pressure(travel)
    assert signal == pytest.approx(linkage_pressures.throttle_pressure(cars, travel), rel=1e-9)
    names = [layout.names[place] for place in layout.gears[gear]]
    engine, output = np.array([900.0 * RPM]), np.array([12.0])
    line = linkage_pressures.line(cars, names, signal, engine, 12.0, reverse=number < 0)
    assert body.line(np.array([number]), signal, engine, output) == pytest.approx(line, rel=1e-6)
    for row, valve in enumerate(("first_second", "second_third", "third_fourth")):
        there = linkage_pressures.governor_at_valve(cars, valve)
        curves = there.signals if isinstance(there, GovernorSum) else (there,)
        middle_of_both = np.sum([governor_pressure(curve, 60.0) for curve in curves])
        ways = [pushes[row] for pushes in body.governors(np.array([60.0]), np.array([200.0 * PSI]))]
        assert np.mean(ways) == pytest.approx(middle_of_both, rel=1e-6)


@pytest.mark.beside(
    "the speeds of the steady shift map", code="road.drive.four.valves.LinkageBody.thresholds"
)
def test_four_speed_valves_move_at_the_pressure_of_the_speed_on_the_map() -> None:
    """At the speed of the steady map's change up each governor signal pushes as hard as its valve needs."""
    _, layout, cars = four()
    car, travel = box_b()[1], np.array([0.4])
    body = linkage_body(cars, layout)
    up, _ = body.thresholds(travel, STILL)
    for row, valve in enumerate(("first_second", "second_third", "third_fourth")):
        speed = up_speed_of_four(cars, car, valve, travel) * car.axle_ratio / car.tyre_radius
        pushes = body.governors(speed, np.array([900.0 * PSI]))[0][row]
        assert pushes == pytest.approx(up[row], rel=1e-3)
