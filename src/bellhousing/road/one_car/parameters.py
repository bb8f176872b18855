"""The lumped parameters of one car, and what a box's file says of them before anything is read."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.road.cars import DRIVER, Cars, middle_car
from bellhousing.road.one_car.four_speed_parameters import FOUR_SPEED_OTHERS, FOUR_SPEED_PARAMETERS
from bellhousing.road.one_car.parameter import (
    GOVERNOR_LEVEL,
    Other,
    Parameter,
    regulator_parameters,
    valve_parameters,
)

FloatArray = NDArray[np.float64]

IDLE_VACUUM = 0.05
"""How an engine's vacuum at idle scatters, relative; common practice, no source."""

PARAMETERS: tuple[Parameter, ...] = (
    GOVERNOR_LEVEL,
    Parameter(
        "governor-knee",
        "Governor's primary stop",
        "governor.primary_stop",
        {"governor.primary_stop": 1.0},
        unit="N",
        wears=False,
    ),
    Parameter(
        "modulator-full",
        "Modulator's spring",
        "modulator.spring_force",
        {"modulator.spring_force": 1.0, "modulator.valve_area": -1.0},
        unit="N",
    ),
    Parameter(
        "modulator-slope",
        "Modulator's diaphragm",
        "modulator.diaphragm_diameter",
        {"modulator.diaphragm_diameter": 1.0, "modulator.valve_area": -0.5},
        unit="mm",
        scale=1e-3,
        wears=False,
    ),
    Parameter(
        "modulator-cutback",
        "Modulator's cut-back by the governor",
        "modulator.governor_cutback",
        {"modulator.governor_cutback": 1.0},
        wears=False,
    ),
    *regulator_parameters("the throttle signal"),
    *valve_parameters("12"),
    *valve_parameters("23"),
)


OTHERS: tuple[Other, ...] = (
    *(Other(key, added=True) for key in DRIVER),
    Other("engine.idle_vacuum", IDLE_VACUUM),
)


@dataclass(frozen=True)
class Prior:
    """The middle car and how each parameter may lie about it; the last columns are what else moves rows.

    Parameters
    ----------
    base : the middle car, (1,)
    before, sound : standard deviations of an aged and of a sound car, relative or as added, (parameters,)
    scatter : standard deviations of what else moves the rows, (others,)
    """

    base: Cars
    parameters: tuple[Parameter, ...]
    others: tuple[Other, ...]
    before: FloatArray
    sound: FloatArray
    scatter: FloatArray

    @property
    def count(self) -> int:
        """Parameters and what else moves the rows."""
        return len(self.parameters) + len(self.others)

    def cars(self, z: FloatArray) -> Cars:
        """Cars with parameters moved by z (n, parameters and others), in standard deviations."""
        many = self.base.take(np.zeros(len(z), dtype=np.intp))
        changed: dict[str, FloatArray] = {}
        for i, one in enumerate(self.parameters):
            moved = self.before[i] * z[:, i] / one.power
            changed[one.key] = many[one.key] + moved if one.added else many[one.key] * np.exp(moved)
        for i, other in enumerate(self.others):
            moved = self.scatter[i] * z[:, len(self.parameters) + i]
            changed[other.key] = many[other.key] + moved if other.added else many[other.key] * np.exp(moved)
        return many.with_values(changed)


def prior_of(box: Box) -> Prior:
    """What a box's file says of the parameters of a car that has aged.

    Raises
    ------
    BoxFileError : a number that neither the box nor its family gives.
    """
    four = box.kind == FOUR_SPEED
    parameters = FOUR_SPEED_PARAMETERS if four else PARAMETERS
    others = FOUR_SPEED_OTHERS if four else OTHERS
    sound = np.array([one.set_within or _scatter(box, one) for one in parameters])
    aged = np.array([one.moved_by_age for one in parameters])
    scatter = np.array([1.0 if one.added else one.scatter or _relative(box, one.key) for one in others])
    return Prior(middle_car(box), parameters, others, np.hypot(sound, aged), sound, scatter)


def _scatter(box: Box, one: Parameter) -> float:
    """Relative scatter between sound units of what a parameter is made of."""
    return float(np.sqrt(sum((power * _relative(box, key)) ** 2 for key, power in one.made_of.items())))


def _relative(box: Box, key: str) -> float:
    given = box.number(key)
    assert given.value is not None
    return given.scatter / given.value if given.value else 0.0
