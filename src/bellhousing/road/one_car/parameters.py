"""The lumped parameters of one car, and what a box's file says of them before anything is read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.road.cars import DRIVER, Cars, middle_car
from bellhousing.road.pressures import PSI

FloatArray = NDArray[np.float64]

WEAR = 0.12
"""How far age may have moved a parameter of a car that still drives, one standard deviation, relative;
common practice, no source."""


@dataclass(frozen=True)
class Parameter:
    """A lumped parameter: the number of a car that moves it, the numbers it is made of, and how it is shown.

    Parameters
    ----------
    key, power : number of a car it moves, and the power of that number in the parameter
    made_of : numbers of the box with their powers, whose scatter is that of a sound unit
    wears : whether age may move it; else only units differ
    """

    id: str
    name: str
    key: str
    made_of: Mapping[str, float]
    power: float = 1.0
    unit: str = ""
    scale: float = 1.0
    wears: bool = True


def _valve(short: str, name: str) -> tuple[Parameter, ...]:
    said = {"12": "1–2", "23": "2–3"}[short]
    made = [
        ("spring", f"{said} valve's spring", "offset", "psi", PSI),
        ("gain", f"{said} valve's throttle gain", "gain", "", 1.0),
        ("coast", f"{said} valve's coast-down spring", "downshift_offset", "psi", PSI),
        ("kick", f"{said} valve's downshift gain", "downshift_gain", "", 1.0),
        ("detent", f"{said} valve's full-throttle gain", "detent_gain", "", 1.0),
    ]
    return tuple(
        Parameter(
            f"{short}-{ending}",
            text,
            f"shift_valves.{name}.{part}",
            {f"shift_valves.{name}.{part}": 1.0},
            unit=unit,
            scale=scale,
        )
        for ending, text, part, unit, scale in made
    )


PARAMETERS: tuple[Parameter, ...] = (
    Parameter(
        "governor-level",
        "Governor's level, share of plan",
        "governor.scale",
        {"governor.primary_mass": 1.0, "governor.radius": 1.0, "governor.valve_area": -1.0},
    ),
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
    Parameter(
        "regulator-base",
        "Regulator's spring",
        "regulator.spring_pressure",
        {"regulator.spring_pressure": 1.0},
        unit="psi",
        scale=PSI,
    ),
    Parameter(
        "regulator-gain",
        "Regulator's gain on the throttle signal",
        "regulator.signal_gain",
        {"regulator.signal_gain": 1.0},
        wears=False,
    ),
    *_valve("12", "first_second"),
    *_valve("23", "second_third"),
)


@dataclass(frozen=True)
class Prior:
    """The middle car and how each parameter may lie about it; the last columns are what else moves rows."""

    base: Cars
    before: FloatArray
    sound: FloatArray

    def cars(self, z: FloatArray) -> Cars:
        """Cars with parameters moved by z (n, parameters and others), in standard deviations."""
        many = self.base.take(np.zeros(len(z), dtype=np.intp))
        changed = {
            one.key: many[one.key] * np.exp(self.before[i] * z[:, i] / one.power)
            for i, one in enumerate(PARAMETERS)
        }
        first = len(PARAMETERS)
        for i, key in enumerate(DRIVER):
            changed[key] = z[:, first + i]
        idle = many["engine.idle_vacuum"]
        changed["engine.idle_vacuum"] = idle * np.exp(IDLE_VACUUM * z[:, first + len(DRIVER)])
        return many.with_values(changed)


IDLE_VACUUM = 0.05
"""How an engine's vacuum at idle scatters, relative; common practice, no source."""


def prior_of(box: Box) -> Prior:
    """What a box's file says of the parameters of a car that has aged.

    Raises
    ------
    BoxFileError : a number that neither the box nor its family gives.
    """
    sound = []
    for one in PARAMETERS:
        total = 0.0
        for key, power in one.made_of.items():
            given = box.number(key)
            assert given.value is not None
            total += (power * given.scatter / given.value) ** 2
        sound.append(np.sqrt(total))
    wear = np.array([WEAR if one.wears else 0.0 for one in PARAMETERS])
    scatter = np.array(sound)
    return Prior(middle_car(box), np.hypot(scatter, wear), scatter)
