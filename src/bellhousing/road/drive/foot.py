"""Lever, foot and brake of every car through the phases of a manoeuvre."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

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


@dataclass
class Foot:
    """Where each car is in its manoeuvre; changed in place as the drive goes on.

    Parameters
    ----------
    targets : throttle area [rad/s], least manifold share [-], brake [m/s²], grade [-] and travel of the
        linkage [-], (phases, 5, n)
    seconds, above, below, moving : of each phase [s], [m/s], [m/s], [s]
    lever, held, floor : of each phase: code of the range, cannot move, pedal on its stop
    phase : where each car is, (n,); began : since when [s]; done : whether the last phase is over too
    towards : the targets it goes to, (5, n); at_rest : when the last foot has come to its place [s]
    limits : road speeds above and below which each phase ends, its end, and the soonest; None = not known
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
    at_rest: float = 0.0
    limits: tuple[FloatArray, FloatArray, FloatArray, float] | None = None

    def some(self, rows: IntArray) -> Foot:
        """The feet of some of the drivers."""
        return replace(
            self,
            targets=self.targets[:, :, rows],
            phase=self.phase[rows],
            began=self.began[rows],
            was=self.was[:, rows],
            done=self.done[rows],
            towards=self.towards[:, rows],
            limits=None,
        )

    def put(self, rows: IntArray, part: Foot) -> None:
        """Bring some of the drivers to where they now are in their manoeuvre."""
        self.phase[rows], self.began[rows], self.done[rows] = part.phase, part.began, part.done
        self.was[:, rows], self.towards[:, rows] = part.was, part.towards
        self.at_rest, self.limits = max(self.at_rest, part.at_rest), None

    def settled(self, time: float, ahead: float) -> BoolArray:
        """Which feet have come to rest in phases that go on for a while `ahead` [s] yet, (n,)."""
        at_rest = self.began + self.moving[self.phase] <= time
        at_rest &= self.began + self.seconds[self.phase] > time + ahead + 1e-9
        return np.asarray(at_rest)

    def passes(self, speed: FloatArray) -> BoolArray:
        """Which cars are at a road speed [m/s] that ends their phase, (n,)."""
        return np.asarray((speed >= self.above[self.phase]) | (speed <= self.below[self.phase]))

    def on_stop(self, time: float) -> tuple[FloatArray, FloatArray]:
        """1 where the pedal is on its stop at a time [s], and since when [s], (n,)."""
        reached = self.began + ON_STOP * self.moving[self.phase]
        return self.floor[self.phase] * (time >= reached), reached

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
        if self.limits is None:
            end = self.began + self.seconds[self.phase]
            self.limits = self.above[self.phase], self.below[self.phase], end, float(end.min()) - 1e-9
        limits_up, limits_down, end, soonest = self.limits
        over = speed >= limits_up
        over |= speed <= limits_down
        if time >= soonest:
            over |= time >= end - 1e-9
        if not over.any():
            return over
        self.limits = None
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
        self.towards = self.targets[self.phase, :, np.arange(len(self.phase))].T.copy()
        self.at_rest = float((self.began + self.moving[self.phase]).max())
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
