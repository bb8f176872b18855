"""What the clutches, bands and one-way clutches hold, gear by gear: whether the box drives, slips, brakes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.boxes.gears import applied_elements, gear_train_of
from bellhousing.errors import BoxFileError, GearTrainError
from bellhousing.friction.band import band_torque, servo_force
from bellhousing.friction.plate_clutch import mean_radius_uniform_wear, plate_clutch_torque
from bellhousing.geartrain.essential import ElementGroup, essential_elements
from bellhousing.geartrain.layout import GearTrain
from bellhousing.geartrain.solve import solve
from bellhousing.hydraulics.fluid import density
from bellhousing.hydraulics.leakage import clutch_pressure
from bellhousing.road.cars import Cars
from bellhousing.road.pressures import HOT

FloatArray = NDArray[np.float64]

FEED_COEFFICIENT = 0.62
"""Discharge coefficient of a clutch's feed hole [-]; from memory, 0.60-0.65."""

FLUTTER = 0.6
"""Share of the line that drops out for moments when only air is drawn in; common practice, no source."""

PLATE_CLUTCHES = ("forward_clutch", "direct_clutch", "intermediate_clutch")
BANDS = ("low_reverse_band", "overrun_band")
ONE_WAY_CLUTCHES = ("low_one_way_clutch", "intermediate_one_way_clutch")

GEARS = {
    "first": ("D", "1"),
    "second": ("D", "2"),
    "third": ("D", "3"),
    "reverse": ("R", "R"),
    "low": ("low", "1"),
    "second-range": ("second", "2"),
}
"""Gears by the lever range and gear of the box file's chart of applied elements."""


@dataclass(frozen=True)
class GearHolds:
    """What a gear needs held, driving and on the overrun, and its ratio."""

    ratio: float
    drive: tuple[ElementGroup, ...]
    overrun: tuple[ElementGroup, ...] | None  # None: nothing holds on the overrun


def gears_of(box: Box) -> dict[str, GearHolds]:
    """Solve the box's gear train in every gear.

    Raises
    ------
    BoxFileError : no gear train is known, or one of its gears does not drive.
    """
    train = gear_train_of(box)
    gears = {}
    for name, (lever, gear) in GEARS.items():
        applied = applied_elements(box, lever, gear)
        try:
            gears[name] = GearHolds(
                solve(train, applied).ratio,
                essential_elements(train, applied),
                _overrun(train, applied),
            )
        except GearTrainError as error:
            raise BoxFileError(f"{name} does not drive: {error}", where=box.name) from error
    return gears


def _overrun(train: GearTrain, applied: tuple[str, ...]) -> tuple[ElementGroup, ...] | None:
    try:
        return essential_elements(train, applied, drive=-1)
    except GearTrainError:
        return None


def capacities(cars: Cars, line: FloatArray) -> dict[str, FloatArray]:
    """Torque each element can hold [N m] at a line pressure [Pa].

    Plates by uniform wear, bands by the capstan equation, one-way clutches by their limit.
    """
    rho = density(cars["fluid.density_15"], HOT)
    line = line * (1.0 - FLUTTER * cars["pump.air"])
    held = {}
    for name in PLATE_CLUTCHES:
        feed = FEED_COEFFICIENT * 0.25 * np.pi * cars[f"{name}.feed_diameter"] ** 2 * np.sqrt(2.0 / rho)
        pressure = clutch_pressure(line, feed, cars[f"{name}.leakage"])
        force = servo_force(pressure, cars[f"{name}.piston_area"], cars[f"{name}.return_force"])
        radius = mean_radius_uniform_wear(cars[f"{name}.inner_radius"], cars[f"{name}.outer_radius"])
        friction = cars[f"{name}.friction_coefficient"] * cars[f"{name}.grip"]
        held[name] = plate_clutch_torque(cars[f"{name}.plates"], friction, force, radius)
    for name in BANDS:
        force = servo_force(
            line, cars[f"{name}.piston_area"], cars[f"{name}.return_force"], cars[f"{name}.leverage"]
        )
        grip = cars[f"{name}.grip"]
        held[name] = grip * band_torque(
            force,
            cars[f"{name}.friction_coefficient"],
            cars[f"{name}.wrap"],
            cars[f"{name}.drum_radius"],
            energising=True,
        )
    for name in ONE_WAY_CLUTCHES:
        held[name] = cars[f"{name}.capacity"] * cars[f"{name}.grip"]
    return held


def input_torque_held(
    groups: tuple[ElementGroup, ...], held: Mapping[str, FloatArray], *, only: str | None = None
) -> FloatArray:
    """Largest input torque the groups hold [N m]: the weakest group, each the sum of its parallel paths.

    `only` counts nothing but the groups that contain this element.
    """
    limits = []
    for group in groups:
        if only is not None and only not in group.elements:
            continue
        paths = [np.min([held[name.replace("-", "_")] for name in path], axis=0) for path in group.paths]
        limits.append(np.sum(paths, axis=0) / max(abs(group.torque), 1e-9))
    return np.asarray(np.min(limits, axis=0))


def soft(z: FloatArray) -> FloatArray:
    """Logistic step: how surely something is noticed as it passes its threshold."""
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(z, -60.0, 60.0))))
