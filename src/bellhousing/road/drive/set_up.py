"""A box's cars made ready to drive: inertias, converter, paths, hydraulics, and how they stand at first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.hydraulics.atmosphere import standard_pressure
from bellhousing.road.cars import Cars
from bellhousing.road.converter import FREE_STATOR_CAPACITY
from bellhousing.road.drive.engine_map import engine_map
from bellhousing.road.drive.manoeuvres import Manoeuvre
from bellhousing.road.drive.mechanics import Converter, Masses, Mechanics, State
from bellhousing.road.drive.paths import paths_of
from bellhousing.road.drive.road_load import AIR_15, Body
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

    def halvings(self, step: float, manoeuvre: Manoeuvre) -> int:
        """How often a step [s] must be halved for the stiffest car: a free turbine on its converter.

        The rate is 4 w / (K² I_t), the slope of the turbine's torque near a speed ratio of one.
        """
        mechanics = self.mechanics
        highest = REDLINE if manoeuvre.brisk else HALFWAY
        rate = 4.0 * highest * mechanics.converter.capacity / mechanics.masses.turbine
        return int(max(0.0, np.ceil(np.log2(step * float(rate.max()) / STABLE))))


def machine_of(box: Box, cars: Cars, car: Vehicle, road: Body) -> Machine:
    """Everything a drive needs of these cars.

    Raises
    ------
    BoxFileError : a number that neither the box nor its family gives.
    """
    metres = car.tyre_radius / car.axle_ratio
    count = len(cars)
    on_shaft = (road.mass * car.tyre_radius**2 + road.wheel_inertia) / car.axle_ratio**2
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
            np.full(count, _figure(box, "converter.turbine_inertia")),
            np.full(count, on_shaft),
        ),
        body=road,
        metres=metres,
        air=AIR_15 * float(standard_pressure(car.altitude)) / 101325.0,
    )
    volumes = (
        _figure(box, "accumulator_first_second.volume"),
        _figure(box, "accumulator_second_third.volume"),
    )
    plateau = np.stack(
        [
            np.ones(count),
            np.minimum(cars["accumulator_first_second.plateau"], 1.0),
            np.minimum(cars["accumulator_second_third.plateau"], 1.0),
        ]
    )
    return Machine(mechanics, valve_body(cars, volumes), plateau)


def start_state(machine: Machine, manoeuvre: Manoeuvre, car: Vehicle) -> State:
    """Standing at idle in neutral, or rolling in a gear that sticks."""
    mechanics = machine.mechanics
    count = len(mechanics.masses.engine)
    side = -np.ones((4, count))
    idle = machine.body.cars["engine.idle_speed"]
    if manoeuvre.start_mph <= 0.0:
        side[0] = side[1] = side[2] = side[3] = 1.0
        # The turbine idles along with the engine.
        return State(idle.copy(), 0.97 * idle, np.zeros(count), np.full(count, -1, dtype=np.intp), side)
    output = np.full(count, manoeuvre.start_mph * MPH / mechanics.metres)
    path = manoeuvre.start_gear - 1
    turbine = float(mechanics.paths.ratio[path, 0]) * output
    slip = turbine - mechanics.paths.ratio * output
    side = np.where(slip > 0.0, 1.0, -1.0)
    side[path] = 0.0
    return State(1.03 * turbine, turbine, output, np.full(count, path, dtype=np.intp), side)


def _figure(box: Box, key: str) -> float:
    value = box.number(key).value
    assert value is not None
    return value
