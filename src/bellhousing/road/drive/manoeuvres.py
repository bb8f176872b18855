"""Manoeuvres of a road test as data: what lever, foot and brake do, phase by phase."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bellhousing.errors import QuantityError
from bellhousing.road.engine import INHG
from bellhousing.road.vehicle import MPH

RANGES = ("P", "N", "D", "second", "low", "R")


@dataclass(frozen=True)
class Phase:
    """One phase of a manoeuvre; it ends at a road speed, or when its time is over.

    Parameters
    ----------
    range : where the lever stands
    throttle : "shut"; "light", "medium" or "full" by the vacuum gauge; or a pedal's travel "pedal 0.35"
    seconds : longest time [s]
    above, below : road speed that ends it when passed upwards, downwards [mph]; None = only the time does
    brake : deceleration by the brakes [m/s²]
    grade : rise over run [-]
    foot : time in which the foot and the brake come to their new place [s]
    held : whether the car cannot move, on its brakes against chocks
    """

    range: str
    throttle: str
    seconds: float
    above: float | None = None
    below: float | None = None
    brake: float = 0.0
    grade: float = 0.0
    foot: float = 0.4
    held: bool = False


@dataclass(frozen=True)
class Manoeuvre:
    """A manoeuvre: its phases, the road speed it begins at [mph], and the gear in then, None = top."""

    name: str
    says: str
    phases: tuple[Phase, ...]
    start_mph: float = 0.0
    start_gear: int | None = None

    @property
    def longest(self) -> float:
        """Longest time it can take [s]."""
        return sum(phase.seconds for phase in self.phases)

    def first_gear(self, top: int) -> int:
        """Gear in at the start of a box with `top` gears, 0 standing; no higher one than it has."""
        if self.start_mph <= 0.0:
            return 0
        return top if self.start_gear is None else min(self.start_gear, top)

    @property
    def brisk(self) -> bool:
        """Whether the engine may rev high: the pedal goes beyond half its way."""
        return any(
            phase.throttle in ("full", "deep")
            or (phase.throttle.startswith("pedal") and float(phase.throttle.split()[-1]) > 0.5)
            for phase in self.phases
            if not phase.held
        )


REST = Phase("N", "shut", 2.0, held=True)
INTO_DRIVE = Phase("D", "shut", 3.0, held=True)
STOP = Phase("D", "shut", 40.0, below=0.5, brake=2.5)


def _pull(throttle: str, to: float, seconds: float, foot: float = 0.4) -> tuple[Phase, ...]:
    return (REST, INTO_DRIVE, Phase("D", throttle, seconds, above=to, foot=foot))


MANOEUVRES: Mapping[str, Manoeuvre] = {
    one.name: one
    for one in (
        Manoeuvre(
            "stall",
            "Stall test: on the brakes and chocks, throttle to the floor for four seconds at most.",
            (
                REST,
                INTO_DRIVE,
                Phase("D", "full", 4.0, held=True, foot=0.6),
                Phase("N", "shut", 4.0, held=True),
            ),
        ),
        Manoeuvre(
            "stall-reverse",
            "Stall test in reverse.",
            (
                REST,
                Phase("R", "shut", 4.0, held=True),
                Phase("R", "full", 4.0, held=True, foot=0.6),
                Phase("N", "shut", 4.0, held=True),
            ),
        ),
        Manoeuvre(
            "engagement",
            "Standing at idle: neutral to drive, back, and to reverse.",
            (
                Phase("N", "shut", 3.0, held=True),
                Phase("D", "shut", 6.0, held=True),
                Phase("N", "shut", 5.0, held=True),
                Phase("R", "shut", 6.0, held=True),
            ),
        ),
        Manoeuvre("light-pull", "From rest at light throttle through all gears.", _pull("light", 32.0, 75.0)),
        Manoeuvre(
            "medium-pull", "From rest at medium throttle through all gears.", _pull("medium", 62.0, 60.0)
        ),
        Manoeuvre(
            "full-pull",
            "From rest with the pedal on the floor; for a closed road only.",
            _pull("full", 90.0, 45.0, 0.3),
        ),
        Manoeuvre(
            "coast-down",
            "From 45 mph in top, throttle shut, to walking pace.",
            (Phase("D", "light", 4.0), Phase("D", "shut", 150.0, below=3.0, brake=0.45)),
            45.0,
        ),
        Manoeuvre(
            "deep-throttle-45",
            "At 45 mph in top, the pedal deep but not on its stop.",
            (Phase("D", "light", 3.0), Phase("D", "deep", 5.0, foot=0.3)),
            45.0,
        ),
        Manoeuvre(
            "forced-downshift",
            "At 52 mph in top, the pedal onto its stop.",
            (Phase("D", "light", 3.0), Phase("D", "full", 4.0, foot=0.25), Phase("D", "light", 8.0)),
            52.0,
        ),
        Manoeuvre(
            "road-loop",
            "The standard loop: light, medium and part-throttle pulls, coast-downs, a hill, a kickdown.",
            (
                REST,
                INTO_DRIVE,
                Phase("D", "light", 60.0, above=32.0),
                Phase("D", "shut", 90.0, below=3.0, brake=0.6),
                Phase("D", "medium", 40.0, above=55.0),
                Phase("D", "light", 15.0),
                Phase("D", "full", 3.5, foot=0.25),
                Phase("D", "shut", 90.0, below=3.0, brake=0.8),
                Phase("D", "pedal 0.30", 40.0, above=45.0, grade=0.03),
                Phase("D", "deep", 3.0, foot=0.3, grade=0.03),
                Phase("D", "light", 10.0),
                STOP,
                Phase("D", "shut", 3.0, held=True, brake=2.5),
            ),
        ),
    )
}

VACUUM: Mapping[str, float] = {"deep": 2.0 * INHG}
"""Vacuum of throttles that are held by the gauge and named nowhere else [Pa]; common practice, no source."""


def manoeuvre(name: str) -> Manoeuvre:
    """A manoeuvre by name.

    Raises
    ------
    QuantityError : no such manoeuvre.
    """
    if name not in MANOEUVRES:
        raise QuantityError(
            f"there is no manoeuvre '{name}'", remedy="one of " + ", ".join(sorted(MANOEUVRES))
        )
    return MANOEUVRES[name]


def metres_per_second(mph: float | None, otherwise: float) -> float:
    """A road speed in SI, or what stands for none."""
    return otherwise if mph is None else mph * MPH
