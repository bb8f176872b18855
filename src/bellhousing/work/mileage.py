"""How far a car goes: its odometer history, and a forecast with its honest spread.

The way driven is taken as a gamma process: what is driven in a time t is gamma distributed with shape α t,
its rate the car's own. With a gamma prior on the rate, what lies ahead follows a compound gamma
distribution: the way D in t has D / (D + b) beta distributed with parameters α t and a, where a and b hold
prior and history.

Sources: S. D. Dubey, "Compound gamma, beta and F distributions", Metrika 16 (1970) 27; N. L. Johnson,
S. Kotz, N. Balakrishnan, Continuous Univariate Distributions, volume 2, chapter 25 (both from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from bellhousing.fits.student import incomplete_beta

YEAR = 365.25
MILE = 1609.344

STEADINESS = 3.0
"""Shape of the way driven in one year [1]: years differ by some 58 % of their mean; judgement, no source."""

PRIOR_SHAPE = 3.0
"""What is known before any reading counts as much as this shape [1]; judgement, no source."""

PRIOR_YEAR = 1500.0 * MILE
"""Way a collector's car goes in a year before any reading of it [m]; common practice, no source."""

COUNTED = 8.0
"""Readings older than this before the last one do not count [years]; habits change; judgement."""

MOST_YEARS = 60.0
STEPS = 80


@dataclass(frozen=True)
class Reading:
    """What an odometer showed [m] at a moment."""

    at: datetime
    distance: float


@dataclass(frozen=True)
class Habit:
    """How a car is driven, as far as its readings tell.

    Parameters
    ----------
    shape : a of the compound gamma distribution [1]
    scale : b of it [m]
    years : time the readings span [years]
    driven : way driven in it [m]
    last : the last reading, None where there is none
    fell : whether the odometer once showed less than before, so that what came before does not count
    """

    shape: float
    scale: float
    years: float = 0.0
    driven: float = 0.0
    last: Reading | None = None
    fell: bool = False

    @property
    def known(self) -> bool:
        """Whether there is any history at all: two readings at different times."""
        return self.years > 0.0

    def chance(self, distance: float, years: float) -> float:
        """Probability that at least a distance [m] is driven in some years [1]."""
        if distance <= 0.0:
            return 1.0
        if years <= 0.0:
            return 0.0
        below = incomplete_beta(distance / (distance + self.scale), STEADINESS * years, self.shape)
        return min(1.0, max(0.0, 1.0 - below))

    def distance(self, years: float, probability: float) -> float:
        """Distance [m] that is not exceeded in some years with a probability."""
        if years <= 0.0:
            return 0.0
        low, high = 0.0, 1.0
        for _ in range(STEPS):
            middle = 0.5 * (low + high)
            if incomplete_beta(middle, STEADINESS * years, self.shape) < probability:
                low = middle
            else:
                high = middle
        return self.scale * low / (1.0 - low) if low < 1.0 else float("inf")

    def years_until(self, distance: float, probability: float) -> float:
        """Years after which a distance [m] is driven with a probability; infinite beyond 60 years."""
        if self.chance(distance, MOST_YEARS) < probability:
            return float("inf")
        low, high = 0.0, MOST_YEARS
        for _ in range(STEPS):
            middle = 0.5 * (low + high)
            if self.chance(distance, middle) < probability:
                low = middle
            else:
                high = middle
        return high


def habit_of(readings: Sequence[Reading]) -> Habit:
    """How a car is driven, of its readings in any order; what lies before a fall does not count."""
    ordered = sorted(readings, key=lambda reading: (reading.at, reading.distance))
    fell = False
    counted: list[Reading] = []
    for reading in ordered:
        if counted and reading.distance < counted[-1].distance:
            fell, counted = True, []
        counted.append(reading)
    last = counted[-1] if counted else None
    recent = [one for one in counted if last is not None and years_between(one.at, last.at) <= COUNTED]
    years = years_between(recent[0].at, recent[-1].at) if recent else 0.0
    driven = recent[-1].distance - recent[0].distance if recent else 0.0
    if years <= 0.0:
        driven = 0.0
    prior = PRIOR_YEAR * (PRIOR_SHAPE - 1.0) / STEADINESS
    return Habit(PRIOR_SHAPE + STEADINESS * years, prior + driven, years, driven, last, fell)


def years_between(first: datetime, second: datetime) -> float:
    """Time from one moment to another [years]."""
    return (second - first).total_seconds() / (86400.0 * YEAR)
