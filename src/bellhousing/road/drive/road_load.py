"""What the road asks of a car: rolling, air and slope."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bellhousing.hydraulics.atmosphere import standard_pressure
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]

GRAVITY = 9.80665
AIR_15 = 1.225
"""Density of air at sea level and 15 degC [kg/m³]; US Standard Atmosphere 1976."""

CRAWL = 0.05
"""Road speed at which rolling resistance has grown to seven tenths, so that it dies out at rest [m/s]."""


@dataclass(frozen=True)
class Body:
    """What of the car meets the road, alike for all cars of a drive.

    Parameters
    ----------
    mass : with driver and fluids [kg]
    drag_area : drag coefficient times frontal area [m²]
    rolling : rolling resistance over weight [-]
    wheel_inertia : four wheels, brakes and axle shafts [kg m²]

    The defaults are a large car of the sixties on concrete; common practice, no source, but the rolling
    coefficient lies in the usual 0.012 to 0.015.
    """

    mass: float = 1950.0
    drag_area: float = 0.98
    rolling: float = 0.014
    wheel_inertia: float = 5.0


def resistance(
    motion: FloatArray, constant: FloatArray | float, slope: FloatArray | float, square: float, crawl: float
) -> FloatArray:
    """What works against motion, A x/√(x² + x₀²) + slope + C x |x|, at the road or at a shaft.

    Parameters
    ----------
    motion : road speed [m/s] or speed of a shaft [rad/s], x
    constant : A, of rolling and brakes [N or N m]
    slope : of the grade [N or N m]
    square : C, of the air [N s²/m² or N m s²]
    crawl : x₀, at which rolling has grown to seven tenths, as `motion`

    Source: A + B V + C V², US EPA, G. Thompson, The Vehicle Road Load Problem.
    """
    # In place: a drive asks this of every car four times a step.
    against = motion * motion
    against += crawl**2
    np.sqrt(against, out=against)
    np.divide(motion, against, out=against)
    against *= constant
    against += slope
    air = np.abs(motion)
    air *= square
    air *= motion
    against += air
    return against


@dataclass(frozen=True)
class RoadOnShaft:
    """What the road asks, as torque on the output shaft.

    Parameters
    ----------
    body : what of the car meets the road
    metres : road metres per radian of the output shaft [m]
    air : density of the air [kg/m³]
    """

    body: Body
    metres: float
    air: float

    def against(self, brake: FloatArray, grade: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Torque at the output of rolling and brakes, and of a grade [N m]; `brake` [m/s²], `grade` [-]."""
        pull = self.body.mass * self.metres
        return pull * (brake + GRAVITY * self.body.rolling), pull * GRAVITY * grade

    def load(self, output: FloatArray, constant: FloatArray, slope: FloatArray) -> FloatArray:
        """Torque against an output shaft [rad/s] of both, and of the air [N m]."""
        return resistance(output, constant, slope, self._square, CRAWL / self.metres)

    @cached_property
    def _square(self) -> float:
        """Torque of the air per squared speed of the shaft [N m s²]."""
        return 0.5 * self.air * self.body.drag_area * self.metres**3


def road_on_shaft(body: Body, car: Vehicle) -> RoadOnShaft:
    """The road against the output shaft of a car, in the air of its altitude."""
    air = AIR_15 * float(standard_pressure(car.altitude)) / 101325.0
    return RoadOnShaft(body, car.tyre_radius / car.axle_ratio, air)


def inertia_on_shaft(body: Body, car: Vehicle) -> float:
    """Inertia of car and wheels at the output shaft [kg m²]."""
    return (body.mass * car.tyre_radius**2 + body.wheel_inertia) / car.axle_ratio**2
