"""What the road asks of a car: rolling, air and slope, and the closed form of a coast-down."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

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


def road_force(body: Body, speed: FloatArray, grade: ArrayLike, air: float = AIR_15) -> FloatArray:
    """Force against a car, F = m g (c_r · v/√(v² + v₀²) + grade) + ½ ρ C_d A v |v| [N].

    Parameters
    ----------
    body : the car
    speed : road speed [m/s]
    grade : rise over run [-]
    air : density of the air [kg/m³]

    Source: A + B V + C V², US EPA, G. Thompson, The Vehicle Road Load Problem.
    """
    size = np.abs(speed)
    rolling = body.rolling * speed / np.sqrt(speed * speed + CRAWL * CRAWL)
    return np.asarray(
        body.mass * GRAVITY * (rolling + np.asarray(grade)) + 0.5 * air * body.drag_area * speed * size
    )


def coast_speed(start: ArrayLike, time: ArrayLike, constant: float, square: float, mass: float) -> FloatArray:
    """Speed of a car that coasts against F = A + C v², v = b tan(atan(v₀/b) - √(A C) t/m), b = √(A/C) [m/s].

    Parameters
    ----------
    start : speed at the start [m/s]
    time : since then [s]
    constant : A [N]
    square : C [N s²/m²]
    mass : equivalent mass, turning parts counted [kg]

    Source: method of US EPA, G. Thompson, The Vehicle Road Load Problem; own integration.
    """
    b = np.sqrt(constant / square)
    angle = np.arctan(np.asarray(start) / b) - np.sqrt(constant * square) * np.asarray(time) / mass
    return np.asarray(b * np.tan(np.maximum(angle, 0.0)))
