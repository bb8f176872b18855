"""What a lumped parameter of one car is, and what else moves its rows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from bellhousing.road.pressures import PSI

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
    wears : whether age moves it, so that it may drift; else only units differ
    age : how far age or hands may have moved it, one standard deviation, relative or in SI
    set_within : scatter of a sound car in SI where the parameter is added and not a factor, else nought
    """

    id: str
    name: str
    key: str
    made_of: Mapping[str, float] = field(default_factory=dict)
    power: float = 1.0
    unit: str = ""
    scale: float = 1.0
    wears: bool = True
    age: float = WEAR
    set_within: float = 0.0

    @property
    def added(self) -> bool:
        """Whether it may be negative, so that its scatter is not relative."""
        return self.set_within > 0.0

    @property
    def moved_by_age(self) -> float:
        """Standard deviation of what age or hands may have done to it."""
        return self.age if self.wears or self.added else 0.0


@dataclass(frozen=True)
class Other:
    """Something else that moves rows of one car: added by a standard deviation, or relative to its value.

    Parameters
    ----------
    scatter : relative scatter; None = as the box's file says
    added : whether it is added in its own standard deviations, as a driver's foot is
    """

    key: str
    scatter: float | None = None
    added: bool = False


VALVES = {"12": "first_second", "23": "second_third", "34": "third_fourth"}


def valve_parameters(short: str) -> tuple[Parameter, ...]:
    """The five parameters of one shift valve, "12", "23" or "34"."""
    said = f"{short[0]}–{short[1]}"
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
            f"shift_valves.{VALVES[short]}.{part}",
            {f"shift_valves.{VALVES[short]}.{part}": 1.0},
            unit=unit,
            scale=scale,
        )
        for ending, text, part, unit, scale in made
    )


GOVERNOR_LEVEL = Parameter(
    "governor-level",
    "Governor's level, share of plan",
    "governor.scale",
    {"governor.primary_mass": 1.0, "governor.radius": 1.0, "governor.valve_area": -1.0},
)


def regulator_parameters(signal: str) -> tuple[Parameter, ...]:
    """The two parameters of the pressure regulator; `signal` names what it multiplies."""
    return (
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
            f"Regulator's gain on {signal}",
            "regulator.signal_gain",
            {"regulator.signal_gain": 1.0},
            wears=False,
        ),
    )
