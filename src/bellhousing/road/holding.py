"""What the clutches, bands and one-way clutches hold, gear by gear: whether the box drives, slips, brakes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.boxes.gears import applied_elements, gear_train_of
from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.errors import BoxFileError, GearTrainError
from bellhousing.friction.band import band_torque, servo_force
from bellhousing.friction.plate_clutch import apply_force, mean_radius_uniform_wear, plate_clutch_torque
from bellhousing.geartrain.essential import ElementGroup, essential_elements
from bellhousing.geartrain.layout import GearTrain
from bellhousing.geartrain.losses import solve_with_losses
from bellhousing.geartrain.solve import GearState, solve
from bellhousing.hydraulics.fluid import density
from bellhousing.hydraulics.leakage import clutch_pressure
from bellhousing.road.cars import Cars
from bellhousing.road.pressures import HOT

FloatArray = NDArray[np.float64]

FEED_COEFFICIENT = 0.62
"""Discharge coefficient of a clutch's feed hole [-]; from memory, 0.60-0.65."""

SERVO_FEED = 3.4e-3
"""Diameter of the feed of a band's servo [m]; common practice, no source."""

FLUTTER = 0.6
"""Share of the line that drops out for moments when only air is drawn in; common practice, no source."""

PLATE_CLUTCHES = ("forward_clutch", "direct_clutch", "intermediate_clutch")
BANDS = ("low_reverse_band", "overrun_band", "second_band")
ONE_WAY_CLUTCHES = ("low_one_way_clutch", "intermediate_one_way_clutch")

GEARS = {
    "first": ("D", "1"),
    "second": ("D", "2"),
    "third": ("D", "3"),
    "reverse": ("R", "R"),
    "low": ("low", "1"),
    "second-range": ("second", "2"),
}
"""Gears of a three-speed by the lever range and gear of the box file's chart of applied elements."""

FOUR_SPEED_GEARS = {
    "first": ("D", "1"),
    "second": ("D", "2"),
    "third": ("D", "3"),
    "fourth": ("D", "4"),
    "reverse": ("R", "R"),
}
"""Gears of a four-speed, in the same way."""


@dataclass(frozen=True)
class GearHolds:
    """What a gear needs held, driving and on the overrun, its ratio, and what its chart applies.

    coupling_speed : speed of a fluid coupling's input per unit speed of the gear train's [-]
    efficiency, overrun_efficiency : share of its power the meshes pass on, driving and on the overrun [-]
    """

    ratio: float
    drive: tuple[ElementGroup, ...]
    overrun: tuple[ElementGroup, ...] | None  # None: nothing holds on the overrun
    applied: tuple[str, ...] = ()
    coupling_speed: float = 1.0
    efficiency: float = 1.0
    overrun_efficiency: float = 1.0


def gears_of(box: Box) -> dict[str, GearHolds]:
    """Solve the box's gear train in every gear.

    Raises
    ------
    BoxFileError : no gear train is known, or one of its gears does not drive.
    """
    train = gear_train_of(box)
    mesh = box.number("meshes.efficiency").value
    assert mesh is not None
    gears = {}
    for name, (lever, gear) in (FOUR_SPEED_GEARS if box.kind == FOUR_SPEED else GEARS).items():
        applied = applied_elements(box, lever, gear)
        try:
            state = solve(train, applied)
            gears[name] = GearHolds(
                state.ratio,
                essential_elements(train, applied),
                _overrun(train, applied),
                tuple(element.replace("-", "_") for element in applied),
                _coupling_speed(box, state),
                solve_with_losses(train, applied, mesh).efficiency,
                _overrun_efficiency(train, applied, mesh),
            )
        except GearTrainError as error:
            raise BoxFileError(f"{name} does not drive: {error}", where=box.name) from error
    return gears


def _coupling_speed(box: Box, state: GearState) -> float:
    """Speed at which a fluid coupling is driven, per unit input speed; 1 where there is none."""
    assert box.gear_train is not None
    driven = [one["joins"][0] for one in box.gear_train["elements"] if one["kind"] == "coupling"]
    return abs(state.speeds.get(driven[0], 1.0)) if driven else 1.0


def _overrun(train: GearTrain, applied: tuple[str, ...]) -> tuple[ElementGroup, ...] | None:
    try:
        return essential_elements(train, applied, drive=-1)
    except GearTrainError:
        return None


def _overrun_efficiency(train: GearTrain, applied: tuple[str, ...], mesh: float) -> float:
    """Efficiency with the road driving; where nothing holds then, that of the engine driving."""
    try:
        return solve_with_losses(train, applied, mesh, drive=-1).efficiency
    except GearTrainError:
        return solve_with_losses(train, applied, mesh).efficiency


def capacities(cars: Cars, line: FloatArray) -> dict[str, FloatArray]:
    """Torque each element can hold [N m] at a line pressure [Pa].

    Plates by uniform wear, bands by the capstan equation, one-way clutches by their limit.
    """
    rho = density(cars["fluid.density_15"], HOT)
    line = line * (1.0 - FLUTTER * cars["pump.air"])
    held = {}
    for name in PLATE_CLUTCHES:
        held[name] = plate_capacity(cars, name, line, rho)
    for name in (name for name in BANDS if f"{name}.wrap" in cars.values):
        held[name] = band_capacity(cars, name, line)
    for name in ONE_WAY_CLUTCHES:
        held[name] = cars[f"{name}.capacity"] * cars[f"{name}.grip"]
    return held


def plate_capacity(cars: Cars, name: str, line: FloatArray, rho: FloatArray) -> FloatArray:
    """Torque a plate clutch holds [N m] at a line pressure [Pa], its feed and leakage counted."""
    feed = feed_conductance(cars[f"{name}.feed_diameter"], rho)
    pressure = clutch_pressure(line, feed, cars[f"{name}.leakage"])
    force = apply_force(pressure, cars[f"{name}.piston_area"], cars[f"{name}.return_force"])
    radius = mean_radius_uniform_wear(cars[f"{name}.inner_radius"], cars[f"{name}.outer_radius"])
    friction = cars[f"{name}.friction_coefficient"] * cars[f"{name}.grip"]
    return plate_clutch_torque(cars[f"{name}.plates"], friction, force, radius)


def feed_conductance(diameter: FloatArray | float, rho: FloatArray) -> FloatArray:
    """Conductance of a feed hole, C_d A √(2 / ρ) [m³/s/√Pa]."""
    return np.asarray(FEED_COEFFICIENT * 0.25 * np.pi * diameter**2 * np.sqrt(2.0 / rho))


def band_capacity(cars: Cars, name: str, pressure: FloatArray) -> FloatArray:
    """Torque a band holds [N m] at its servo's pressure [Pa]."""
    force = servo_force(
        pressure, cars[f"{name}.piston_area"], cars[f"{name}.return_force"], cars[f"{name}.leverage"]
    )
    grip = cars[f"{name}.grip"]
    return grip * band_torque(
        force,
        cars[f"{name}.friction_coefficient"],
        cars[f"{name}.wrap"],
        cars[f"{name}.drum_radius"],
        energising=True,
    )


def input_torque_held(
    groups: tuple[ElementGroup, ...], held: Mapping[str, FloatArray], *, only: Sequence[str] = ()
) -> FloatArray:
    """Largest input torque the groups hold [N m]: the weakest group, each the sum of its parallel paths.

    `only` counts nothing but the groups that contain one of these sections of the box file; all of them where
    none does, as with an element that bears nothing in this gear.
    """
    limits = []
    wanted = {name.replace("_", "-") for name in only}
    for group in [group for group in groups if wanted & set(group.elements)] or groups:
        paths = [np.min([held[name.replace("-", "_")] for name in path], axis=0) for path in group.paths]
        limits.append(np.sum(paths, axis=0) / max(abs(group.torque), 1e-9))
    return np.asarray(np.min(limits, axis=0))


def soft(z: FloatArray) -> FloatArray:
    """Logistic step: how surely something is noticed as it passes its threshold."""
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(z, -60.0, 60.0))))
