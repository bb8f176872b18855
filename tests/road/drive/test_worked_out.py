"""Parts of the simulated three-speed drives worked out another way: by energy, by roots and extremes."""

from __future__ import annotations

from dataclasses import fields, replace
from functools import cache

import numpy as np
import pytest
from numpy.polynomial import polynomial
from scipy.integrate import simpson
from scipy.optimize import brentq, minimize_scalar

from bellhousing.boxes.gears import applied_elements, gear_train_of
from bellhousing.friction.engagement import kinetic_energy
from bellhousing.geartrain.losses import solve_with_losses
from bellhousing.hydraulics.governor import governor_pressure
from bellhousing.hydraulics.line import line_pressure
from bellhousing.road import driving, pressures
from bellhousing.road.drive.drive import Drive
from bellhousing.road.drive.energy import ledger
from bellhousing.road.drive.engine_map import EngineMap
from bellhousing.road.drive.foot import LEAST, foot_of
from bellhousing.road.drive.holding_paths import carried, slip_torques
from bellhousing.road.drive.looked import Bears, bears_now
from bellhousing.road.drive.manoeuvres import Manoeuvre, Phase
from bellhousing.road.drive.mechanics import Mechanics, Push, State
from bellhousing.road.drive.paths import COLUMNS
from bellhousing.road.drive.road_load import Body, inertia_on_shaft
from bellhousing.road.drive.set_up import REDLINE, halvings, machine_of
from bellhousing.road.drive.tables import HIGHEST_LINE, STEPS
from bellhousing.road.drive.valves import RANGE_ORDER, signal_now
from bellhousing.road.holding import capacities, input_torque_held
from bellhousing.road.layout import CIRCUITS
from tests.road.drive.drives import INHG, PSI, RPM, box_a, middle

STILL = np.zeros(1)
BY_HAND = Manoeuvre(
    "by hand",
    "A foot that opens the throttle while the car stands.",
    (Phase("N", "shut", 0.5, held=True), Phase("D", "medium", 1.5, foot=0.4), Phase("D", "full", 17.0)),
)


@cache
def mechanics() -> Mechanics:
    """The middle car of box A without loss in its teeth."""
    box, car = box_a()
    made = machine_of(box, middle(), car, Body()).mechanics
    return replace(made, paths=replace(made.paths, driving=np.ones((4, 1)), overrun=np.ones((4, 1))))


def pushed(made: Mechanics, taken: float = 0.0, given: float = 0.0) -> Push:
    """A throttle half open, on the level, and what slipping paths take and give."""
    area = 0.5 * (made.engines.shut + made.engines.wide)
    constant, slope = made.road.against(STILL, STILL)
    slips = np.full((3, 1), taken), np.full((3, 1), given)
    return Push((area,) * 3, (STILL,) * 3, *slips, constant, slope, np.array([False]), False, taken != 0.0)


def in_second() -> State:
    """Second gear sticks and the engine drives."""
    return State(STILL, STILL, STILL, np.array([1]), np.zeros((4, 1)), np.array([False]))


@pytest.mark.beside(
    "the energy that moves grows by the power that comes in",
    code=(
        "road.drive.mechanics.Mechanics.rates:engine",
        "road.drive.mechanics.Mechanics.rates:output",
        "road.drive.mechanics.Mechanics.light",
    ),
)
def test_accelerations_by_energy() -> None:
    """Engine's power less what the fluid and the road take is the growth of all kinetic energy."""
    made = mechanics()
    output = np.array([90.0])
    turbine = made.paths.ratio[1] * output
    engine = turbine + 60.0
    rates = made.rates((engine, turbine, output), pushed(made), 0, made.through(in_second()))
    masses = made.masses
    growth = (
        masses.engine * engine * rates.engine
        + masses.turbine * turbine * rates.turbine
        + masses.car * output * rates.output
    )
    fluid = rates.pump_torque * engine - rates.turbine_torque * turbine
    assert growth == pytest.approx(rates.engine_torque * engine - fluid - rates.load * output, rel=1e-9)


@pytest.mark.beside(
    "Newton's law of the car behind it",
    code=("road.drive.holding_paths.carried", "road.drive.holding_paths.slip_torques"),
)
def test_the_torque_of_a_gear_by_what_the_car_does() -> None:
    """What second gear and a slipping first give the output is what speeds the car up against the road."""
    made = mechanics()
    side = np.array([[1.0], [0.0], [0.0], [0.0]])
    taken, given = slip_torques(made, side, np.full((4, 1), 30.0), np.full((4, 1), 99.0))
    output = np.array([90.0])
    turbine = made.paths.ratio[1] * output
    push = pushed(made, float(taken[0]), float(given[0]))
    rates = made.rates((turbine + 60.0, turbine, output), push, 0, made.through(in_second()))
    torque = carried(made, push, rates)
    from_gears = made.paths.ratio[1] * torque + made.paths.ratio[0] * 30.0
    assert taken == pytest.approx(30.0)
    assert made.masses.car * rates.output + rates.load == pytest.approx(from_gears, rel=1e-9)


@pytest.mark.beside("the rates of where it comes to", code="road.drive.mechanics.Mechanics.step")
def test_a_step_ends_with_the_rates_of_its_end() -> None:
    """The last stage of a small step stands where the step ends, to the third power of it."""
    made = mechanics()
    state = in_second()
    state.output = np.array([90.0])
    state.turbine = made.paths.ratio[1] * state.output
    state.engine = state.turbine + 60.0
    push, through = pushed(made), made.through(state)
    first = made.rates((state.engine, state.turbine, state.output), push, 0, through)
    last = made.step(state, push, first, through, 1e-3)
    now = made.rates((state.engine, state.turbine, state.output), push, 0, through)
    assert last[:, 0] == pytest.approx([now.engine[0], now.turbine[0], now.output[0]], rel=1e-4)


@pytest.mark.beside(
    "the manifold's balance of flows by a root finder", code="road.drive.engine_map.EngineMap.share"
)
def test_manifold_pressure_by_what_flows_in_and_out() -> None:
    """Through a hole of area a at a pressure share x passes a √(1 − x²), the engine takes w x."""
    engines = mechanics().engines
    area, speed = 120.0, 260.0
    balance = brentq(lambda x: area * np.sqrt(1.0 - x * x) - speed * x, 0.0, 1.0)
    found = engines.share(np.array([speed]), np.array([area]), STILL)
    assert found[0] == pytest.approx(balance, rel=1e-9)


@pytest.mark.beside(
    "its greatest value by a search, and a free idle",
    code=(
        "road.drive.engine_map.EngineMap.torque",
        "road.drive.engine_map.EngineMap.vacuum",
        "road.drive.engine_map.engine_map:shut",
    ),
)
def test_an_engine_idles_and_pulls_as_its_car_says() -> None:
    """Most torque where the car says and as much; at idle none is left over, at the car's own vacuum."""
    engines, cars = mechanics().engines, middle()
    top = minimize_scalar(
        lambda w: -engines.torque(np.array([w]), np.ones(1))[0], bounds=(100.0, 500.0), method="bounded"
    )
    assert top.x == pytest.approx(cars["engine.peak_speed"][0], rel=1e-3)
    assert -top.fun == pytest.approx(cars["engine.peak_torque"][0], rel=1e-6)
    idle = engines.share(cars["engine.idle_speed"], engines.shut, STILL)
    assert engines.torque(cars["engine.idle_speed"], idle) == pytest.approx(0.0, abs=0.1)
    assert engines.vacuum(idle, STILL) == pytest.approx(cars["engine.idle_vacuum"], rel=1e-6)


def named_vacuum(engines: EngineMap, row: int) -> float:
    """Vacuum at the throttle of a phase of `BY_HAND` [Pa]."""
    share = foot_of(BY_HAND, engines).targets[row, LEAST]
    return float(engines.vacuum(share, STILL)[0])


@pytest.mark.beside(
    "numpy's interpolation between two places",
    code=(
        "road.drive.foot.foot_of:targets",
        "road.drive.foot.Foot.set_to",
        "road.drive.foot.Foot.on_stop",
        "road.drive.foot.Limits.soonest",
        "road.drive.manoeuvres.Manoeuvre.longest",
    ),
)
def test_a_foot_on_its_way() -> None:
    """The manifold is let down to the named vacuum, on a straight line in the time of the foot."""
    engines = mechanics().engines
    assert named_vacuum(engines, 1) == pytest.approx(float(engines.named["medium"][0]), rel=1e-9)
    assert BY_HAND.longest == pytest.approx(19.0)
    foot = foot_of(BY_HAND, engines)
    assert foot.limits.soonest == pytest.approx(0.5)
    foot.move_on(0.5, 0.01, STILL, STILL)
    assert foot.limits.soonest == pytest.approx(2.0)
    for time in (0.5, 0.6, 0.85, 1.2):
        line = np.interp(time, [0.5, 0.9], [foot.targets[0, LEAST, 0], foot.targets[1, LEAST, 0]])
        assert foot.set_to(time)[LEAST, 0] == pytest.approx(line, abs=1e-9)
    foot.move_on(2.0, 0.01, STILL, STILL)
    assert [foot.on_stop(time)[0][0] for time in (2.35, 2.37)] == [0.0, 1.0]
    assert foot.on_stop(2.35)[1][0] == pytest.approx(2.0 + 0.9 * 0.4)


@pytest.mark.beside("the method's own growth factor", code="road.drive.set_up.halvings")
@pytest.mark.parametrize("answer", [2e-3, 1.3e-2, 9e-2])
def test_a_step_is_halved_until_the_method_bears_it(answer: float) -> None:
    """1 + z + z²/2 + z³/6 + z⁴/24 does not grow at the step told, and would at twice that step."""
    times_halved = halvings(0.02, BY_HAND, np.array([answer]))
    fastest = 4.0 * REDLINE * answer
    grown = [
        abs(polynomial.polyval(-fastest * 0.02 / 2**n, [1.0, 1.0, 1 / 2, 1 / 6, 1 / 24]))
        for n in (times_halved, times_halved - 1)
    ]
    assert grown[0] <= 1.0
    assert times_halved == 0 or grown[1] > 0.9


@pytest.mark.beside("the car's kinetic energy on its wheels", code="road.drive.road_load.inertia_on_shaft")
def test_the_car_on_its_output_shaft_by_energy() -> None:
    """Shaft and road tell the same energy: that of the rolling car and of its turning wheels."""
    _, car = box_a()
    body, speed = Body(), 20.0
    wheel = speed / car.tyre_radius
    on_road = 0.5 * body.mass * speed**2 + float(kinetic_energy(body.wheel_inertia, wheel))
    shaft = kinetic_energy(inertia_on_shaft(body, car), wheel * car.axle_ratio)
    assert shaft == pytest.approx(on_road, rel=1e-12)


@pytest.mark.beside(
    "between the steps of the table, car by car",
    code=("road.drive.paths.Paths.held", "road.drive.tables.Table.at"),
)
def test_what_a_gear_holds_off_the_table() -> None:
    """At a step of the table every gear holds what its groups hold there."""
    box, car = box_a()
    cars = middle()
    made = machine_of(box, cars, car, Body()).mechanics
    line = np.array([11.0 * HIGHEST_LINE / (STEPS - 1)])
    held = made.paths.held(line)
    for gear in ("first", "second", "third", "reverse"):
        found = input_torque_held(car.gears[gear].drive, capacities(cars, line)) * cars["shaft.whole"]
        assert held[COLUMNS.index(gear)] == pytest.approx(found, rel=1e-9)


@pytest.mark.beside(
    "the standing car's pressures, worked out for the diagnosis",
    code=(
        "road.drive.valves.ValveBody.line",
        "road.drive.valves.ValveBody.governors",
        "road.drive.valves.signal_now",
    ),
)
@pytest.mark.parametrize(("lever", "circuit"), [("D", "D1"), ("D", "D3"), ("low", "low"), ("R", "R")])
def test_pressures_of_a_drive_are_those_of_the_diagnosis(lever: str, circuit: str) -> None:
    """The same car by the two ways there are, at two engine speeds.

    Gathering and losing speed the governor lies as far on either side of where it would without friction.
    """
    box, car = box_a()
    cars = middle()
    body = machine_of(box, cars, car, Body()).body
    signal = signal_now(body, np.array([8.0 * INHG]), STILL)
    assert signal == pytest.approx(pressures.standing_signal(cars, np.array([8.0 * INHG])), rel=1e-9)
    feeding = body.feeding(np.array([RANGE_ORDER.index(lever)]), np.array([CIRCUITS.index(circuit)]))
    for speed in (np.array([600.0 * RPM]), np.array([2000.0 * RPM])):
        line = pressures.line(cars, circuit, signal, speed)
        assert body.line(feeding, signal, speed) == pytest.approx(line, rel=1e-9)
    ways = body.governors(governor_pressure(body.governor, np.array([100.0])), np.array([200.0 * PSI]))
    assert ways[0] < ways[1]
    assert np.mean(ways) == pytest.approx(pressures.governor_at(cars, 100.0, 200.0 * PSI)[0], rel=1e-6)


@pytest.mark.beside("the pump throttled by that share", code="road.pressures.spilled_share")
def test_a_pump_less_what_is_let_go_just_holds_the_line() -> None:
    """With the share taken off its delivery and no regulator, the pump comes to the very pressure."""
    cars, line = middle(), np.array([70.0 * PSI])
    share = pressures.spilled_share(cars, "D1", line, 800.0 * RPM)
    thin = pressures.thinning(cars, pressures.HOT)
    assert 0.05 < share[0] < 0.95
    left = line_pressure(
        1e9,
        0.0,
        pressures.delivery(cars, 800.0 * RPM) * (1.0 - share),
        pressures.leak_conductance(cars, cars.layout.filled["D1"], thin),
        pressures.charge_conductance(cars),
        cars["pump.leakage"] * thin,
    )
    assert left == pytest.approx(line, rel=1e-6)


def one_of(rows: int = 41) -> Drive:
    """A drive of random figures, of one car."""
    rng = np.random.default_rng(5)
    names = [one.name for one in fields(Drive) if one.name not in ("manoeuvre", "step", "commands", "time")]
    figures = {name: rng.uniform(10.0, 50.0, (rows, 1)) for name in names}
    return Drive("random", 0.1, (), time=np.linspace(0.0, 0.1 * (rows - 1), rows), **figures)


@pytest.mark.other_program(
    "scipy and numpy",
    code=(
        "road.drive.energy.Ledger.missing",
        "road.drive.drive.Drive.at",
        "road.drive.drive.Drive.at_every:time",
    ),
)
def test_a_ledger_and_rows_by_a_library() -> None:
    """What is missing by scipy's rule of Simpson; a row between two by numpy; every fourth row."""
    made = one_of()
    power = made.torque * made.engine - made.fluid_heat - made.slip_heat - made.mesh_heat - made.road
    wanted = simpson(power, x=made.time, axis=0) - (made.kinetic[-1] - made.kinetic[0])
    assert ledger(made).missing == pytest.approx(wanted, rel=1e-9)
    assert made.at(0, 1.234, "line") == pytest.approx(np.interp(1.234, made.time, made.line[:, 0]))
    assert made.at_every(0.4).time == pytest.approx(np.arange(11) * 0.4)


@pytest.mark.beside("a straight line through two looks", code="road.drive.looked.bears_now:rate")
def test_what_is_borne_goes_on_as_it_went() -> None:
    """Through both looks on a straight line, as numpy fits it."""
    before = Bears(1.0, np.array([[40.0]]), np.array([[0.0]]), np.array([True]))
    now = bears_now(before, 1.04, 0.04, np.array([[52.0]]), np.array([[0.5]]))
    line = np.polynomial.Polynomial.fit([1.0, 1.04], [40.0, 52.0], 1)
    assert now.at(1.06)[0, 0] == pytest.approx(line(1.06), rel=1e-9)
    assert now.busy.all()


@pytest.mark.beside("the gear train solved with losses", code="road.drive.paths.Paths.passed")
def test_a_three_speed_passes_on_what_its_train_does() -> None:
    """In every gear, driving; the less the more of its power rolls through teeth."""
    box, car = box_a()
    paths = machine_of(box, middle(), car, Body()).mechanics.paths
    passed = paths.passed(np.array([False]))[:, 0]
    mesh = box.number("meshes.efficiency").value
    assert mesh is not None
    for row, where in enumerate((("D", "1"), ("D", "2"), ("D", "3"), ("R", "R"))):
        whole = solve_with_losses(gear_train_of(box), applied_elements(box, *where), mesh)
        assert passed[row] == pytest.approx(whole.efficiency, abs=1e-9)
    assert passed[0] < passed[1] < passed[2] <= 1.0


@pytest.mark.beside("the speeds of the steady shift map", code="road.drive.valves.ValveBody.thresholds")
def test_valves_move_at_the_pressure_of_the_speed_on_the_map() -> None:
    """At the speed of the steady map's change up the governor pushes as hard as the drive's valve needs."""
    box, car = box_a()
    cars, felt = middle(), np.array([10.0 * INHG])
    body = machine_of(box, cars, car, Body()).body
    up, _ = body.thresholds(felt, STILL)
    for row, valve in enumerate(("first_second", "second_third")):
        speed = driving.up_speed(cars, car, valve, felt) * car.axle_ratio / car.tyre_radius
        rising, _ = body.governors(governor_pressure(body.governor, speed), np.array([900.0 * PSI]))
        assert rising == pytest.approx(up[row], rel=1e-3)
