"""What moves between two looks at the valve body, and one small step of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.drive.foot import AREA, BRAKE, GRADE, LEAST, TRAVEL, Foot, Limits
from bellhousing.road.drive.holding_paths import carried, let_slip, meet, slip_torques
from bellhousing.road.drive.looked import Bears
from bellhousing.road.drive.mechanics import Mechanics, Push, Rates, State, Through

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]

NOTHING: FloatArray = np.zeros((3, 1))
PARTS: FloatArray = np.array([0.0, 0.5, 1.0])[:, None, None]


@dataclass(frozen=True)
class Moment:
    """Rates now, and torque of the path that sticks, (n,) [N m]."""

    rates: Rates
    needed: FloatArray


@dataclass
class Moving:
    """Cars on their way, all of a drive or some of them; changed in place.

    Parameters
    ----------
    now : where the feet are, as `Foot.set_to` gives it
    moment : that at which these cars now are, where the last step has found it
    still : what acts with the feet at rest where `now` is, where it has been asked for
    """

    mechanics: Mechanics
    foot: Foot
    state: State
    bears: Bears
    now: FloatArray
    foot_now: FloatArray | None = None
    against: tuple[FloatArray, FloatArray] = (NOTHING, NOTHING)
    through: Through | None = None
    stuck_holds: tuple[FloatArray, FloatArray] | None = None
    moment: Moment | None = None
    still: tuple[FloatArray, Push] | None = None

    def path(self) -> Through:
        """The path that sticks on every car."""
        if self.through is None:
            self.through = self.mechanics.through(self.state)
        return self.through

    def some(self, rows: IntArray, mechanics: Mechanics) -> Moving:
        """Some of the cars, with the mechanics of these."""
        foot, state = self.foot.some(rows), self.state.some(rows)
        return Moving(mechanics, foot, state, self.bears.some(rows), self.now[:, rows])

    def put(self, rows: IntArray, part: Moving) -> None:
        """Bring some of the cars to where they now are."""
        self.state.put(rows, part.state)
        self.foot.put(rows, part.foot)
        self.forget()

    def arrive(self, rows: IntArray, state: State, places: IntArray) -> None:
        """Bring some of the cars to speeds of others, at `places` of that state."""
        mine = self.state
        mine.engine[rows], mine.turbine[rows] = state.engine[places], state.turbine[places]
        mine.output[rows] = state.output[places]
        self.moment = None

    def forget(self) -> None:
        """Work out anew what the sticking paths carry and hold."""
        self.through = self.stuck_holds = self.foot_now = self.moment = self.still = None

    def settle(self, time: float, h: float) -> tuple[Moment, Push]:
        """Let slip what cannot hold at a time [s]; what acts for one step of `h` [s], and the rates now."""
        limits = self.foot.limits
        self.moment = None
        if limits.any_held:
            _stop_held(self.state, limits.held)
        later = self.foot.set_to(time + h)
        push = self._push(later, time, h, limits)
        rates, needed = self._settled(push)
        if let_slip(self.state, needed, *self.held_by_stuck(time)):
            self.through = self.stuck_holds = None
            push = self._push(later, time, h, limits)
            rates, needed = self._settled(push)
        return Moment(rates, needed), push

    def small_step(self, time: float, h: float, moment: Moment, push: Push) -> BoolArray:
        """One step from a settled moment; returns the cars whose phase of the manoeuvre ended."""
        state, metres = self.state, self.mechanics.road.metres
        before = state.output * metres
        self.mechanics.step(state, push, moment.rates, self.path(), h)
        if meet(self.mechanics, state, push, partial(self.bears.at, time)):
            self.through = self.stuck_holds = None
        over = self.foot.move_on(time + h, h, state.output * metres, before)
        self.now = self.foot.set_to(time + h)
        return over

    def held_by_stuck(self, time: FloatArray | float) -> FloatArray:
        """What sticking paths hold driving and on the overrun, infinite where none sticks, (2, n) [N m]."""
        bears = self.bears
        if self.stuck_holds is None:
            through = self.path()
            torque, rate = bears.torque.take(through.places), bears.rate.take(through.places)
            if through.any_loose:
                np.copyto(torque, np.inf, where=through.loose)
                np.copyto(rate, 0.0, where=through.loose)
            self.stuck_holds = torque, rate
        torque, rate = self.stuck_holds
        held = rate * (time - bears.time)
        held += torque
        return np.maximum(held, 0.0, out=held)

    def still_push(self) -> Push:
        """What acts on cars on which nothing that slips bears anything, their feet at rest."""
        now, limits, loose = self.now, self.foot.limits, self.path().any_loose
        if self.still is not None and self.still[0] is now and self.still[1].slips == loose:
            return self.still[1]
        constant, slope = self.mechanics.road.against(now[BRAKE], now[GRADE])
        push = Push(
            area=(now[AREA],) * 3,
            least=(now[LEAST],) * 3,
            taken=NOTHING,
            given=NOTHING,
            constant=constant,
            slope=slope,
            held=limits.held,
            any_held=limits.any_held,
            slips=loose,
        )
        self.still = now, push
        return push

    def row(self, moment: Moment, bears: FloatArray, gear: IntArray) -> dict[str, FloatArray]:
        """A row of a drive by the fields of `Drive`, as far as it follows from what moves."""
        state, mechanics, rates = self.state, self.mechanics, moment.rates
        paths, masses = mechanics.paths, mechanics.masses
        engine, turbine, output = state.engine, state.turbine, state.output
        slip = turbine - paths.ratio * output
        torque = np.where(state.side > 0.0, bears[:4], bears[4:]) * state.side
        rows = np.flatnonzero(state.stuck >= 0)
        all_torque = torque.copy()
        all_torque[state.stuck[rows], rows] += moment.needed[rows]
        lost = all_torque * (1.0 - paths.passed(all_torque < 0.0))
        kinetic = masses.engine * engine**2 + masses.turbine * turbine**2 + masses.car * output**2
        return {
            "speed": np.abs(output * mechanics.road.metres),
            "engine": engine,
            "turbine": turbine,
            "travel": self.now[TRAVEL],
            "torque": rates.engine_torque,
            "slip": np.where(gear == 0, 0.0, slip[np.maximum(gear, 0) - 1, np.arange(len(gear))]),
            "slip_heat": (torque * slip).sum(axis=0),
            "fluid_heat": rates.pump_torque * engine - rates.turbine_torque * turbine,
            "mesh_heat": (paths.ratio * lost).sum(axis=0) * output,
            "road": rates.load * output,
            "kinetic": 0.5 * kinetic,
            "phase": self.foot.phase.astype(np.float64),
        }

    def _settled(self, push: Push) -> tuple[Rates, FloatArray]:
        """Rates now and what the sticking path carries, the meshes losing the way power goes."""
        state, mechanics = self.state, self.mechanics
        through = self.path()
        speeds = (state.engine, state.turbine, state.output)
        rates = mechanics.rates(speeds, push, 0, through)
        needed = carried(mechanics, push, rates)
        turned = needed < 0.0
        turned ^= state.back
        turned &= through.sticks
        if np.count_nonzero(turned):
            state.back = state.back ^ turned
            self.through = mechanics.through(state)
            rates = mechanics.rates(speeds, push, 0, self.through)
            needed = carried(mechanics, push, rates)
        return rates, needed

    def _push(self, later: FloatArray, time: float, h: float, limits: Limits) -> Push:
        """What acts from now for one step; only cars with something slipping are looked at for it."""
        state, bears, now = self.state, self.bears, self.now
        (rows,) = (self.path().loose | bears.busy).nonzero()
        taken = given = NOTHING
        if rows.size:
            count = len(bears.busy)
            some = rows if rows.size < count else slice(None)
            side, torque, rate = state.side[:, some], bears.torque[:, some], bears.rate[:, some]
            ahead = rate * (time - bears.time + PARTS * h)
            ahead += torque
            np.maximum(ahead, 0.0, out=ahead)
            taken, given = slip_torques(self.mechanics, side, ahead[:, :4], ahead[:, 4:])
            if rows.size < count:
                acts = taken, given
                taken, given = np.zeros((3, count)), np.zeros((3, count))
                taken[:, rows], given[:, rows] = acts
        middle = now if later is now else 0.5 * (now + later)
        if self.foot_now is not middle:
            self.foot_now = middle
            self.against = self.mechanics.road.against(middle[BRAKE], middle[GRADE])
        constant, slope = self.against
        return Push(
            area=(now[AREA], middle[AREA], later[AREA]),
            least=(now[LEAST], middle[LEAST], later[LEAST]),
            taken=taken,
            given=given,
            constant=constant,
            slope=slope,
            held=limits.held,
            any_held=limits.any_held,
            slips=bool(rows.size),
        )


def _stop_held(state: State, held: BoolArray) -> None:
    moving = held & (state.output != 0.0)
    if np.count_nonzero(moving):
        state.output = np.where(moving, 0.0, state.output)
        state.turbine = np.where(moving & (state.stuck >= 0), 0.0, state.turbine)
