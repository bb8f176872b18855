"""Four-speeds through a manoeuvre: one step after another."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.errors import QuantityError
from bellhousing.road.cars import Cars
from bellhousing.road.drive.applying import Applying, standing
from bellhousing.road.drive.engine_map import engine_map
from bellhousing.road.drive.foot import AREA, BRAKE, GRADE, LEAST, TRAVEL, Foot, foot_of
from bellhousing.road.drive.four.changes import GEARS, Changes, changes_of
from bellhousing.road.drive.four.layout import CARRIER, ENGINE, OUTPUT, TURBINE, Layout, layout_of
from bellhousing.road.drive.four.mechanics import NO_TORQUE, Acting, Bound, Mechanics, State, times
from bellhousing.road.drive.four.sticking import carried, let_slip, meet, slipping_torque, sticks
from bellhousing.road.drive.four.valves import LinkageBody, linkage_body
from bellhousing.road.drive.kept import Kept
from bellhousing.road.drive.looked import LOOK_EVERY, Bears, bears_now
from bellhousing.road.drive.manoeuvres import VACUUM, Manoeuvre
from bellhousing.road.drive.mechanics import Converter
from bellhousing.road.drive.road_load import Body, inertia_on_shaft, road_on_shaft
from bellhousing.road.drive.set_up import figure, halvings, watch
from bellhousing.road.drive.shifting import HAND, Commands, commands_at, look
from bellhousing.road.four_speed.pressures import TRAVEL as NAMED_TRAVEL
from bellhousing.road.four_speed.pressures import travel_at, travel_of
from bellhousing.road.vehicle import MPH, Vehicle

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

RANGES = ("P", "N", "D", "R")
"""Ranges of the lever that can be driven on a four-speed."""


@dataclass
class FourSpeedRun:
    """A drive under way."""

    mechanics: Mechanics
    body: LinkageBody
    changes: Changes
    foot: Foot
    state: State
    applying: Applying
    commands: Commands
    now: FloatArray
    h: float
    answer: FloatArray
    kept: Kept = field(default_factory=lambda: Kept(1, 0))
    line: FloatArray | None = None
    vacuum: FloatArray | None = None
    bears: Bears | None = None
    bound: Bound | None = None

    def advance(self, number: int, every: int, last: int) -> int:
        """One step; a row is kept at every `every`th. Returns how many steps were taken."""
        h, state, mechanics = self.h, self.state, self.mechanics
        time = number * h
        held = self.foot.held[self.foot.phase]
        if self._stop_held(held):
            self.bound = None
        if number % LOOK_EVERY == 0:
            self._look(time, LOOK_EVERY * h)
        assert self.bears is not None
        later = self.foot.set_to(time + h)
        bears = _both_ways(self.bears.at(time))
        acting = self._acting(later, time)
        torque, borne = self._settled(acting, bears, held)
        if let_slip(state, borne, bears).any():
            self.bound = None
            acting = self._acting(later, time)
            torque, borne = self._settled(acting, bears, held)
        assert self.bound is not None
        if number % every == 0:
            self._keep(number, acting, borne, bears)
        before = state.speeds[OUTPUT] * mechanics.road.metres
        state.speeds = mechanics.step(state.speeds, acting, self.bound, times(self.bound.answer, torque), h)
        if meet(mechanics, state, acting, bears, held).any():
            self.bound = None
        self.now = later
        after = state.speeds[OUTPUT] * mechanics.road.metres
        if self.foot.move_on(time + h, h, after, before).any():
            self._lever(time + h)
            self.now = self.foot.set_to(time + h)
            self.bound = None
        return 1

    def _settled(self, acting: Acting, bears: FloatArray, held: BoolArray) -> tuple[FloatArray, FloatArray]:
        """Torque on the speeds and what sticking elements carry, the meshes losing the way power goes."""
        state, mechanics = self.state, self.mechanics
        if self.bound is None:
            self.bound = mechanics.bound(state, held)
        torque = mechanics.torques(state.speeds, acting, 0)[0]
        borne = carried(self.bound, torque, state)
        all_borne = borne + slipping_torque(state, bears)
        back = mechanics.comes_back(all_borne, state.speeds)
        if (back != state.back).any():
            turned = ((back != state.back) & sticks(state)).any()
            state.back = back
            if turned:
                self.bound = mechanics.bound(state, held)
                borne = carried(self.bound, torque, state)
        return torque, borne

    def _stop_held(self, held: BoolArray) -> bool:
        speeds = self.state.speeds
        moving = held & (speeds[OUTPUT] != 0.0)
        if not moving.any():
            return False
        speeds[OUTPUT, moving] = 0.0
        bound = self.mechanics.bound(self.state, held)
        speeds[:, moving] = times(bound.keeps, speeds)[:, moving]
        return True

    def _acting(self, later: FloatArray, time: float) -> Acting:
        """What acts from now for one step; only cars with something slipping are looked at for it."""
        state, bears, now = self.state, self.bears, self.now
        assert bears is not None
        count = state.speeds.shape[1]
        rows = np.flatnonzero((state.stuck < 0).any(axis=0) | bears.busy)
        slipping = NO_TORQUE
        if rows.size:
            some = State(
                state.speeds[:, rows], state.stuck[:, rows], state.side[:, rows], state.back[:, rows]
            )
            parts = np.array([0.0, 0.5, 1.0])[:, None, None] * self.h + (time - bears.time)
            ahead = np.maximum(bears.torque[:, rows] + parts * bears.rate[:, rows], 0.0)
            torque = slipping_torque(some, ahead.reshape(3, 2, -1, rows.size))
            slipping = np.zeros((3, 4, count))
            slipping[..., rows] = self.mechanics.on_speeds(torque, self.mechanics.passed(some.back))
        middle = now if later is now else 0.5 * (now + later)
        constant, slope = self.mechanics.road.against(middle[BRAKE], middle[GRADE])
        return Acting(
            area=(now[AREA], middle[AREA], later[AREA]),
            least=(now[LEAST], middle[LEAST], later[LEAST]),
            slipping=slipping,
            constant=constant,
            slope=slope,
        )

    def _look(self, time: float, since: float) -> None:
        """Look at the valve body: pressures, shift valves, and what the elements bear from now on."""
        body, speeds, engines = self.body, self.state.speeds, self.mechanics.engines
        watch(np.maximum(speeds[CARRIER], speeds[TURBINE]), self.answer, self.h)
        share = engines.share(speeds[ENGINE], self.now[AREA], self.now[LEAST])
        floor = self.foot.on_stop(time)
        self.vacuum = engines.vacuum(share, floor[0])
        travel = self.now[TRAVEL]
        signal = body.throttle_pressure(travel)
        self.line = body.line(self.commands.gear, signal, speeds[ENGINE], speeds[OUTPUT])
        governors = body.governors(np.abs(speeds[OUTPUT]), self.line)
        moved, moment = look(self.commands, body, governors, travel, floor, time)
        if moved.any():
            self._command(moved, moment, time, signal)
        level = self.applying.level(time)
        torque = body.holds.at(self.line) * np.concatenate([level, level])
        self.bears = bears_now(self.bears, time, since, torque, level)

    def _lever(self, time: float) -> None:
        lever = self.foot.lever[self.foot.phase]
        changed = lever != self.commands.lever
        if changed.any():
            self.commands.lever = lever
            signal = self.body.throttle_pressure(self.now[TRAVEL])
            self._command(changed, self.foot.began + HAND, time, signal)

    def _command(self, changed: BoolArray, moment: FloatArray, time: float, signal: FloatArray) -> None:
        line = self.line
        assert line is not None
        cushion = self.body.cushion(signal)
        self.changes.command(self.commands, self.applying, changed, moment, time, line, cushion)

    def _keep(self, number: int, acting: Acting, borne: FloatArray, bears: FloatArray) -> None:
        state, mechanics = self.state, self.mechanics
        speeds = state.speeds
        _, engine, fluid, load = mechanics.torques(speeds, acting, 0)
        slipping = slipping_torque(state, bears)
        slips = mechanics.slips(speeds)
        assert self.vacuum is not None
        assert self.line is not None
        row = {
            "speed": np.abs(speeds[OUTPUT] * mechanics.road.metres),
            "engine": speeds[ENGINE],
            "turbine": speeds[TURBINE],
            "vacuum": self.vacuum,
            "line": self.line,
            "travel": self.now[TRAVEL],
            "torque": engine,
            "slip": self._slip_of_gear(slips),
            "slip_heat": (slipping * slips).sum(axis=0),
            "fluid_heat": fluid * (speeds[CARRIER] - speeds[TURBINE]),
            "mesh_heat": mechanics.mesh_loss(borne + slipping, speeds, mechanics.passed(state.back)),
            "road": load * speeds[OUTPUT],
            "kinetic": 0.5 * (mechanics.inertia * speeds**2).sum(axis=0),
            "gear": self.commands.gear.astype(np.float64),
            "phase": self.foot.phase.astype(np.float64),
        }
        self.kept.keep(number, row)

    def _slip_of_gear(self, slips: FloatArray) -> FloatArray:
        """Largest slip among the elements of the gear commanded, (n,) [rad/s]; nought in neutral."""
        found = np.zeros(slips.shape[1])
        for gear in np.unique(self.commands.gear):
            used = self.changes.elements(int(gear))
            if used:
                there = self.commands.gear == gear
                found[there] = np.abs(slips[list(used)][:, there]).max(axis=0)
        return found


def _both_ways(bears: FloatArray) -> FloatArray:
    """Rows of both ways, (2 elements, n), as (2, elements, n)."""
    return bears.reshape(2, -1, bears.shape[-1])


def four_speed_run(
    box: Box, cars: Cars, car: Vehicle, manoeuvre: Manoeuvre, step: float, road: Body
) -> FourSpeedRun:
    """A drive of four-speeds at its start.

    Raises
    ------
    BoxFileError : a number or gear train that is not known, or one that cannot be driven
    QuantityError : a range of the lever that a four-speed is not driven in
    """
    for phase in manoeuvre.phases:
        if phase.range not in RANGES:
            raise QuantityError(
                f"a four-speed is not driven with the lever in '{phase.range}'", remedy=", ".join(RANGES)
            )
    layout = layout_of(box, figure(box, "meshes.efficiency"))
    mechanics = _mechanics(box, cars, car, layout, road)
    body = linkage_body(cars, layout)
    travels = {name: travel_of(cars, name) for name in NAMED_TRAVEL}
    travels |= {name: np.full(len(cars), travel_at(vacuum)) for name, vacuum in VACUUM.items()}
    foot = foot_of(manoeuvre, mechanics.engines, travels)
    gear = manoeuvre.first_gear(4)
    changes = changes_of(cars, car, layout)
    on = np.zeros((len(layout.names), len(cars)), dtype=bool)
    on[list(changes.elements(gear))] = True
    engine, carrier, turbine, _ = mechanics.inertia
    answer = mechanics.coupling.capacity * (1.0 / turbine + 1.0 / (engine + carrier))
    return FourSpeedRun(
        mechanics=mechanics,
        body=body,
        changes=changes,
        foot=foot,
        state=_start(mechanics, changes, cars, manoeuvre, gear),
        applying=standing(on, np.ones(on.shape)),
        commands=commands_at(gear, foot.lever[foot.phase], np.asarray(body.valves.stuck)),
        now=foot.set_to(0.0),
        h=step / 2 ** halvings(step, manoeuvre, answer),
        answer=answer,
    )


def _mechanics(box: Box, cars: Cars, car: Vehicle, layout: Layout, road: Body) -> Mechanics:
    none, one = np.zeros(len(cars)), np.ones(len(cars))
    inertia = [
        cars["engine.inertia"],
        one * figure(box, "coupling.input_inertia"),
        one * figure(box, "coupling.runner_inertia"),
        one * inertia_on_shaft(road, car),
    ]
    return Mechanics(
        engines=engine_map(cars, car.altitude),
        coupling=Converter(
            capacity=cars["coupling.fill"] / cars["coupling.capacity_factor"] ** 2,
            stall_ratio=one,
            coupling_point=one,
            least=one + none,
            overrun=1.0,
        ),
        layout=layout,
        inertia=np.stack(inertia),
        road=road_on_shaft(road, car),
    )


def _start(mechanics: Mechanics, changes: Changes, cars: Cars, manoeuvre: Manoeuvre, gear: int) -> State:
    """Standing at idle in neutral, or rolling in a gear whose elements stick."""
    layout = mechanics.layout
    count = len(cars)
    state = State(
        speeds=np.zeros((4, count)),
        stuck=np.full((2, count), -1, dtype=np.intp),
        side=np.ones((len(layout.names), count)),
        back=np.zeros((len(layout.names), count), dtype=bool),
    )
    idle = cars["engine.idle_speed"]
    if gear == 0:
        # Free of the engine, both halves of the coupling turn with the engine's drag.
        state.speeds[:3] = idle, 0.7 * idle, 0.68 * idle
    else:
        output = manoeuvre.start_mph * MPH / mechanics.road.metres
        holds = changes.car.gears[GEARS[gear]]
        driven = holds.coupling_speed
        state.speeds[:] = (
            np.array([1.0, driven, 0.97 * driven, 1.0 / holds.ratio])[:, None] * holds.ratio * output
        )
        front, rear = changes.elements(gear)
        state.stuck[0], state.stuck[1] = front, rear
        bound = mechanics.bound(state, np.zeros(count, dtype=bool))
        state.speeds = times(bound.keeps, state.speeds)
    slips = mechanics.slips(state.speeds)
    state.side = np.where(slips < 0.0, -1.0, 1.0)
    return state
