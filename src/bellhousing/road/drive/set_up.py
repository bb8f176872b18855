"""A box's cars made ready to drive: inertias, converter, paths, hydraulics, and how they stand at first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.road.cars import Cars
from bellhousing.road.converter import FREE_STATOR_CAPACITY
from bellhousing.road.drive.engine_map import engine_map
from bellhousing.road.drive.manoeuvres import Manoeuvre
from bellhousing.road.drive.mechanics import Converter, Masses, Mechanics, State
from bellhousing.road.drive.paths import paths_of
from bellhousing.road.drive.road_load import Body, inertia_on_shaft, road_on_shaft
from bellhousing.road.drive.valves import ValveBody, valve_body
from bellhousing.road.vehicle import MPH, Vehicle

FloatArray = NDArray[np.float64]

LOCKED_STATOR = 0.87
"""Torque ratio past the coupling point with a stator that cannot turn [-]; common practice, no source."""

REDLINE, HALFWAY = 5000.0 * np.pi / 30.0, 3000.0 * np.pi / 30.0
"""Highest engine speed in a shift with the pedal down, and with less than half of it [rad/s]; common
practice, no source."""

STABLE = 2.75
"""Steps times the fastest rate that the method bears, less than its limit of 2.785 [-].

Source: E. Hairer and G. Wanner, Solving Ordinary Differential Equations II, section IV.2 (from memory).
"""


@dataclass(frozen=True)
class Machine:
    """Mechanics and hydraulics of n cars; `plateau` is the accumulators', (3, n) [-]."""

    mechanics: Mechanics
    body: ValveBody
    plateau: FloatArray


class TooStiff(Exception):
    """A car ran up to a speed at which the method would not bear its step any more."""


def watch(speed: FloatArray, answer: FloatArray, h: float) -> None:
    """See that a step [s] still suits the fastest of these speeds, (n,) [rad/s]; `answer` as in `halvings`.

    Raises
    ------
    TooStiff : it does not; the drive wants half the step
    """
    if 4.0 * h * float((speed * answer).max()) > STABLE:
        raise TooStiff


def halvings(step: float, manoeuvre: Manoeuvre, answer: FloatArray) -> int:
    """How often a step [s] must be halved for the stiffest car: a free turbine on its converter or coupling.

    The rate is 4 w times the `answer` of their slip, capacity over inertia, (n,) [s]: the slope of the
    turbine's torque near a speed ratio of one.
    """
    rate = 4.0 * (REDLINE if manoeuvre.brisk else HALFWAY) * answer
    return int(max(0.0, np.ceil(np.log2(step * float(rate.max()) / STABLE))))


def machine_of(box: Box, cars: Cars, car: Vehicle, road: Body) -> Machine:
    """Everything a drive needs of these cars.

    Raises
    ------
    BoxFileError : a number that neither the box nor its family gives.
    """
    count = len(cars)
    free = cars["stator.holds"] < 0.5
    factor = cars["converter.capacity_factor"] * np.where(free, FREE_STATOR_CAPACITY, 1.0)
    locked = cars["stator.locked"] > 0.5
    mechanics = Mechanics(
        engines=engine_map(cars, car.altitude),
        converter=Converter(
            capacity=1.0 / factor**2,
            stall_ratio=np.where(free, 1.0, cars["converter.stall_torque_ratio"]),
            coupling_point=cars["converter.coupling_point"],
            least=np.where(locked, LOCKED_STATOR, 1.0),
        ),
        paths=paths_of(cars, car),
        masses=Masses(
            cars["engine.inertia"],
            np.full(count, figure(box, "converter.turbine_inertia")),
            np.full(count, inertia_on_shaft(road, car)),
        ),
        road=road_on_shaft(road, car),
    )
    volumes = (
        figure(box, "accumulator_first_second.volume"),
        figure(box, "accumulator_second_third.volume"),
    )
    plateau = np.stack(
        [
            np.ones(count),
            np.minimum(cars["accumulator_first_second.plateau"], 1.0),
            np.minimum(cars["accumulator_second_third.plateau"], 1.0),
        ]
    )
    return Machine(mechanics, valve_body(cars, volumes), plateau)


def start_state(machine: Machine, manoeuvre: Manoeuvre) -> State:
    """Standing at idle in neutral, or rolling in a gear that sticks."""
    mechanics = machine.mechanics
    count = len(mechanics.masses.engine)
    side = -np.ones((4, count))
    idle = machine.body.cars["engine.idle_speed"]
    gear = manoeuvre.first_gear(3)
    back = np.zeros(count, dtype=bool)
    if gear == 0:
        side[0] = side[1] = side[2] = side[3] = 1.0
        # The turbine idles along with the engine.
        return State(idle.copy(), 0.97 * idle, np.zeros(count), np.full(count, -1, dtype=np.intp), side, back)
    output = np.full(count, manoeuvre.start_mph * MPH / mechanics.road.metres)
    path = gear - 1
    turbine = float(mechanics.paths.ratio[path, 0]) * output
    slip = turbine - mechanics.paths.ratio * output
    side = np.where(slip > 0.0, 1.0, -1.0)
    side[path] = 0.0
    return State(1.03 * turbine, turbine, output, np.full(count, path, dtype=np.intp), side, back)


def figure(box: Box, key: str) -> float:
    """A number of the box that no car draws, in SI.

    Raises
    ------
    BoxFileError : neither the box nor its family gives it.
    """
    value = box.number(key).value
    assert value is not None
    return value
