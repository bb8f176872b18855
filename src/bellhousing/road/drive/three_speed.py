"""Three-speeds with converter through a manoeuvre: one step after another."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.hydraulics.governor import governor_pressure
from bellhousing.road.cars import Cars
from bellhousing.road.drive.applying import DIRECT, FORWARD, INTERMEDIATE, Applying, standing
from bellhousing.road.drive.foot import AREA, LEAST, Foot, foot_of
from bellhousing.road.drive.kept import Kept
from bellhousing.road.drive.long_step import long_step, quiet
from bellhousing.road.drive.looked import LOOK_EVERY, Bears, bears_now
from bellhousing.road.drive.manoeuvres import Manoeuvre
from bellhousing.road.drive.mechanics import Mechanics
from bellhousing.road.drive.moving import Moving
from bellhousing.road.drive.road_load import Body
from bellhousing.road.drive.set_up import halvings, machine_of, start_state, watch
from bellhousing.road.drive.shifting import (
    DRIVE,
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
from bellhousing.road.drive.valves import CIRCUIT_ORDER, Feeding, ValveBody, signal_now
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

MEMORY = 3.0
"""Time in which a restricted vacuum pipe forgets a moment ago [s]; common practice, no source."""


@dataclass
class ThreeSpeedRun:
    """A drive under way."""

    moving: Moving
    body: ValveBody
    applying: Applying
    commands: Commands
    memory: FloatArray
    h: float
    answer: FloatArray
    kept: Kept = field(default_factory=lambda: Kept(1, 0))
    shown: dict[str, FloatArray] = field(default_factory=dict)
    bears: Bears | None = None
    long: Some | None = None
    short: Some | None = None
    small: Some | None = None
    fed: tuple[IntArray, IntArray, Feeding] | None = None

    def feeding(self) -> Feeding:
        """What is under pressure with lever and gear as they are commanded."""
        lever, gear = self.commands.lever, self.commands.gear
        if self.fed is None or self.fed[0] is not lever or self.fed[1] is not gear:
            self.fed = lever, gear, self.body.feeding(lever, _circuit(self.commands))
        return self.fed[2]

    @property
    def foot(self) -> Foot:
        """Where each car is in its manoeuvre."""
        return self.moving.foot

    def advance(self, number: int, every: int, last: int) -> int:
        """The steps up to the next look at the valve body; a row is kept at every `every`th.

        Cars on which nothing changes take them all at once. Returns how many steps were taken.
        """
        moving, time = self.moving, number * self.h
        steps = min(LOOK_EVERY, last + 1 - number)
        _look(self, time, LOOK_EVERY * self.h)
        rest = _go_far(self, number, every) if steps == LOOK_EVERY else None
        if rest is None:
            _go_on(self, moving, None, number, steps, every)
        elif rest.size:
            self.small = _some(moving, rest, self.small)
            part = moving.some(rest, self.small.mechanics)
            _go_on(self, part, rest, number, steps, every)
        moving.now = moving.foot.set_to((number + steps) * self.h)
        return steps


@dataclass(frozen=True)
class Some:
    """Some of the cars, and their mechanics."""

    cars: IntArray
    mechanics: Mechanics


def _some(moving: Moving, cars: IntArray, before: Some | None) -> Some:
    """Mechanics of some of the cars, the ones of before where these are the same."""
    if before is not None and np.array_equal(before.cars, cars):
        return before
    return Some(cars, moving.mechanics.some(cars))


def _go_far(run: ThreeSpeedRun, number: int, every: int) -> IntArray | None:
    """One or two long steps of cars that are quiet; returns those that small steps must bring as far.

    None where no car got there.
    """
    far, halved = quiet(run.moving, number * run.h, LOOK_EVERY * run.h)
    calm = np.count_nonzero(halved)
    if not calm:
        return None
    slow = np.flatnonzero(halved & ~far)
    before = run.moving.state.some(slow)
    if 2 * calm > halved.size:
        # Cheaper than to part them: the others are sent back to where they were.
        there = _at_once(run, None, halved, far, number, every)
    else:
        there = _at_once(run, np.flatnonzero(halved), halved, far, number, every)
    if slow.size and (half_way := np.flatnonzero(there[slow])).size:
        cars = slow[half_way]
        there[cars] = good = _by_halves(run, cars, number, every, half=1)
        run.moving.arrive(cars[~good], before, half_way[~good])
    if (failed := np.flatnonzero(far & ~there)).size:
        there[failed] = _by_halves(run, failed, number, every, half=0)
    (rest,) = (~there).nonzero()
    return rest if rest.size < there.size else None


def _at_once(
    run: ThreeSpeedRun, tried: IntArray | None, calm: BoolArray, far: BoolArray, number: int, every: int
) -> BoolArray:
    """One long step of the cars that are calm, half as long where it would be too far.

    `tried` are the calm cars, or None where all take it. Returns on which cars it stands.
    """
    moving, time, ahead = run.moving, number * run.h, LOOK_EVERY * run.h
    part = moving
    if tried is not None:
        run.long = _some(moving, tried, run.long)
        part = moving.some(tried, run.long.mechanics)
    step = long_step(part, time, _lengths(far if tried is None else far[tried], ahead))
    if tried is None:
        step.good &= calm
    (places,) = step.good.nonzero()
    cars = places if tried is None else tried[places]
    for later in range(LOOK_EVERY):
        if (number + later) % every == 0:
            shown, moment = step.between(later * run.h)
            gear = run.commands.gear if tried is None else run.commands.gear[tried]
            row = shown.row(moment, shown.bears.at(time + later * run.h), gear)
            if places.size < len(gear):
                row = {name: one[places] for name, one in row.items()}
            _keep(run, number + later, None if places.size == calm.size else cars, row)
    if tried is None:
        back = np.flatnonzero(~step.good)
        if back.size:
            moving.arrive(back, step.start, back)
        return step.good
    moving.arrive(cars, step.part.state, places)
    there = np.zeros(calm.shape, dtype=bool)
    there[cars] = True
    return there


def _lengths(far: BoolArray, ahead: float) -> FloatArray | float:
    """How long a step each car takes [s]: half as long where it cannot take the whole."""
    return ahead if np.count_nonzero(far) == far.size else np.where(far, ahead, 0.5 * ahead)


def _by_halves(run: ThreeSpeedRun, cars: IntArray, number: int, every: int, *, half: int) -> BoolArray:
    """Steps of half the length, both or the second one alone; returns which of the cars are there."""
    moving, steps = run.moving, LOOK_EVERY // 2
    run.short = _some(moving, cars, run.short)
    part = moving.some(cars, run.short.mechanics)
    good = np.ones(len(cars), dtype=bool)
    rows: list[tuple[int, dict[str, FloatArray]]] = []
    for first in range(half * steps, LOOK_EVERY, steps):
        step = long_step(part, (number + first) * run.h, steps * run.h)
        good &= step.good
        for at in range(number + first, number + first + steps):
            if at % every == 0:
                shown, moment = step.between((at - number - first) * run.h)
                bears = shown.bears.at(at * run.h)
                rows.append((at, shown.row(moment, bears, run.commands.gear[cars])))
    (places,) = good.nonzero()
    there = cars[places]
    for at, row in rows:
        _keep(run, at, there, {name: one[places] for name, one in row.items()})
    moving.arrive(there, part.state, places)
    return good


def _go_on(
    run: ThreeSpeedRun, part: Moving, cars: IntArray | None, number: int, steps: int, every: int
) -> None:
    """Small steps of `part`, which are these `cars`, or all of them where there are none given."""
    for at in range(number, number + steps):
        time = at * run.h
        moment, push = part.settle(time, run.h)
        if at % every == 0:
            gear = run.commands.gear if cars is None else run.commands.gear[cars]
            _keep(run, at, cars, part.row(moment, part.bears.at(time), gear))
        if part.small_step(time, run.h, moment, push).any():
            if cars is not None:
                run.moving.put(cars, part)
            _lever(run, time + run.h)
    if cars is not None:
        run.moving.put(cars, part)


def _keep(run: ThreeSpeedRun, number: int, cars: IntArray | None, row: dict[str, FloatArray]) -> None:
    shown = run.shown | {"gear": run.commands.gear.astype(np.float64)}
    if cars is None:
        run.kept.keep(number, row | shown)
    else:
        row |= {name: one[cars] for name, one in shown.items()}
        run.kept.keep_some(number, cars, len(run.commands.gear), row)


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
    stays = not machine.body.lets_go
    on[FORWARD], on[INTERMEDIATE], on[DIRECT] = gear >= 1, gear == 2 or (stays and gear > 2), gear >= 3
    answer = mechanics.converter.capacity / mechanics.masses.turbine
    none = np.zeros((8, len(cars)))
    return ThreeSpeedRun(
        moving=Moving(
            mechanics,
            foot,
            start_state(machine, manoeuvre),
            Bears(0.0, none, none, none[0] > 0.0),
            foot.set_to(0.0),
        ),
        body=machine.body,
        applying=standing(on, machine.plateau),
        commands=commands_at(gear, foot.lever[foot.phase], np.asarray(machine.body.valves.stuck)),
        memory=np.zeros(len(cars)),
        h=step / 2 ** halvings(step, manoeuvre, answer),
        answer=answer,
    )


def _look(run: ThreeSpeedRun, time: float, since: float) -> None:
    """Look at the valve body: pressures, shift valves, and what the paths bear from now on."""
    moving, body = run.moving, run.body
    state, mechanics = moving.state, moving.mechanics
    free = mechanics.quickness
    if (path := moving.path()).any_loose:
        free = np.where(path.loose, run.answer, free)
    watch(np.maximum(state.engine, state.turbine), free, run.h)
    share = mechanics.engines.share(state.engine, run.moving.now[AREA], run.moving.now[LEAST])
    floor = run.foot.on_stop(time)
    vacuum = mechanics.engines.vacuum(share, floor[0])
    felt = _felt(run, vacuum, since)
    pressure = governor_pressure(body.governor, state.output)
    line = body.line(run.feeding(), signal_now(body, felt, pressure), state.engine)
    moved, moment = look(run.commands, body, body.governors(pressure, line), felt, floor, time)
    if np.count_nonzero(moved) and (moved := moved & FORWARD_RANGES[run.commands.lever]).any():
        _command(run, moved, moment, time, line)
    level = run.applying.level(time)
    moving.stuck_holds = None
    run.bears = moving.bears = bears_now(run.bears, time, since, _held(run, line, level), level)
    run.shown = {"vacuum": vacuum, "line": line}


def _felt(run: ThreeSpeedRun, vacuum: FloatArray, h: float) -> FloatArray:
    """Vacuum the diaphragm feels [Pa]: a restricted pipe still holds some of a moment ago."""
    body = run.body
    reach = body.felt_share
    if body.any_ported:
        closed = (run.moving.now[AREA] <= 1.001 * run.moving.mechanics.engines.shut) & (
            run.moving.now[LEAST] <= 0.0
        )
        reach = reach * np.where(closed, 1.0 - body.ported, 1.0)
    if not body.any_lag:
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


def _command(
    run: ThreeSpeedRun, changed: BoolArray, moment: FloatArray, time: float, line: FloatArray
) -> None:
    def times(element: int, rows: BoolArray, reverse: bool) -> tuple[FloatArray, FloatArray]:
        return run.body.fill_and_stroke(element, rows, line, run.moving.state.engine, reverse=reverse)

    command(run.commands, run.applying, changed, moment, time, times, lets_go=run.body.lets_go)


def _lever(run: ThreeSpeedRun, time: float) -> None:
    lever = run.foot.lever[run.foot.phase]
    changed = lever != run.commands.lever
    if not changed.any():
        return
    run.moving.now = run.foot.set_to(time)
    run.commands.lever = lever
    pressure = governor_pressure(run.body.governor, np.abs(run.moving.state.output))
    share = run.moving.mechanics.engines.share(
        run.moving.state.engine, run.moving.now[AREA], run.moving.now[LEAST]
    )
    vacuum = run.moving.mechanics.engines.vacuum(share, np.zeros(len(share)))
    signal = signal_now(run.body, vacuum * run.body.felt_share, pressure)
    # Clutches fill against the line of the gear that the lever asks for.
    circuits = np.where(lever == REVERSE, CIRCUIT_ORDER.index("R"), CIRCUIT_ORDER.index("D1"))
    line = run.body.line(run.body.feeding(lever, circuits), signal, run.moving.state.engine)
    _command(run, changed, run.foot.began + HAND, time, line)


def _held(run: ThreeSpeedRun, line: FloatArray, level: FloatArray) -> FloatArray:
    """Torque each path bears driving, then on the overrun, (8, n) [N m]."""
    table = run.moving.mechanics.paths.held(line)
    forward, intermediate, direct = level
    ranges = run.feeding().ranges
    found = np.zeros((8, len(line)))
    found[0] = table[0] * forward
    found[1] = np.minimum(table[1], table[8] * intermediate) * forward
    found[2] = np.minimum(table[2], table[9] * direct) * forward
    found[6] = np.minimum(table[6] * forward, found[2])
    if run.moving.mechanics.paths.brakes:
        drive, second = (run.commands.lever == code for code in (DRIVE, SECOND))
        found[4] = np.where(drive | second, table[10] * forward, 0.0)
        found[5] = np.where(drive, table[11] * intermediate * forward, 0.0)
    for name, there in ranges.items():
        share = {"low": forward, "second": intermediate * forward, "R": direct}[name]
        for row in {"low": (4,), "second": (5,), "R": (3, 7)}[name]:
            found[row] = np.where(there, table[row] * share, found[row])
    return found
