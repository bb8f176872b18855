"""Engine, converter, paths and car as one system, stepped by the classical Runge-Kutta method."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.drive.engine_map import EngineMap
from bellhousing.road.drive.paths import Paths
from bellhousing.road.drive.road_load import CRAWL, GRAVITY, Body, resistance

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
    """

    capacity: FloatArray
    stall_ratio: FloatArray
    coupling_point: FloatArray
    least: FloatArray

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
        pump = np.where(overrun, -OVERRUN_CAPACITY * size, size)
        return pump, np.where(overrun, pump, size * more)


@dataclass
class State:
    """What moves, (n,) each: engine, turbine and output speed [rad/s], and which path holds how.

    Parameters
    ----------
    stuck : the path that does not slip, -1 = none
    side : +1 where a path slips driving, -1 where it is overrun, 0 where it sticks, (4, n)
    """

    engine: FloatArray
    turbine: FloatArray
    output: FloatArray
    stuck: NDArray[np.intp]
    side: FloatArray


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
    turbine_torque: FloatArray
    load: FloatArray


@dataclass(frozen=True)
class Mechanics:
    """All that does not change during a drive.

    Parameters
    ----------
    engines, converter, paths, masses, body : the parts
    metres : road metres per radian of the output shaft [m]
    air : density of the air [kg/m³]
    """

    engines: EngineMap
    converter: Converter
    paths: Paths
    masses: Masses
    body: Body
    metres: float
    air: float

    def rates(
        self,
        speeds: tuple[FloatArray, FloatArray, FloatArray],
        push: Push,
        at: int,
        ratio: FloatArray,
        sticks: BoolArray,
    ) -> Rates:
        """Accelerations at speeds [rad/s]; `ratio` is that of the sticking path, anything where none does.

        Sticking: w_t = r w_o, (J + r² I_t) w_o' = r (T_t - taken) + given - load.
        """
        engine, turbine, output = speeds
        share = self.engines.share(engine, push.area[at], push.least[at])
        torque = self.engines.torque(engine, share)
        pump, driven = self.converter.torques(engine, turbine)
        load = self.load(output, push)
        inertia, car = self.masses.turbine, self.masses.car
        if push.slips:
            left, on_road = driven - push.taken[at], push.given[at] - load
            bound = (ratio * left + on_road) / (car + ratio * ratio * inertia)
            out = np.where(sticks, bound, on_road / car)
        else:
            left = driven
            out = (ratio * driven - load) / (car + ratio * ratio * inertia)
        if push.any_held:
            out = np.where(push.held, 0.0, out)
        spin = ratio * out
        if push.slips:
            spin = np.where(sticks, spin, left / inertia)
        return Rates((torque - pump) / self.masses.engine, spin, out, torque, driven, load)

    def against(self, brake: FloatArray, grade: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Torque at the output of rolling and brakes, and of a grade [N m]; `brake` [m/s²], `grade` [-]."""
        pull = self.body.mass * self.metres
        return pull * (brake + GRAVITY * self.body.rolling), pull * GRAVITY * grade

    def load(self, output: FloatArray, push: Push) -> FloatArray:
        """Torque of the road and the brakes against the output shaft [N m]."""
        square = 0.5 * self.air * self.body.drag_area * self.metres**3
        return resistance(output, push.constant, push.slope, square, CRAWL / self.metres)

    def step(self, state: State, push: Push, first: Rates, h: float) -> None:
        """Move the speeds on by one step of `h` [s], the paths holding as they do; `first` = rates now."""
        ratio = self.paths.ratio[state.stuck, 0]
        sticks = state.stuck >= 0
        start = (state.engine, state.turbine, state.output)
        k1 = (first.engine, first.turbine, first.output)
        k2 = self._at(self._moved(start, k1, 0.5 * h), push, 1, ratio, sticks)
        k3 = self._at(self._moved(start, k2, 0.5 * h), push, 1, ratio, sticks)
        k4 = self._at(self._moved(start, k3, h), push, 2, ratio, sticks)
        ends = [
            x + (h / 6.0) * (a + 2.0 * (b + c) + d)
            for x, a, b, c, d in zip(start, k1, k2, k3, k4, strict=True)
        ]
        state.engine, state.turbine, state.output = ends
        state.turbine = np.where(sticks, ratio * state.output, state.turbine)

    def _at(
        self,
        speeds: tuple[FloatArray, FloatArray, FloatArray],
        push: Push,
        at: int,
        ratio: FloatArray,
        sticks: BoolArray,
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        found = self.rates(speeds, push, at, ratio, sticks)
        return found.engine, found.turbine, found.output

    @staticmethod
    def _moved(
        start: tuple[FloatArray, FloatArray, FloatArray],
        rate: tuple[FloatArray, FloatArray, FloatArray],
        h: float,
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        return (start[0] + h * rate[0], start[1] + h * rate[1], start[2] + h * rate[2])
