"""Lever, foot and brake of every car through the phases of a manoeuvre."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bellhousing.errors import QuantityError
from bellhousing.road.drive.engine_map import EngineMap
from bellhousing.road.drive.manoeuvres import VACUUM, Manoeuvre, metres_per_second
from bellhousing.road.drive.valves import RANGE_ORDER

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

AREA, LEAST, BRAKE, GRADE, TRAVEL = range(5)

ON_STOP = 0.9
"""Share of a full pedal's movement after which it is on its stop [-]; common practice, no source."""


@dataclass(frozen=True)
class Limits:
    """What ends the phase each car is in, (n,) each; it holds until one of them goes on to its next.

    Parameters
    ----------
    above, below : road speeds above and below which it ends [m/s]
    end : when it ends [s]
    at_rest : when the foot has come to its place [s]
    held : whether the car cannot move
    """

    above: FloatArray
    below: FloatArray
    end: FloatArray
    at_rest: FloatArray
    held: BoolArray

    @cached_property
    def soonest(self) -> float:
        """A little before the first of them ends [s]."""
        return float(self.end.min()) - 1e-9

    @cached_property
    def any_held(self) -> bool:
        """Whether any car cannot move."""
        return bool(self.held.any())


@dataclass
class Foot:
    """Where each car is in its manoeuvre; changed in place as the drive goes on.

    Parameters
    ----------
    targets : throttle area [rad/s], least manifold share [-], brake [m/s²], grade [-] and travel of the
        linkage [-], (phases, 5, all drivers); places : which of all drivers these are, (n,)
    seconds, above, below, moving : of each phase [s], [m/s], [m/s], [s]
    lever, held, floor : of each phase: code of the range, cannot move, pedal on its stop
    phase : where each car is, (n,); began : since when [s]; done : whether the last phase is over too
    towards : the targets it goes to, (5, n); at_rest : when the last foot has come to its place [s]
    known : what ends the phases, as far as it has been looked at
    was : the targets it came from, (5, n)
    """

    targets: FloatArray
    seconds: FloatArray
    above: FloatArray
    below: FloatArray
    moving: FloatArray
    lever: IntArray
    held: BoolArray
    floor: FloatArray
    phase: IntArray
    began: FloatArray
    was: FloatArray
    done: BoolArray
    towards: FloatArray
    places: IntArray
    at_rest: float = 0.0
    known: Limits | None = None

    @property
    def limits(self) -> Limits:
        """What ends the phase each car is in."""
        if self.known is None:
            phase, began = self.phase, self.began
            # A foot that is already where it goes to need not wait.
            goes = (self.was != self.towards).any(axis=0)
            self.known = Limits(
                above=self.above[phase],
                below=self.below[phase],
                end=began + self.seconds[phase],
                at_rest=began + self.moving[phase] * goes,
                held=self.held[phase],
            )
        return self.known

    def some(self, rows: IntArray) -> Foot:
        """The feet of some of the drivers."""
        return replace(
            self,
            places=self.places[rows],
            phase=self.phase[rows],
            began=self.began[rows],
            was=self.was[:, rows],
            done=self.done[rows],
            towards=self.towards[:, rows],
            known=None,
        )

    def put(self, rows: IntArray, part: Foot) -> None:
        """Bring some of the drivers to where they now are in their manoeuvre."""
        self.phase[rows], self.began[rows], self.done[rows] = part.phase, part.began, part.done
        self.was[:, rows], self.towards[:, rows] = part.was, part.towards
        self.at_rest, self.known = max(self.at_rest, part.at_rest), None

    def settled(self, time: float, ahead: float) -> BoolArray:
        """Which feet have come to rest in phases that go on for a while `ahead` [s] yet, (n,)."""
        limits = self.limits
        at_rest = limits.at_rest <= time
        if limits.soonest <= time + ahead:
            at_rest &= limits.end > time + ahead + 1e-9
        return np.asarray(at_rest)

    def passes(self, speed: FloatArray) -> BoolArray:
        """Which cars are at a road speed [m/s] that ends their phase, (n,)."""
        found = speed >= self.limits.above
        found |= speed <= self.limits.below
        return np.asarray(found)

    def on_stop(self, time: float) -> tuple[FloatArray, FloatArray]:
        """1 where the pedal is on its stop at a time [s], and since when [s], (n,)."""
        if not self._floored:
            return np.zeros(len(self.began)), self.began
        reached = self.began + ON_STOP * self.moving[self.phase]
        return self.floor[self.phase] * (time >= reached), reached

    @cached_property
    def _floored(self) -> bool:
        """Whether the pedal is on its stop in any phase."""
        return bool(self.floor.any())

    def set_to(self, time: float) -> FloatArray:
        """Area, least share, brake, grade and travel at a time [s], (5, n): from the last to the next."""
        if time >= self.at_rest:
            return self.towards
        share = np.minimum(np.maximum((time - self.began) / self.moving[self.phase], 0.0), 1.0)
        return np.asarray(self.was + (self.towards - self.was) * share)

    def move_on(self, time: float, h: float, speed: FloatArray, before: FloatArray) -> BoolArray:
        """End the phases that are over at `time` [s]; the moment within the last step is interpolated.

        `speed` and `before` are the road speeds now and a step ago [m/s]. Returns the cars that moved on.
        """
        limits = self.limits
        limits_up, limits_down, end = limits.above, limits.below, limits.end
        over = self.passes(speed)
        if time >= limits.soonest:
            over |= time >= end - 1e-9
        if not np.count_nonzero(over):
            return over
        self.known = None
        more = self.phase < len(self.seconds) - 1
        self.done |= over & ~more
        over &= more
        limit = np.where(speed >= limits_up, limits_up, limits_down)
        step = speed - before
        by_speed = (speed >= limits_up) | (speed <= limits_down)
        with np.errstate(divide="ignore", invalid="ignore"):
            share = np.where(np.abs(step) > 1e-9, (speed - limit) / step, 0.0)
        moment = np.where(by_speed, time - h * np.clip(np.nan_to_num(share), 0.0, 1.0), end)
        now = self.set_to(time)
        rows = np.flatnonzero(over)
        self.was[:, rows] = now[:, rows]
        self.phase[rows] += 1
        self.began[rows] = moment[rows]
        self.towards = self.targets[self.phase, :, self.places].T.copy()
        self.at_rest = float(self.limits.at_rest.max())
        return over


def foot_of(
    manoeuvre: Manoeuvre, engines: EngineMap, travels: Mapping[str, FloatArray] | None = None
) -> Foot:
    """The foot of every driver at the start of a manoeuvre.

    `travels` is the pedal's travel by the name of a throttle, for boxes with a throttle linkage [-].

    Raises
    ------
    QuantityError : a throttle that has no meaning.
    """
    count = len(engines.shut)
    phases = manoeuvre.phases
    targets = np.zeros((len(phases), 5, count))
    for row, phase in enumerate(phases):
        targets[row, AREA], targets[row, LEAST] = _throttle(phase.throttle, engines)
        targets[row, BRAKE], targets[row, GRADE] = phase.brake, phase.grade
        targets[row, TRAVEL] = _travel(phase.throttle, travels or {})
    start = targets[0].copy()
    return Foot(
        targets=targets,
        seconds=np.array([phase.seconds for phase in phases]),
        above=np.array([metres_per_second(phase.above, np.inf) for phase in phases]),
        below=np.array([metres_per_second(phase.below, -np.inf) for phase in phases]),
        moving=np.array([max(phase.foot, 1e-6) for phase in phases]),
        lever=np.array([RANGE_ORDER.index(phase.range) for phase in phases]),
        held=np.array([phase.held for phase in phases]),
        floor=np.array([float(phase.throttle == "full") for phase in phases]),
        phase=np.zeros(count, dtype=np.intp),
        began=np.zeros(count),
        was=start,
        done=np.zeros(count, dtype=bool),
        towards=start.copy(),
        places=np.arange(count),
    )


def _throttle(name: str, engines: EngineMap) -> tuple[FloatArray, FloatArray]:
    """Throttle area [rad/s] and least manifold share [-] of a named throttle."""
    none = np.zeros(len(engines.shut))
    if name == "shut":
        return engines.shut, none
    if name in engines.named:
        return engines.shut, np.clip(1.0 - engines.named[name] / engines.outside, 0.0, 1.0)
    if name in VACUUM:
        return engines.shut, np.full(len(none), 1.0 - VACUUM[name] / engines.outside)
    return engines.shut + (engines.wide - engines.shut) * _pedal(name) ** 2, none


def _pedal(name: str) -> float:
    """Travel of a throttle called by it, such as "pedal 0.35" [-]."""
    word, _, travel = name.partition(" ")
    try:
        pedal = float(travel)
    except ValueError:
        pedal = -1.0
    if word != "pedal" or not 0.0 <= pedal <= 1.0:
        raise QuantityError(
            f"'{name}' is no throttle", remedy="shut, light, medium, deep, full, or pedal 0.35"
        )
    return pedal


def _travel(name: str, travels: Mapping[str, FloatArray]) -> FloatArray | float:
    """Travel of the linkage at a named throttle [-]; none where there is no linkage."""
    if name == "shut" or not travels:
        return 0.0
    return travels[name] if name in travels else _pedal(name)
