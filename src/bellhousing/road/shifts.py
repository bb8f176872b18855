"""The shift map of any kind of box: road speed of every shift at a throttle, by the vacuum it leaves."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.road import driving
from bellhousing.road.cars import Cars
from bellhousing.road.four_speed import driving as four_speed
from bellhousing.road.four_speed.pressures import travel_at
from bellhousing.road.pressures import felt_vacuum
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]

THREE = {"1-2": "first_second", "2-3": "second_third"}
FOUR = {**THREE, "3-4": "third_fourth"}


def shift_speeds(
    cars: Cars, car: Vehicle, vacuum: float, travel: float | None = None
) -> dict[str, FloatArray]:
    """Road speed of every up- and downshift [m/s] at a manifold vacuum [Pa], by shift; inf = never.

    A box with a throttle linkage goes by its `travel` [-], else by the one at which engines have this vacuum.
    """
    if car.kind == FOUR_SPEED:
        travel = travel_at(vacuum) if travel is None else travel
        up = {shift: four_speed.up_speed(cars, car, valve, travel) for shift, valve in FOUR.items()}
        down = {shift[::-1]: four_speed.down_speed(cars, car, valve, travel) for shift, valve in FOUR.items()}
        return up | down
    return {shift: speeds[0] for shift, speeds in shift_speeds_over(cars, car, np.array([vacuum])).items()}


def shift_speeds_over(cars: Cars, car: Vehicle, vacuum: FloatArray) -> dict[str, FloatArray]:
    """The same at every manifold vacuum [Pa] of a grid (k,): speeds [m/s] of every shift, (k, cars)."""
    if car.kind == FOUR_SPEED:
        each = [shift_speeds(cars, car, float(one)) for one in vacuum]
        return {shift: np.stack([speeds[shift] for speeds in each]) for shift in each[0]}
    felt = felt_vacuum(cars, np.broadcast_to(vacuum[:, None], (len(vacuum), len(cars))))
    parts = driving.Shifting.of(cars)
    up = {shift: driving.up_speed(cars, car, valve, felt, parts=parts) for shift, valve in THREE.items()}
    return up | {
        shift[::-1]: driving.down_speed(cars, car, valve, felt, parts=parts) for shift, valve in THREE.items()
    }


def forced_downshifts(cars: Cars, car: Vehicle) -> dict[str, FloatArray]:
    """Road speed below which the pedal on its stop brings the lower gear [m/s], by shift."""
    if car.kind == FOUR_SPEED:
        return {
            shift[::-1]: four_speed.down_speed(cars, car, valve, 1.0, floor=True)
            for shift, valve in FOUR.items()
        }
    floor = felt_vacuum(cars, np.zeros(len(cars)))
    return {
        shift[::-1]: driving.down_speed(cars, car, valve, floor, floor=True) for shift, valve in THREE.items()
    }
