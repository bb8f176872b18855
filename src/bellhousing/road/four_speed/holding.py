"""What the bands, clutches, reverse anchor and coupling of a four-speed hold."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bellhousing.hydraulics.fluid import density
from bellhousing.hydraulics.leakage import clutch_pressure
from bellhousing.road.cars import Cars
from bellhousing.road.converter import capacity_factor
from bellhousing.road.holding import FLUTTER, SERVO_FEED, band_capacity, feed_conductance, plate_capacity
from bellhousing.road.pressures import HOT

FloatArray = NDArray[np.float64]

CLUTCHES = ("front_clutch", "rear_clutch")
BANDS = ("front_band", "rear_band")

SLIP_NOTICED = 0.4
"""Slip of the coupling beyond which it is felt as slipping [-]; common practice, no source."""


LEAST_LINE = 100e3
"""Line pressure that puts the reverse anchor fully on [Pa]; common practice, no source."""


def capacities(
    cars: Cars, line: FloatArray, coupling_input: FloatArray | float | None = None
) -> dict[str, FloatArray]:
    """Torque each element can hold [N m] at a line pressure [Pa].

    The coupling carries what it can at the speed of its input [rad/s] before its slip is noticed; without
    that speed it is taken to carry anything.
    """
    rho = density(cars["fluid.density_15"], HOT)
    line = line * (1.0 - FLUTTER * cars["pump.air"])
    held = {name: plate_capacity(cars, name, line, rho) for name in CLUTCHES}
    for name in BANDS:
        servo = clutch_pressure(line, feed_conductance(SERVO_FEED, rho), cars[f"{name}.leakage"])
        held[name] = band_capacity(cars, name, servo)
    # The anchor is put on by pressure but held by its shape, so it needs no more than some line.
    held["reverse_anchor"] = (
        cars["reverse_anchor.capacity"] * cars["reverse_anchor.grip"] * np.minimum(line / LEAST_LINE, 1.0)
    )
    if coupling_input is None:
        held["coupling"] = np.full(len(cars), np.inf)
    else:
        held["coupling"] = coupling_torque(cars, coupling_input, 1.0 - SLIP_NOTICED)
    return held


def coupling_torque(cars: Cars, speed: FloatArray | float, speed_ratio: float) -> FloatArray:
    """Torque of the fluid coupling [N m] at the speed of its input [rad/s]: T = fill · (w / K)².

    K grows with the speed ratio as that of a converter does; the torque ratio is one throughout.
    """
    size = capacity_factor(cars["coupling.capacity_factor"], np.asarray(speed_ratio))
    return np.asarray(cars["coupling.fill"] * (speed / size) ** 2)
