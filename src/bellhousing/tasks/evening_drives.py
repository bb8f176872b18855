"""Drives to play over the evening view, simulated with the same car and the same things broken."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.errors import QuantityError
from bellhousing.quantities.units import from_si
from bellhousing.road.drive.manoeuvres import manoeuvre
from bellhousing.road.drive.simulate import simulate
from bellhousing.road.engine import SHUT_VACUUM
from bellhousing.tasks.evening import one_car
from bellhousing.tasks.evening_shapes import EveningDrive, EveningDriveName

FloatArray = NDArray[np.float64]

EVERY = 0.2
"""Time between the points of a drive [s]."""

OPEN = 0.9
"""Travel beyond which a pedal that is asked to its stop is taken to be there [-]."""

DRIVES: Mapping[str, tuple[str, str]] = {
    "medium": ("half throttle", "medium-pull"),
    "light": ("gently", "light-pull"),
    "full": ("pedal to the floor", "full-pull"),
    "coast": ("coasting down", "coast-down"),
}
"""Drives by name: how each is spoken of, and the manoeuvre it is."""


def drives() -> tuple[EveningDriveName, ...]:
    """Drives that can be played."""
    return tuple(EveningDriveName(id=name, says=says) for name, (says, _) in DRIVES.items())


def evening_drive(
    box: Box, name: str, broken: Sequence[str] = (), *, severity: float = 0.5, unit: str = "mph"
) -> EveningDrive:
    """A drive of one car, sound or with things broken.

    Raises
    ------
    QuantityError : no such drive, or a severity that is not from 0 to 1.
    FindingError : something that cannot be broken.
    BoxFileError : a number that neither the box nor its family gives.
    """
    if name not in DRIVES:
        raise QuantityError(f"there is no drive '{name}'", remedy=f"one of {', '.join(DRIVES)}")
    says, plan = DRIVES[name]
    time, travel, speed = _simulated(box, plan, tuple(broken), severity)
    return EveningDrive(
        says=says,
        unit=unit,
        time=tuple(round(float(t), 2) for t in time),
        travel=tuple(round(float(x), 3) for x in travel),
        speed=tuple(round(float(v), 2) for v in np.atleast_1d(from_si(speed, unit))),
    )


@lru_cache(maxsize=32)
def _simulated(
    box: Box, name: str, broken: tuple[str, ...], severity: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Seconds, pedal travel and road speed [m/s] of a manoeuvre; by vacuum where there is no linkage."""
    ready, cars, car = one_car(box, broken, severity)
    plan = manoeuvre(name)
    made = simulate(ready, cars, car, plan, record=EVERY)
    phase = made.phase[:, 0].astype(np.intp)
    shut, floor = (
        np.array([one.throttle == foot for one in plan.phases])[phase] for foot in ("shut", "full")
    )
    by_vacuum = 1.0 - made.vacuum[:, 0] / SHUT_VACUUM
    travel = np.clip(made.travel[:, 0] if box.kind == FOUR_SPEED else by_vacuum, 0.0, 1.0)
    travel = np.where(shut, 0.0, np.where(floor & (travel > OPEN), 1.0, travel))
    return made.time, travel, made.speed[:, 0]
