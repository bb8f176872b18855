"""Three-speeds with converter through a manoeuvre: one step after another."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import partial

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.hydraulics.governor import governor_pressure
from bellhousing.road.cars import Cars
from bellhousing.road.drive.applying import DIRECT, FORWARD, INTERMEDIATE, Applying, standing
from bellhousing.road.drive.foot import AREA, BRAKE, GRADE, LEAST, TRAVEL, Foot, foot_of
from bellhousing.road.drive.holding_paths import carried, let_slip, meet, slip_torques
from bellhousing.road.drive.kept import Kept
from bellhousing.road.drive.looked import LOOK_EVERY, Bears, bears_now
from bellhousing.road.drive.manoeuvres import Manoeuvre
from bellhousing.road.drive.mechanics import Mechanics, Push, Rates, State, Through
from bellhousing.road.drive.road_load import Body
from bellhousing.road.drive.set_up import halvings, machine_of, start_state, watch
from bellhousing.road.drive.shifting import (
    FORWARD_RANGES,
    HAND,
    LOW,
    REVERSE,
    SECOND,
    Commands,
    command,
    commands_at,
    look,
)
from bellhousing.road.drive.valves import CIRCUIT_ORDER, ValveBody, signal_now
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]

MEMORY = 3.0
"""Time in which a restricted vacuum pipe forgets a moment ago [s]; common practice, no source."""


NOTHING: FloatArray = np.zeros((3, 1))


@dataclass
class ThreeSpeedRun:
    """A drive under way."""

    mechanics: Mechanics
    body: ValveBody
    foot: Foot
    state: State
    applying: Applying
    commands: Commands
    memory: FloatArray
    now: FloatArray
    h: float
    answer: FloatArray
    kept: Kept = field(default_factory=Kept)
    shown: dict[str, FloatArray] = field(default_factory=dict)
    foot_now: FloatArray | None = None
    against: tuple[FloatArray, FloatArray] = (NOTHING, NOTHING)
    bears: Bears | None = None
    through: Through | None = None
    stuck_holds: tuple[FloatArray, FloatArray] | None = None

    def advance(self, number: int, every: int) -> None:
        """One step; a row is kept at every `every`th."""
        h, state, mechanics = self.h, self.state, self.mechanics
        time = number * h
        held = self.foot.held[self.foot.phase]
        _stop_held(state, held)
        if number % LOOK_EVERY == 0:
            _look(self, time, LOOK_EVERY * h)
        later = self.foot.set_to(time + h)
        assert self.bears is not None
        push = _push(self, later, time, h, held)
        rates, needed = _settled(self, push)
        if let_slip(state, needed, *_held_by_stuck(self, time)):
            self.through = self.stuck_holds = None
            push = _push(self, later, time, h, held)
            rates, needed = _settled(self, push)
        assert self.through is not None
        if number % every == 0:
            _keep(self, time, rates, needed, self.bears.at(time))
        before = state.output * mechanics.road.metres
        mechanics.step(state, push, rates, self.through, h)
        if meet(mechanics, state, push, partial(self.bears.at, time)):
            self.through = self.stuck_holds = None
        self.now = later
        if self.foot.move_on(time + h, h, state.output * mechanics.road.metres, before).any():
            _lever(self, time + h)
            self.now = self.foot.set_to(time + h)


def three_speed_run(
    box: Box, cars: Cars, car: Vehicle, manoeuvre: Manoeuvre, step: float, road: Body
) -> ThreeSpeedRun:
    """A drive of three-speeds at its start.

    Raises
    ------
    BoxFileError : a number or gear train that is not known
    """
    machine = machine_of(box, cars, car, road)
    mechanics = machine.mechanics
    foot = foot_of(manoeuvre, mechanics.engines)
    gear = manoeuvre.first_gear(3)
    on = np.zeros((3, len(cars)), dtype=bool)
    on[FORWARD], on[INTERMEDIATE], on[DIRECT] = gear >= 1, gear >= 2, gear >= 3
    answer = mechanics.converter.capacity / mechanics.masses.turbine
    return ThreeSpeedRun(
        mechanics=mechanics,
        body=machine.body,
        foot=foot,
        state=start_state(machine, manoeuvre),
        applying=standing(on, machine.plateau),
        commands=commands_at(gear, foot.lever[foot.phase], np.asarray(machine.body.valves.stuck)),
        memory=np.zeros(len(cars)),
        now=foot.set_to(0.0),
        h=step / 2 ** halvings(step, manoeuvre, answer),
        answer=answer,
    )


def _held_by_stuck(run: ThreeSpeedRun, time: float) -> FloatArray:
    """What the sticking paths hold driving and on the overrun, infinite where none sticks, (2, n) [N m]."""
    bears, stuck = run.bears, run.state.stuck
    assert bears is not None
    if run.stuck_holds is None:
        rows = np.stack([stuck, stuck + 4])
        cars = np.arange(len(stuck))
        torque = np.where(stuck >= 0, bears.torque[rows, cars], np.inf)
        run.stuck_holds = torque, np.where(stuck >= 0, bears.rate[rows, cars], 0.0)
    torque, rate = run.stuck_holds
    held = (time - bears.time) * rate
    held += torque
    return np.maximum(held, 0.0, out=held)


def _settled(run: ThreeSpeedRun, push: Push) -> tuple[Rates, FloatArray]:
    """Rates now and what the sticking path carries, the meshes losing the way power goes."""
    state, mechanics = run.state, run.mechanics
    if run.through is None:
        run.through = mechanics.through(state)
    speeds = (state.engine, state.turbine, state.output)
    rates = mechanics.rates(speeds, push, 0, run.through)
    needed = carried(mechanics, push, rates)
    turned = run.through.sticks & ((needed < 0.0) != state.back)
    if turned.any():
        state.back = state.back ^ turned
        run.through = mechanics.through(state)
        rates = mechanics.rates(speeds, push, 0, run.through)
        needed = carried(mechanics, push, rates)
    return rates, needed


def _look(run: ThreeSpeedRun, time: float, since: float) -> None:
    """Look at the valve body: pressures, shift valves, and what the paths bear from now on."""
    state, mechanics, body = run.state, run.mechanics, run.body
    watch(np.maximum(state.engine, state.turbine), run.answer, run.h)
    share = mechanics.engines.share(state.engine, run.now[AREA], run.now[LEAST])
    floor = run.foot.on_stop(time)
    vacuum = mechanics.engines.vacuum(share, floor[0])
    felt = _felt(run, vacuum, since)
    pressure = governor_pressure(body.governor, np.abs(state.output))
    signal = signal_now(body, felt, pressure)
    line = body.line(run.commands.lever, _circuit(run.commands), signal, state.engine)
    _shift(run, felt, floor, line, time)
    level = run.applying.level(time)
    run.stuck_holds = None
    run.bears = bears_now(run.bears, time, since, _held(run, line, level), level)
    run.shown = {"vacuum": vacuum, "line": line}


def _stop_held(state: State, held: NDArray[np.bool_]) -> None:
    moving = held & (state.output != 0.0)
    if moving.any():
        state.output = np.where(moving, 0.0, state.output)
        state.turbine = np.where(moving & (state.stuck >= 0), 0.0, state.turbine)


def _felt(run: ThreeSpeedRun, vacuum: FloatArray, h: float) -> FloatArray:
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
    run: ThreeSpeedRun, felt: FloatArray, floor: tuple[FloatArray, FloatArray], line: FloatArray, time: float
) -> None:
    commands = run.commands
    moved, moment = look(commands, run.body, np.abs(run.state.output), felt, floor, line, time)
    if moved.any() and (moved := moved & np.isin(commands.lever, FORWARD_RANGES)).any():
        _command(run, moved, moment, time, line)


def _command(
    run: ThreeSpeedRun, changed: NDArray[np.bool_], moment: FloatArray, time: float, line: FloatArray
) -> None:
    def times(element: int, rows: NDArray[np.bool_], reverse: bool) -> tuple[FloatArray, FloatArray]:
        return run.body.fill_and_stroke(element, rows, line, run.state.engine, reverse=reverse)

    command(run.commands, run.applying, changed, moment, time, times)


def _lever(run: ThreeSpeedRun, time: float) -> None:
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


def _held(run: ThreeSpeedRun, line: FloatArray, level: FloatArray) -> FloatArray:
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


def _push(
    run: ThreeSpeedRun, later: FloatArray, time: float, h: float, cannot_move: NDArray[np.bool_]
) -> Push:
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
        run.foot_now, run.against = middle, run.mechanics.road.against(middle[BRAKE], middle[GRADE])
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


def _keep(run: ThreeSpeedRun, time: float, rates: Rates, needed: FloatArray, bears: FloatArray) -> None:
    state, mechanics = run.state, run.mechanics
    paths, masses = mechanics.paths, mechanics.masses
    engine, turbine, output = state.engine, state.turbine, state.output
    slip = turbine - paths.ratio * output
    side = state.side
    torque = np.where(side > 0.0, bears[:4], bears[4:]) * side
    rows = np.flatnonzero(state.stuck >= 0)
    all_torque = torque.copy()
    all_torque[state.stuck[rows], rows] += needed[rows]
    lost = all_torque * (1.0 - paths.passed(all_torque < 0.0))
    gear = run.commands.gear
    moving = np.stack([engine, turbine, output])
    inertia = np.stack([masses.engine, masses.turbine, masses.car])
    run.kept.keep(
        time,
        run.commands,
        run.foot,
        speed=np.abs(output * mechanics.road.metres),
        engine=engine,
        turbine=turbine,
        vacuum=run.shown["vacuum"],
        line=run.shown["line"],
        travel=run.now[TRAVEL],
        torque=rates.engine_torque,
        slip=np.where(gear == 0, 0.0, slip[np.maximum(gear, 0) - 1, np.arange(len(gear))]),
        slip_heat=(torque * slip).sum(axis=0),
        fluid_heat=rates.pump_torque * engine - rates.turbine_torque * turbine,
        mesh_heat=(paths.ratio * lost).sum(axis=0) * output,
        road=rates.load * output,
        kinetic=0.5 * (inertia * moving**2).sum(axis=0),
    )
