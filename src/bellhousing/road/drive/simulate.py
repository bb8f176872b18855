"""Thousands of cars through one manoeuvre at once: fixed steps, state arrays over cars.

Between events the speeds follow the classical Runge-Kutta method. A path that begins to stick or to slip does
so at the next step, with the momentum of turbine and car kept; shift valves and phases change at the moment
interpolated within a step; what slipping paths hold is carried on in a straight line. So the whole is of
second order in the step, and of fourth where nothing slips, locks or shifts.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.errors import BoxFileError, QuantityError
from bellhousing.hydraulics.governor import governor_pressure
from bellhousing.road.cars import Cars
from bellhousing.road.drive.applying import Applying, standing
from bellhousing.road.drive.drive import Drive, ShiftMade
from bellhousing.road.drive.foot import AREA, BRAKE, GRADE, LEAST, Foot, foot_of
from bellhousing.road.drive.holding_paths import let_slip, meet, slip_torques
from bellhousing.road.drive.manoeuvres import Manoeuvre
from bellhousing.road.drive.mechanics import Mechanics, Push, State
from bellhousing.road.drive.road_load import Body
from bellhousing.road.drive.set_up import machine_of, start_state
from bellhousing.road.drive.shifting import (
    FORWARD_RANGES,
    HAND,
    LOW,
    REVERSE,
    SECOND,
    Commands,
    command,
    look,
)
from bellhousing.road.drive.valves import CIRCUIT_ORDER, ValveBody, signal_now
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]

STEP = 0.01
"""Usual step [s]."""

LOOK_EVERY = 4
"""Steps between looks at the valve body: pressures, shift valves, and what the paths hold."""

MEMORY = 3.0
"""Time in which a restricted vacuum pipe forgets a moment ago [s]; common practice, no source."""


NOTHING: FloatArray = np.zeros((3, 1))


@dataclass(frozen=True)
class Bears:
    """What the paths bear, driving in the first four rows and overrun in the last four, (8, n) [N m].

    Parameters
    ----------
    time : when they were looked at [s]
    torque : then; rate : how it changes [N m/s]
    busy : cars on which a clutch is neither fully on nor fully off, (n,)
    """

    time: float
    torque: FloatArray
    rate: FloatArray
    busy: NDArray[np.bool_]

    def at(self, time: float) -> FloatArray:
        """What they bear a little later, on a straight line, never below nought."""
        return np.maximum(self.torque + (time - self.time) * self.rate, 0.0)


@dataclass
class _Run:
    """A drive under way."""

    mechanics: Mechanics
    body: ValveBody
    foot: Foot
    state: State
    applying: Applying
    commands: Commands
    memory: FloatArray
    now: FloatArray
    shown: dict[str, FloatArray] = field(default_factory=dict)
    foot_now: FloatArray | None = None
    against: tuple[FloatArray, FloatArray] = (NOTHING, NOTHING)
    bears: Bears | None = None
    kept: dict[str, list[FloatArray]] = field(default_factory=dict)


def simulate(
    box: Box,
    cars: Cars,
    car: Vehicle,
    manoeuvre: Manoeuvre,
    *,
    step: float = STEP,
    record: float = 0.1,
    road: Body | None = None,
) -> Drive:
    """Drive every car through a manoeuvre; faults act through the cars' parameters, as in the diagnosis.

    Parameters
    ----------
    box : gives what no car draws: inertia of the turbine, volume of the accumulators
    cars : the cars, (n,)
    car : gears, axle and tyre
    step : of the integration [s]; halved by itself where converter and turbine are too stiff for it
    record : time between the rows kept [s]
    road : what of the car meets the road

    Raises
    ------
    BoxFileError : a kind of box whose drive is not modelled
    QuantityError : a step that is no figure between 0.1 ms and 20 ms
    """
    if box.kind == FOUR_SPEED:
        raise BoxFileError(
            "only three-speed boxes with a vacuum modulator can be driven in simulation so far",
            where=box.name,
        )
    if not 1e-4 <= step <= 0.02:
        raise QuantityError(f"a step of {step} s", remedy="between 0.0001 s and 0.02 s")
    machine = machine_of(box, cars, car, road or Body())
    halvings = machine.halvings(step, manoeuvre)
    h = step / 2**halvings
    every = max(1, round(record / h))
    foot = foot_of(manoeuvre, machine.mechanics.engines)
    state = start_state(machine, manoeuvre, car)
    gear = manoeuvre.start_gear if manoeuvre.start_mph > 0.0 else 0
    run = _Run(
        mechanics=machine.mechanics,
        body=machine.body,
        foot=foot,
        state=state,
        applying=standing(len(cars), gear, machine.plateau),
        commands=_commands_at(manoeuvre, gear, len(cars), machine.body, foot),
        memory=np.zeros(len(cars)),
        now=foot.set_to(0.0),
    )
    for number in range(round(manoeuvre.longest / h) + 1):
        over = foot.done.all()
        _advance(run, number, h, every)
        if over:
            break
    return _drive_of(run, manoeuvre, h)


def _commands_at(manoeuvre: Manoeuvre, gear: int, count: int, body: ValveBody, foot: Foot) -> Commands:
    up = np.zeros((2, count), dtype=bool)
    up[0], up[1] = gear >= 2, gear >= 3
    stuck = np.asarray(body.valves.stuck)
    up = np.where(stuck > 0.5, True, np.where(stuck < -0.5, False, up))
    return Commands(
        lever=foot.lever[foot.phase],
        gear=np.full(count, gear, dtype=np.intp),
        up=up,
        above_up=np.full((2, count), -1.0),
        below_down=np.full((2, count), -1.0),
        looked=0.0,
    )


def _advance(run: _Run, number: int, h: float, every: int) -> None:
    time = number * h
    state, mechanics = run.state, run.mechanics
    held = run.foot.held[run.foot.phase]
    _stop_held(state, held)
    if number % LOOK_EVERY == 0:
        _look(run, time, LOOK_EVERY * h)
    later = run.foot.set_to(time + h)
    assert run.bears is not None
    bears = run.bears.at(time)
    push = _push(run, later, time, h, held)
    ratio = mechanics.paths.ratio[state.stuck, 0]
    speeds = (state.engine, state.turbine, state.output)
    rates = mechanics.rates(speeds, push, 0, ratio, state.stuck >= 0)
    if let_slip(mechanics, state, push, rates, bears[:4], bears[4:]).any():
        push = _push(run, later, time, h, held)
        ratio = mechanics.paths.ratio[state.stuck, 0]
        rates = mechanics.rates(speeds, push, 0, ratio, state.stuck >= 0)
    if number % every == 0:
        _keep(run, time, rates.engine_torque, push)
    before = state.output * mechanics.metres
    mechanics.step(state, push, rates, h)
    meet(mechanics, state, push, bears[:4], bears[4:])
    run.now = later
    if run.foot.move_on(time + h, h, state.output * mechanics.metres, before).any():
        _lever(run, time + h)
        run.now = run.foot.set_to(time + h)


def _look(run: _Run, time: float, since: float) -> None:
    """Look at the valve body: pressures, shift valves, and what the paths bear from now on."""
    state, mechanics, body = run.state, run.mechanics, run.body
    share = mechanics.engines.share(state.engine, run.now[AREA], run.now[LEAST])
    floor = run.foot.on_stop(time)
    vacuum = mechanics.engines.vacuum(share, floor[0])
    felt = _felt(run, vacuum, since)
    pressure = governor_pressure(body.governor, np.abs(state.output))
    signal = signal_now(body, felt, pressure)
    line = body.line(run.commands.lever, _circuit(run.commands), signal, state.engine)
    _shift(run, felt, floor, line, time)
    level = run.applying.level(time)
    torque = _held(run, line, level)
    rate = np.zeros_like(torque) if run.bears is None else (torque - run.bears.torque) / since
    busy = np.asarray(((level > 0.0) & (level < 1.0)).any(axis=0))
    run.bears = Bears(time, torque, rate, busy)
    run.shown = {"vacuum": vacuum, "line": line}


def _stop_held(state: State, held: NDArray[np.bool_]) -> None:
    moving = held & (state.output != 0.0)
    if moving.any():
        state.output = np.where(moving, 0.0, state.output)
        state.turbine = np.where(moving & (state.stuck >= 0), 0.0, state.turbine)


def _felt(run: _Run, vacuum: FloatArray, h: float) -> FloatArray:
    """Vacuum the diaphragm feels [Pa]: a restricted pipe still holds some of a moment ago."""
    body = run.body
    reach = body.felt_share
    if body.ported.any():
        closed = (run.now[AREA] <= 1.001 * run.mechanics.engines.shut) & (run.now[LEAST] <= 0.0)
        reach = reach * np.where(closed, 1.0 - body.ported, 1.0)
    if not body.lag.any():
        return vacuum * reach
    run.memory = np.maximum(vacuum, vacuum + (run.memory - vacuum) * np.exp(-h / MEMORY))
    return (vacuum + body.lag * (run.memory - vacuum)) * reach


def _circuit(commands: Commands) -> NDArray[np.intp]:
    """Which circuits are under pressure, as places in `CIRCUIT_ORDER`."""
    lever, gear = commands.lever, commands.gear
    found = np.where(gear <= 0, CIRCUIT_ORDER.index("N"), CIRCUIT_ORDER.index("D1") + gear - 1)
    for code, name in ((SECOND, "second"), (LOW, "low"), (REVERSE, "R")):
        found = np.where(lever == code, CIRCUIT_ORDER.index(name), found)
    return np.asarray(found)


def _shift(
    run: _Run, felt: FloatArray, floor: tuple[FloatArray, FloatArray], line: FloatArray, time: float
) -> None:
    commands = run.commands
    moved, moment = look(commands, run.body, np.abs(run.state.output), felt, floor, line, time)
    if moved.any() and (moved := moved & np.isin(commands.lever, FORWARD_RANGES)).any():
        _command(run, moved, moment, time, line)


def _command(
    run: _Run, changed: NDArray[np.bool_], moment: FloatArray, time: float, line: FloatArray
) -> None:
    def times(element: int, rows: NDArray[np.bool_], reverse: bool) -> tuple[FloatArray, FloatArray]:
        return run.body.fill_and_stroke(element, rows, line, run.state.engine, reverse=reverse)

    command(run.commands, run.applying, changed, moment, time, times)


def _lever(run: _Run, time: float) -> None:
    lever = run.foot.lever[run.foot.phase]
    changed = lever != run.commands.lever
    if not changed.any():
        return
    run.commands.lever = lever
    pressure = governor_pressure(run.body.governor, np.abs(run.state.output))
    share = run.mechanics.engines.share(run.state.engine, run.now[AREA], run.now[LEAST])
    vacuum = run.mechanics.engines.vacuum(share, np.zeros(len(share)))
    signal = signal_now(run.body, vacuum * run.body.felt_share, pressure)
    # Clutches fill against the line of the gear that the lever asks for.
    circuits = np.where(lever == REVERSE, CIRCUIT_ORDER.index("R"), CIRCUIT_ORDER.index("D1"))
    line = run.body.line(lever, circuits, signal, run.state.engine)
    _command(run, changed, run.foot.began + HAND, time, line)


def _held(run: _Run, line: FloatArray, level: FloatArray) -> FloatArray:
    """Torque each path bears driving, then on the overrun, (8, n) [N m]."""
    table = run.mechanics.paths.held(line)
    forward, intermediate, direct = level
    lever = run.commands.lever
    found = np.zeros((8, len(line)))
    found[0] = table[0] * forward
    found[1] = np.minimum(table[1], table[8] * intermediate) * forward
    found[2] = np.minimum(table[2], table[9] * direct) * forward
    found[6] = np.minimum(table[6] * forward, found[2])
    for code, row, column, share in (
        (LOW, 4, 4, forward),
        (SECOND, 5, 5, intermediate * forward),
        (REVERSE, 3, 3, direct),
        (REVERSE, 7, 7, direct),
    ):
        there = lever == code
        if there.any():
            found[row] = np.where(there, table[column] * share, 0.0)
    return found


def _push(run: _Run, later: FloatArray, time: float, h: float, cannot_move: NDArray[np.bool_]) -> Push:
    """What acts from now for one step; only cars with something slipping are looked at for it."""
    state, bears = run.state, run.bears
    assert bears is not None
    now = run.now
    count = len(cannot_move)
    rows = np.flatnonzero((state.stuck < 0) | bears.busy)
    taken = given = NOTHING
    if rows.size:
        taken, given = np.zeros((3, count)), np.zeros((3, count))
        side, torque, rate = state.side[:, rows], bears.torque[:, rows], bears.rate[:, rows]
        for at, part in enumerate((0.0, 0.5, 1.0)):
            ahead = np.maximum(torque + (time - bears.time + part * h) * rate, 0.0)
            taken[at, rows], given[at, rows] = slip_torques(run.mechanics, side, ahead[:4], ahead[4:])
    middle = now if later is now else 0.5 * (now + later)
    if run.foot_now is not middle:
        run.foot_now, run.against = middle, run.mechanics.against(middle[BRAKE], middle[GRADE])
    constant, slope = run.against
    return Push(
        area=(now[AREA], middle[AREA], later[AREA]),
        least=(now[LEAST], middle[LEAST], later[LEAST]),
        taken=taken,
        given=given,
        constant=constant,
        slope=slope,
        held=cannot_move,
        any_held=bool(cannot_move.any()),
        slips=bool(rows.size),
    )


def _keep(run: _Run, time: float, torque: FloatArray, push: Push) -> None:
    state = run.state
    row = {
        "time": np.array(time),
        "speed": np.abs(state.output * run.mechanics.metres),
        "engine": state.engine,
        "turbine": state.turbine,
        "vacuum": run.shown["vacuum"],
        "line": run.shown["line"],
        "gear": run.commands.gear.astype(np.float64),
        "torque": torque,
        "slip_heat": push.taken[0] * state.turbine - push.given[0] * state.output,
        "phase": run.foot.phase.astype(np.float64),
    }
    for name, values in row.items():
        run.kept.setdefault(name, []).append(values)


def _drive_of(run: _Run, manoeuvre: Manoeuvre, h: float) -> Drive:
    made = [
        ShiftMade(int(car), float(moment), int(start), int(end))
        for cars, moments, starts, ends in run.commands.made
        for car, moment, start, end in zip(cars, moments, starts, ends, strict=True)
    ]
    arrays = {name: np.stack(rows) for name, rows in run.kept.items()}
    return Drive(manoeuvre=manoeuvre.name, step=h, commands=tuple(made), **arrays)
