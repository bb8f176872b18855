"""Findings of the gauges: vacuum, line pressure, governor pressure, cut-back and the needle."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bellhousing.hydraulics.modulator import throttle_signal
from bellhousing.road.cars import Cars
from bellhousing.road.engine import idle_vacuum
from bellhousing.road.holding import soft
from bellhousing.road.pressures import (
    COLD,
    HOT,
    PSI,
    RPM,
    VERY_HOT,
    felt_vacuum,
    governor_at,
    line,
    signal_of,
    standing_signal,
    vacuum_at_modulator,
)
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]

IN_GEAR_LOSS = 1.0 * 3386.389
"""Vacuum an idling engine loses when drive is engaged [Pa]; common practice, no source."""


def idle_signal(cars: Cars, car: Vehicle, *, in_gear: bool = True) -> FloatArray:
    """Throttle signal at idle with the hose on [Pa]."""
    vacuum = idle_vacuum(cars, car.altitude) - (IN_GEAR_LOSS if in_gear else 0.0)
    return standing_signal(cars, felt_vacuum(cars, np.maximum(vacuum, 0.0), idle=True))


def line_at_idle(cars: Cars, car: Vehicle, gear: str, celsius: float = HOT) -> FloatArray:
    """Line pressure at a hot idle, hose on [Pa]."""
    return line(cars, gear, idle_signal(cars, car, in_gear=gear != "N"), cars["engine.idle_speed"], celsius)


def line_at(cars: Cars, car: Vehicle, gear: str, rpm: float, *, hose: bool) -> FloatArray:
    """Line pressure of a standing car at an engine speed [rpm], hose on or off [Pa]."""
    if hose:
        signal = standing_signal(cars, felt_vacuum(cars, idle_vacuum(cars, car.altitude)))
    else:
        signal = standing_signal(cars, 0.0)
    return line(cars, gear, signal, rpm * RPM)


def line_under_way(
    cars: Cars, car: Vehicle, gear: str, mph: float, rpm: float, vacuum: FloatArray
) -> FloatArray:
    """Line pressure at a road speed, engine speed and felt vacuum, cut back by the governor [Pa]."""
    governor = governor_at(cars, car.output_speed(mph), np.inf)
    return line(cars, gear, throttle_signal(signal_of(cars), vacuum, governor), rpm * RPM)


def reverse_share(cars: Cars, car: Vehicle) -> FloatArray:
    """Line in reverse over line in drive, both with revs enough for the pump to hold them [-]."""
    drive = line_at(cars, car, "D1", 1500.0, hose=True)
    return np.asarray(line_at(cars, car, "R", 1500.0, hose=True) / np.maximum(drive, 0.1 * PSI))


def readings(cars: Cars, car: Vehicle) -> dict[str, FloatArray]:
    """Vacuum, line and governor readings by finding [Pa]; the hot share of cold pressure [-]."""
    nothing = np.zeros(len(cars))
    idle = idle_vacuum(cars, car.altitude)
    drive_idle = line_at_idle(cars, car, "D1")
    off_slow = line_under_way(cars, car, "D1", 10.0, 1000.0, nothing)
    off_fast = line_under_way(cars, car, "D1", 21.0, 2000.0, nothing)
    shown = {
        "manifold-vacuum-idle": idle,
        "modulator-vacuum-idle": vacuum_at_modulator(cars, idle, idle=True),
        "line-neutral-idle": line_at_idle(cars, car, "N"),
        "line-drive-idle": drive_idle,
        "line-drive-1000": line_at(cars, car, "D1", 1000.0, hose=True),
        "line-drive-hose-off": line_at(cars, car, "D1", 1100.0, hose=False),
        "line-reverse-idle": line_at_idle(cars, car, "R"),
        "line-reverse-hose-off": line_at(cars, car, "R", 1100.0, hose=False),
        "line-second-range": line_at(cars, car, "second", 1000.0, hose=True),
        "line-stall": line(
            cars, "D1", standing_signal(cars, cars["throttle.short"] * cars["hose.share"]), 2000.0 * RPM
        ),
        "line-drive-below-neutral": line_at_idle(cars, car, "N", VERY_HOT)
        - line_at_idle(cars, car, "D1", VERY_HOT),
        "line-hot-against-cold": line_at_idle(cars, car, "D1", VERY_HOT)
        / np.maximum(line_at_idle(cars, car, "D1", COLD), 0.1 * PSI),
        "cut-back": off_slow - off_fast,
        "governor-at-rest": governor_at(cars, 0.0, drive_idle),
        "idle-speed": cars["engine.idle_speed"],
    }
    for mph in (10, 20, 30, 50):
        there = line_under_way(cars, car, "D1" if mph < 25 else "D3", float(mph), 1500.0, nothing)
        shown[f"governor-{mph}"] = governor_at(cars, car.output_speed(float(mph)), there)
    return shown


def chances(cars: Cars, car: Vehicle) -> dict[str, FloatArray]:
    """Needle, and one range lower than another, as chances of states."""
    slow, fast = (line_at(cars, car, "N", rpm, hose=True) for rpm in (1000.0, 2500.0))
    falls = soft((0.9 - fast / np.maximum(slow, 0.1 * PSI)) / 0.025)
    shivers = 0.95 * soft((cars["pump.air"] - 0.18) / 0.04)
    second = line_at(cars, car, "D2", 1000.0, hose=True)
    third = line_at(cars, car, "D3", 1000.0, hose=True)
    lower_third = soft((second - third - 6.0 * PSI) / (1.5 * PSI))
    share = reverse_share(cars, car)
    lower_reverse = soft((0.85 - share / car.reference.reverse_share) / 0.02)
    return {
        "needle-as-revs-rise": np.stack([(1 - falls) * (1 - shivers), (1 - falls) * shivers, falls], axis=1),
        "line-third-below-second": np.stack([1 - lower_third, lower_third], axis=1),
        "line-reverse-below-plan": np.stack([1 - lower_reverse, lower_reverse], axis=1),
    }
