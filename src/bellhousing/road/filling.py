"""What comes on with a change, filled through one feed: a clutch, a servo, or a clutch and servos with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.errors import BoxFileError
from bellhousing.road.cars import Cars
from bellhousing.road.holding import PLATE_CLUTCHES, SERVO_FEED

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Filling:
    """Figures of what is filled, each (n,).

    Parameters
    ----------
    lead : section of the clutch, or of the band where no clutch comes on
    diameter : of its feed [m]
    volume : of all that comes on with it [m³]
    back : pressure of its return springs [Pa]
    leakage : laminar leakage of its circuit, hot [m³/s/Pa]
    """

    lead: str
    diameter: FloatArray
    volume: FloatArray
    back: FloatArray
    leakage: FloatArray


def filling_of(cars: Cars, coming: Sequence[str]) -> Filling:
    """What is filled when these sections of the box file come on together.

    Raises
    ------
    BoxFileError : nothing comes on, so the chart has a change that no element makes
    """
    if not coming:
        raise BoxFileError(
            "a change into a gear brings no clutch and no band on",
            where="gear_train.ranges",
            remedy="put what makes the gear into the chart",
        )
    lead = next((name for name in coming if name in PLATE_CLUTCHES), coming[0])
    plates = lead in PLATE_CLUTCHES
    others = [cars[f"{name}.apply_volume"] for name in coming if name != lead]
    volume = sum(others, cars[f"{lead}.apply_volume"])
    return Filling(
        lead=lead,
        diameter=cars[f"{lead}.feed_diameter"] if plates else np.full(len(cars), SERVO_FEED),
        volume=np.asarray(volume),
        back=cars[f"{lead}.return_force"] / cars[f"{lead}.piston_area"],
        leakage=cars[f"{lead}.leakage"] if plates else np.zeros(len(cars)),
    )
