"""Engine, converter, paths and car as one system, stepped by the classical Runge-Kutta method."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.drive.engine_map import EngineMap, some_engines
from bellhousing.road.drive.paths import Paths
from bellhousing.road.drive.road_load import RoadOnShaft

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

OVERRUN_CAPACITY = 0.5
"""Torque of a converter driven by its turbine, relative to the same speeds reversed; common practice, no
source."""


@dataclass(frozen=True)
class Masses:
    """Inertias of n cars, each (n,): engine with converter shell, turbine, car at the output [kg m²]."""

    engine: FloatArray
    turbine: FloatArray
    car: FloatArray


@dataclass(frozen=True)
class Converter:
    """Converters of n cars, each (n,).

    Parameters
    ----------
    capacity : 1 / K², pump torque per squared speed at stall [N m s²]
    stall_ratio : torque ratio at stall [-]
    coupling_point : speed ratio from which torque is no longer multiplied [-]
    least : torque ratio from there; 1, less with a locked stator [-]
    overrun : torque with the turbine driving, relative to the same speeds reversed [-]
    """

    capacity: FloatArray
    stall_ratio: FloatArray
    coupling_point: FloatArray
    least: FloatArray
    overrun: float = OVERRUN_CAPACITY

    def some(self, rows: NDArray[np.intp]) -> Converter:
        """The converters of some of the cars."""
        return Converter(
            self.capacity[rows],
            self.stall_ratio[rows],
            self.coupling_point[rows],
            self.least[rows],
            self.overrun,
        )

    @cached_property
    def _fall(self) -> FloatArray:
        """How fast the torque ratio falls with the speed ratio [-]."""
        return (self.stall_ratio - 1.0) / self.coupling_point

    def torques(self, engine: FloatArray, turbine: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Torque of the pump on the engine and of the turbine on the box [N m], at speeds [rad/s].

        T_p = (w_e² - w_t⁴ / w_e²) / K² and T_t = T_p · ratio; the turbine driving, the same law with the
        speeds exchanged, weaker and without multiplication.
        """
        back = np.maximum(turbine, 0.0)
        if np.count_nonzero(back < engine) == back.size:
            return self._driving(engine, back)
        high, low = np.maximum(engine, back), np.minimum(engine, back)
        ratio = low / np.maximum(high, 1e-6)
        fourth = ratio * ratio
        fourth *= fourth
        size = high * high
        size *= self.capacity
        size *= 1.0 - fourth
        ratio *= self._fall
        more = np.maximum(self.stall_ratio - ratio, self.least)
        overrun = back > engine
        if not np.count_nonzero(overrun):
            return size, size * more
        pump = np.where(overrun, -self.overrun * size, size)
        return pump, np.where(overrun, pump, size * more)

    def _driving(self, engine: FloatArray, turbine: FloatArray) -> tuple[FloatArray, FloatArray]:
        """As `torques` where every engine turns faster than its turbine and none turns back."""
        ratio = turbine
        ratio /= engine
        fourth = ratio * ratio
        fourth *= fourth
        np.subtract(1.0, fourth, out=fourth)
        size = engine * engine
        size *= self.capacity
        size *= fourth
        ratio *= self._fall
        np.subtract(self.stall_ratio, ratio, out=ratio)
        np.maximum(ratio, self.least, out=ratio)
        ratio *= size
        return size, ratio


@dataclass
class State:
    """What moves, (n,) each: engine, turbine and output speed [rad/s], and which path holds how.

    Parameters
    ----------
    stuck : the path that does not slip, -1 = none
    side : +1 where a path slips driving, -1 where it is overrun, 0 where it sticks, (4, n)
    back : where the road drives the path that sticks
    """

    engine: FloatArray
    turbine: FloatArray
    output: FloatArray
    stuck: NDArray[np.intp]
    side: FloatArray
    back: BoolArray

    def some(self, rows: NDArray[np.intp]) -> State:
        """The state of some of the cars."""
        return State(
            self.engine[rows],
            self.turbine[rows],
            self.output[rows],
            self.stuck[rows],
            self.side[:, rows],
            self.back[rows],
        )

    def put(self, rows: NDArray[np.intp], part: State) -> None:
        """Bring some of the cars to where they now are."""
        self.engine[rows], self.turbine[rows], self.output[rows] = part.engine, part.turbine, part.output
        self.stuck[rows], self.side[:, rows], self.back[rows] = part.stuck, part.side, part.back


@dataclass(frozen=True)
class Push:
    """What acts during one step, each given at its start, middle and end.

    Parameters
    ----------
    area, least : throttle area [rad/s] and least manifold share [-], (n,) each
    taken, given : torque that slipping paths take from the turbine and give to the output, (3, n) [N m]
    constant, slope : torque of rolling and brakes, and of the slope, mid-step, (n,) [N m]
    held : whether the car cannot move, (n,); any_held : whether any cannot
    slips : whether any path of any car slips and bears something
    """

    area: tuple[FloatArray, FloatArray, FloatArray]
    least: tuple[FloatArray, FloatArray, FloatArray]
    taken: FloatArray
    given: FloatArray
    constant: FloatArray
    slope: FloatArray
    held: BoolArray
    any_held: bool
    slips: bool


@dataclass(frozen=True)
class Rates:
    """Accelerations [rad/s²] and the torques behind them [N m], (n,) each."""

    engine: FloatArray
    turbine: FloatArray
    output: FloatArray
    engine_torque: FloatArray
    pump_torque: FloatArray
    turbine_torque: FloatArray
    load: FloatArray


@dataclass(frozen=True)
class Through:
    """The path that sticks on each car, (n,) each.

    Parameters
    ----------
    ratio : input over output speed, r [-]
    acts : output over input torque, a: the ratio less what the meshes lose [-]
    answer : 1 / (J + a r I_t) [1/(kg m²)]
    sticks, loose : whether there is one, or none; any_loose : whether any has none
    places : where it stands among the paths driving and on the overrun, row by row, (2, n)
    """

    ratio: FloatArray
    acts: FloatArray
    answer: FloatArray
    sticks: BoolArray
    loose: BoolArray
    any_loose: bool
    places: NDArray[np.intp]


@dataclass(frozen=True)
class Mechanics:
    """All that does not change during a drive.

    Parameters
    ----------
    engines, converter, paths, masses, road : the parts
    """

    engines: EngineMap
    converter: Converter
    paths: Paths
    masses: Masses
    road: RoadOnShaft

    def some(self, rows: NDArray[np.intp]) -> Mechanics:
        """The mechanics of some of the cars; what they hold at a line pressure is left out."""
        return Mechanics(
            engines=some_engines(self.engines, rows),
            converter=self.converter.some(rows),
            paths=self.paths,
            masses=Masses(self.masses.engine[rows], self.masses.turbine[rows], self.masses.car[rows]),
            road=self.road,
        )

    def rates(
        self,
        speeds: tuple[FloatArray, FloatArray, FloatArray],
        push: Push,
        at: int,
        through: Through,
    ) -> Rates:
        """Accelerations at speeds [rad/s]; `through` is the path that sticks, anything where none does.

        Sticking: w_t = r w_o, (J + a r I_t) w_o' = a (T_t - taken) + given - load.
        """
        found = np.empty((3, len(through.ratio)))
        torques = self._rates(speeds, push, at, through, found)
        return Rates(found[0], found[1], found[2], *torques)

    def _rates(
        self,
        speeds: Sequence[FloatArray] | FloatArray,
        push: Push,
        at: int,
        through: Through,
        found: FloatArray,
    ) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Put the accelerations into `found`, (3, n); returns the torques of `Rates`."""
        engine, turbine, output = speeds
        torque = self.engines.torque(engine, self.engines.share(engine, push.area[at], push.least[at]))
        pump, driven = self.converter.torques(engine, turbine)
        load = self.road.load(output, push.constant, push.slope)
        np.subtract(torque, pump, out=found[0])
        found[0] *= self.light
        spin, out = found[1], found[2]
        if push.slips:
            left, on_road = driven - push.taken[at], push.given[at] - load
            np.multiply(through.acts, left, out=out)
            out += on_road
            out *= through.answer
            np.copyto(out, on_road / self.masses.car, where=through.loose)
        else:
            np.multiply(through.acts, driven, out=out)
            out -= load
            out *= through.answer
        if push.any_held:
            np.copyto(out, 0.0, where=push.held)
        np.multiply(through.ratio, out, out=spin)
        if push.slips:
            np.copyto(spin, left / self.masses.turbine, where=through.loose)
        return torque, pump, driven, load

    @cached_property
    def light(self) -> FloatArray:
        """1 / the engine's inertia, (n,) [1/(kg m²)]."""
        return 1.0 / self.masses.engine

    @cached_property
    def quickness(self) -> FloatArray:
        """How fast the engine answers its converter, 1 / (K² I_e), (n,) [s]."""
        return self.converter.capacity * self.light

    @cached_property
    def free_quickness(self) -> FloatArray:
        """How fast engine and free turbine answer their slip, (1 / I_e + 1 / I_t) / K², (n,) [s]."""
        return self.quickness + self.converter.capacity / self.masses.turbine

    @cached_property
    def _acts(self) -> FloatArray:
        """Output over input torque of every path, the engine driving, then the road, (2, 4) [-]."""
        ways = self.paths.passed(np.array([[False, True]]))
        return np.ascontiguousarray((self.paths.ratio * ways).T)

    def through(self, state: State) -> Through:
        """The path that sticks on every car."""
        stuck = state.stuck
        cars, count = np.arange(len(stuck)), len(stuck)
        ratio, acts = self.paths.ratio[stuck, 0], self._acts[state.back.astype(np.intp), stuck]
        answer = 1.0 / (self.masses.car + acts * ratio * self.masses.turbine)
        loose = stuck < 0
        places = np.empty((2, count), dtype=np.intp)
        # Without a path any place will do.
        np.multiply(np.maximum(stuck, 0), count, out=places[0])
        places[0] += cars
        np.add(places[0], 4 * count, out=places[1])
        return Through(ratio, acts, answer, ~loose, loose, bool(np.count_nonzero(loose)), places)

    def step(
        self, state: State, push: Push, first: Rates, through: Through, h: FloatArray | float
    ) -> FloatArray:
        """Move the speeds on by one step of `h` [s], of all cars or of each, the paths holding as they do.

        `first` = rates now. Returns the rates at the last stage, (3, n) [rad/s²].
        """
        start = np.array((state.engine, state.turbine, state.output))
        rates = np.empty((4, *start.shape))
        rates[0, 0], rates[0, 1], rates[0, 2] = first.engine, first.turbine, first.output
        moved = np.empty_like(start)
        for stage, (part, at) in enumerate(((0.5 * h, 1), (0.5 * h, 1), (h, 2))):
            np.multiply(rates[stage], part, out=moved)
            moved += start
            self._rates(moved, push, at, through, rates[stage + 1])
        whole = rates[1]
        whole += rates[2]
        whole *= 2.0
        whole += rates[0]
        whole += rates[3]
        whole *= h / 6.0
        start += whole
        state.engine, state.turbine, state.output = start
        np.copyto(state.turbine, through.ratio * state.output, where=through.sticks)
        return np.asarray(rates[3])
