"""Engine, converter, paths and car as one system, stepped by the classical Runge-Kutta method."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.drive.engine_map import EngineMap
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
        high, low = np.maximum(engine, back), np.minimum(engine, back)
        ratio = low / np.maximum(high, 1e-6)
        fourth = ratio * ratio
        fourth *= fourth
        size = high * high
        size *= self.capacity
        size -= size * fourth
        ratio *= self._fall
        more = np.maximum(self.stall_ratio - ratio, self.least)
        overrun = back > engine
        if not overrun.any():
            return size, size * more
        pump = np.where(overrun, -self.overrun * size, size)
        return pump, np.where(overrun, pump, size * more)


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
    sticks : whether there is one
    """

    ratio: FloatArray
    acts: FloatArray
    answer: FloatArray
    sticks: BoolArray


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
        engine, turbine, output = speeds
        share = self.engines.share(engine, push.area[at], push.least[at])
        torque = self.engines.torque(engine, share)
        pump, driven = self.converter.torques(engine, turbine)
        load = self.road.load(output, push.constant, push.slope)
        if push.slips:
            left, on_road = driven - push.taken[at], push.given[at] - load
            bound = (through.acts * left + on_road) * through.answer
            out = np.where(through.sticks, bound, on_road / self.masses.car)
        else:
            left = driven
            out = (through.acts * driven - load) * through.answer
        if push.any_held:
            out = np.where(push.held, 0.0, out)
        spin = through.ratio * out
        if push.slips:
            spin = np.where(through.sticks, spin, left / self.masses.turbine)
        return Rates((torque - pump) / self.masses.engine, spin, out, torque, pump, driven, load)

    def through(self, state: State) -> Through:
        """The path that sticks on every car."""
        ratio = self.paths.ratio[state.stuck, 0]
        acts = ratio * self.paths.passed(state.back)[state.stuck, np.arange(len(ratio))]
        answer = 1.0 / (self.masses.car + acts * ratio * self.masses.turbine)
        return Through(ratio, acts, answer, state.stuck >= 0)

    def step(self, state: State, push: Push, first: Rates, through: Through, h: float) -> None:
        """Move the speeds on by one step of `h` [s], the paths holding as they do; `first` = rates now."""
        start = (state.engine, state.turbine, state.output)
        k1 = (first.engine, first.turbine, first.output)
        k2 = self._at(self._moved(start, k1, 0.5 * h), push, 1, through)
        k3 = self._at(self._moved(start, k2, 0.5 * h), push, 1, through)
        k4 = self._at(self._moved(start, k3, h), push, 2, through)
        ends = [
            x + (h / 6.0) * (a + 2.0 * (b + c) + d)
            for x, a, b, c, d in zip(start, k1, k2, k3, k4, strict=True)
        ]
        state.engine, state.turbine, state.output = ends
        state.turbine = np.where(through.sticks, through.ratio * state.output, state.turbine)

    def _at(
        self, speeds: tuple[FloatArray, FloatArray, FloatArray], push: Push, at: int, through: Through
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        found = self.rates(speeds, push, at, through)
        return found.engine, found.turbine, found.output

    @staticmethod
    def _moved(
        start: tuple[FloatArray, FloatArray, FloatArray],
        rate: tuple[FloatArray, FloatArray, FloatArray],
        h: float,
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        return (start[0] + h * rate[0], start[1] + h * rate[1], start[2] + h * rate[2])
