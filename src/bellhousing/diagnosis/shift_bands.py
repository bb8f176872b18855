"""The shift map as bands: what sound cars of this box would show over throttle, or cars with a fault."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.prepare import Prepared
from bellhousing.errors import FindingError
from bellhousing.road.cars import Cars
from bellhousing.road.engine import INHG
from bellhousing.road.shifts import forced_downshifts, shift_speeds_over

FloatArray = NDArray[np.float64]
Band = tuple[FloatArray, FloatArray, FloatArray]

LIGHTEST, STEPS = 16.0, 17
"""Vacuum at the lightest throttle drawn [inHg], and points from there to full throttle."""


@dataclass(frozen=True)
class ShiftBands:
    """Road speeds [m/s] of every shift over engine vacuum [Pa]: low, middle and high holding 95 of 100 cars.

    inf = never. `forced` are the downshifts with the pedal on its stop.
    """

    vacuum: FloatArray
    curves: Mapping[str, Band]
    forced: Mapping[str, tuple[float, float, float]]


def shift_bands(prepared: Prepared, fault: str | None = None) -> ShiftBands:
    """Bands of the sound box, or of the box with one fault of the catalogue.

    Raises
    ------
    FindingError : a fault this catalogue does not have.
    """
    cars = _cars(prepared, fault)
    car = prepared.model.vehicle
    grid = INHG * np.linspace(LIGHTEST, 0.0, STEPS)
    curves = {shift: _band(speeds.T) for shift, speeds in shift_speeds_over(cars, car, grid).items()}
    forced = {shift: _point(speeds) for shift, speeds in forced_downshifts(cars, car).items()}
    return ShiftBands(grid, curves, forced)


def _cars(prepared: Prepared, fault: str | None) -> Cars:
    if fault is None:
        return prepared.model.cars
    if fault not in prepared.faults:
        raise FindingError(f"there is no fault '{fault}' in this box", remedy="see the list of causes")
    return prepared.model.afflicted([(prepared.faults.index(fault),)])


def _band(speeds: FloatArray) -> Band:
    low, middle, high = np.quantile(speeds, [0.025, 0.5, 0.975], axis=0, method="inverted_cdf")
    return low, middle, high


def _point(speeds: FloatArray) -> tuple[float, float, float]:
    low, middle, high = _band(speeds[:, None])
    return float(low[0]), float(middle[0]), float(high[0])
