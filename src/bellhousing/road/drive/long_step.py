"""Several small steps at once for the cars on which nothing is about to change."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.drive.holding_paths import carried
from bellhousing.road.drive.mechanics import Push, Rates, State, Through
from bellhousing.road.drive.moving import Moment, Moving

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]

STABLE = 2.6
"""Long steps times the rate of an engine on its converter that are tried [-]; the method bears 2.785."""

TOLERANCE = 1e-3 / 0.04**4
"""Error of a long step at any speed, over the fourth power of its length, beyond which it is taken again in
small ones [rad/s⁵]; it falls with the step as the error does, so that the order of the whole is kept."""


def quiet(moving: Moving, time: float, ahead: float) -> tuple[BoolArray, BoolArray]:
    """On which cars nothing is known to change in a time `ahead` [s], (n,) each.

    A path sticks or none bears anything, no element is on its way on or off, and the foot rests in a phase
    that goes on. First those that may take that time in one step, then those that may take it in one or in
    two.
    """
    state, mechanics, limits = moving.state, moving.mechanics, moving.foot.limits
    calm = moving.foot.settled(time, ahead)
    path = moving.path()
    calm &= (path.sticks | moving.bears.nothing) if path.any_loose else path.sticks
    calm &= ~moving.bears.busy
    if limits.any_held:
        calm &= ~limits.held | (state.output == 0.0)
    # The slope of w² (1 + r⁴) / K², r the speed ratio, at a turbine that does not change.
    ratio = state.turbine / np.maximum(state.engine, 1.0)
    ratio *= ratio
    ratio *= ratio
    ratio += 1.0
    ratio *= mechanics.quickness
    ratio *= state.engine
    if path.any_loose:
        # And of both on a free turbine that turns as fast as the engine.
        free = 2.0 * np.maximum(state.engine, state.turbine) * mechanics.free_quickness
        np.copyto(ratio, free, where=path.loose)
    return calm & (ratio <= STABLE / (2.0 * ahead)), calm & (ratio <= STABLE / ahead)


@dataclass
class LongStep:
    """A long step from `start` to `part`; `good` are the cars on which it stands, (n,)."""

    part: Moving
    good: BoolArray
    start: State
    push: Push
    through: Through
    first: Moment
    last: Moment
    ahead: FloatArray | float

    def between(self, later: float) -> tuple[Moving, Moment]:
        """The cars so much `later` than the step's start [s] and what acts then, for the rows of a drive.

        The speeds run on the cubic through both ends and their rates (Hermite), whose error is of fourth
        order in the step like the method's. Nothing is said of cars that are there sooner.
        """
        if later == 0.0:
            found, moment = self.start, self.first
        else:
            share = np.minimum(later / self.ahead, 1.0)
            begin, end = self.first.rates, self.last.rates
            engine, turbine, output = (
                _hermite(share, self.ahead, *four)
                for four in (
                    (self.start.engine, self.part.state.engine, begin.engine, end.engine),
                    (self.start.turbine, self.part.state.turbine, begin.turbine, end.turbine),
                    (self.start.output, self.part.state.output, begin.output, end.output),
                )
            )
            found = State(engine, turbine, output, self.start.stuck, self.start.side, self.start.back)
            moment = _moment(self.part, found, self.push, self.through)
        return Moving(self.part.mechanics, self.part.foot, found, self.part.bears, self.part.now), moment


def long_step(part: Moving, time: float, ahead: FloatArray | float) -> LongStep:
    """Take one long step on cars that are `quiet`, so long on each [s], and see where it may stand.

    It may not where the path that sticks could not hold, where power turns its way through the meshes, where
    another path would stick, where a phase ends, and where the error is beyond the tolerance. That is the
    distance to the method of third order with weights 1/6, 1/3, 1/3, 0, 1/6 on the four stages and the rates
    at the end, h / 6 times the difference between the last stage and those.
    """
    state, mechanics = part.state, part.mechanics
    start = State(state.engine, state.turbine, state.output, state.stuck, state.side, state.back)
    push, through = part.still_push(), part.path()
    first = part.moment or _moment(part, state, push, through)
    stage = mechanics.step(state, push, first.rates, through, ahead)
    last = part.moment = _moment(part, state, push, through)
    error, other = stage[0] - last.rates.engine, stage[2] - last.rates.output
    np.maximum(np.abs(error, out=error), np.abs(other, out=other), out=error)
    if through.any_loose:
        error = np.where(through.loose, np.maximum(error, np.abs(stage[1] - last.rates.turbine)), error)
    good = error <= TOLERANCE * 6.0 * ahead**3
    for moment, at in ((first, time), (last, time + ahead)):
        driving, overrun = part.held_by_stuck(at)
        alike = (moment.needed < 0.0) == state.back
        good &= (alike | through.loose) if through.any_loose else alike
        good &= moment.needed <= driving
        good &= moment.needed >= np.negative(overrun, out=overrun)
    if through.any_loose or np.count_nonzero(start.output * state.output > 0.0) < len(good):
        # Else a path sticks and the road goes on the same way, so that no slip can change its own.
        slip = state.turbine - mechanics.paths.ratio * state.output
        slip *= state.side
        good &= slip.min(axis=0) >= 0.0
    good &= ~part.foot.passes(state.output * mechanics.road.metres)
    return LongStep(part, good, start, push, through, first, last, ahead)


def _moment(part: Moving, state: State, push: Push, through: Through) -> Moment:
    rates: Rates = part.mechanics.rates((state.engine, state.turbine, state.output), push, 0, through)
    return Moment(rates, carried(part.mechanics, push, rates))


def _hermite(
    share: FloatArray | float,
    h: FloatArray | float,
    start: FloatArray,
    end: FloatArray,
    rate: FloatArray,
    rate_end: FloatArray,
) -> FloatArray:
    """The cubic with these ends and rates at a share of the step of `h` [s]; C. Hermite, from memory."""
    back = 1.0 - share
    straight = back * start + share * end
    bend = (1.0 - 2.0 * share) * (end - start) + h * ((share - 1.0) * rate + share * rate_end)
    return np.asarray(straight - share * back * bend)
