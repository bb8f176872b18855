"""From drops, a spot or pints to the loss in a month, and the day the level leaves the marks of the stick.

The spreads here are common practice and judgement, no source; each answer carries them as a range.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.leak_levels import Levels
from bellhousing.hydraulics.drip import drop_volume, spot_volume, time_to_lose, volume_lost

FloatArray = NDArray[np.float64]

MONTH = 365.25 / 12.0 * 86_400.0
MILE = 1609.344
SAMPLES = 4000
TENSION, TENSION_SPREAD = 0.030, 0.002
"""Surface tension of mineral transmission fluid at room temperature [N/m]; common practice, no source."""
DENSITY, DENSITY_SPREAD = 860.0, 10.0
TIP = (1.2e-3, 4.5e-3)
"""Least and greatest radius of the edge or boss from which a drop lets go [m]; common practice."""
CARD, CARD_FACTOR = 0.5e-3, 0.45
"""Thickness of card a spot soaks, and the standard deviation of its logarithm [m]; common practice."""
SOAKED = (0.35, 0.65)
"""Least and greatest share of the card's volume that is soaked; common practice."""
RATE_FACTOR = 0.25
"""Standard deviation of the logarithm of a rate from one day to the next; common practice."""
DRIVEN_FACTOR = (0.4, 0.4)
"""Logarithm by which a running leak grows from idling to driving, and its standard deviation; practice."""
SPEED = 13.4
"""Speed by which a distance becomes hours of running, about 30 mph [m/s]; common practice."""
USUAL_METRES = 150 * MILE
"""Driven in a month by a collector's car where nobody says, with a factor of two either way [m]."""
PART_READ = 0.06e-3
"""Standard uncertainty of a volume read off the stick, an eighth of a pint holding 95 of 100 [m³]."""


@dataclass(frozen=True)
class Loss:
    """One loss that was counted.

    Parameters
    ----------
    kind : drops counted, a spot on card, or fluid gone
    amount : drops per second; diameter [m]; volume [m³]
    seconds : over which a spot grew or a volume went [s]
    metres : over which a volume went [m]
    running : whether the drops fell with the engine running; a spot grows parked
    """

    kind: Literal["drops", "spot", "volume"]
    amount: float
    seconds: float = 0.0
    metres: float = 0.0
    running: bool = False


@dataclass(frozen=True)
class Use:
    """How the car is used in a month: driven [m] and with its engine running [s], None where nobody said."""

    metres: float | None = None
    running: float | None = None


@dataclass(frozen=True)
class Range:
    """The middle, and the two ends that hold ninety of a hundred."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class Outlook:
    """What a leak takes.

    Parameters
    ----------
    parked, running : what would go in a month parked and running at the rates counted [m³]
    month : lost in the next month if nothing is topped up [m³]
    days : until the level is at the lower mark of the stick, infinite where it never comes there [days]
    never : probability that the leak ends first, the level having fallen to the hole
    drop : volume of one drop [m³]
    """

    parked: Range
    running: Range
    month: Range
    days: Range
    never: float
    drop: Range


@dataclass(frozen=True)
class _Rates:
    """Volume per second parked and running, and per month whatever the state, for each sample."""

    parked: FloatArray
    running: FloatArray
    whole: FloatArray


def outlook(
    losses: Sequence[Loss],
    use: Use,
    levels: Levels,
    *,
    left: float = 1.0,
    site_height: float | None = None,
    seed: int = 1,
) -> Outlook:
    """Work out the loss in a month and the days until the level reaches the lower mark, with their ranges.

    Losses of one kind in one state are added: each counted place drips for itself. A volume read off the
    stick is the whole loss, and stands for the others when it is given.

    Parameters
    ----------
    losses : at least one
    use : of the car in a month
    levels : of the fluid, for the volume between the marks and the fluid that stands above a place
    left : share of the volume between the marks that is there, 1 at FULL, 0 at ADD
    site_height : height of the place that drips parked, None where parked loss does not slacken [m]
    seed : of the samples
    """
    chance = np.random.default_rng(seed)
    drop = _drops(chance)
    metres, seconds = _use(use, chance)
    rates = _rates(losses, drop, metres, seconds, chance)
    parked_month = rates.parked * (MONTH - seconds)
    running_month = rates.running * seconds
    stick = np.maximum(chance.normal(*levels.stick_volume, SAMPLES), 0.1 * levels.stick_volume[0]) * left
    if losses_are_whole(losses):
        steady, by_head = rates.whole / MONTH, np.zeros(SAMPLES)
    elif site_height is None:
        steady, by_head = (parked_month + running_month) / MONTH, np.zeros(SAMPLES)
    else:
        steady, by_head = running_month / MONTH, parked_month / MONTH
    above = _standing(levels, site_height, chance)
    seconds_left = time_to_lose(stick, steady, by_head, above)
    return Outlook(
        parked=_range(parked_month),
        running=_range(running_month),
        month=_range(volume_lost(MONTH, steady, by_head, above)),
        days=_range(np.asarray(seconds_left) / 86_400.0),
        never=float(np.isinf(seconds_left).mean()),
        drop=_range(drop),
    )


def losses_are_whole(losses: Sequence[Loss]) -> bool:
    """Whether a volume off the stick tells the whole loss."""
    return any(loss.kind == "volume" for loss in losses)


def _drops(chance: np.random.Generator) -> FloatArray:
    """Volumes of drops from edges of unknown size."""
    tip = chance.uniform(*TIP, SAMPLES)
    tension = chance.normal(TENSION, TENSION_SPREAD, SAMPLES)
    return drop_volume(tip, tension, chance.normal(DENSITY, DENSITY_SPREAD, SAMPLES))


def _use(use: Use, chance: np.random.Generator) -> tuple[FloatArray, FloatArray]:
    """Metres driven and seconds run in a month, for each sample."""
    if use.metres is None and use.running is not None:
        metres = use.running * SPEED * chance.lognormal(0.0, 0.25, SAMPLES)
    else:
        known = use.metres is not None
        spread = 0.15 if known else 0.35
        metres = (use.metres if use.metres is not None else USUAL_METRES) * chance.lognormal(
            0.0, spread, SAMPLES
        )
    if use.running is None:
        seconds = metres / SPEED * chance.lognormal(0.0, 0.2, SAMPLES)
    else:
        seconds = use.running * chance.lognormal(0.0, 0.15, SAMPLES)
    return metres, np.minimum(seconds, MONTH)


def _rates(
    losses: Sequence[Loss],
    drop: FloatArray,
    metres: FloatArray,
    seconds: FloatArray,
    chance: np.random.Generator,
) -> _Rates:
    parked, running, whole = np.zeros(SAMPLES), np.zeros(SAMPLES), np.zeros(SAMPLES)
    volumes = 0
    for loss in losses:
        day_to_day = chance.lognormal(0.0, RATE_FACTOR, SAMPLES)
        if loss.kind == "drops" and loss.running:
            running += loss.amount * drop * day_to_day * chance.lognormal(*DRIVEN_FACTOR, SAMPLES)
        elif loss.kind == "drops":
            parked += loss.amount * drop * day_to_day
        elif loss.kind == "spot":
            thick = CARD * chance.lognormal(0.0, CARD_FACTOR, SAMPLES)
            parked += (
                spot_volume(loss.amount, thick, chance.uniform(*SOAKED, SAMPLES)) / loss.seconds * day_to_day
            )
        else:
            gone = np.maximum(chance.normal(loss.amount, PART_READ, SAMPLES), 0.05 * loss.amount)
            whole += gone * (metres / loss.metres if loss.metres else MONTH / loss.seconds)
            volumes += 1
    return _Rates(parked, running, whole / max(volumes, 1))


def _standing(levels: Levels, site_height: float | None, chance: np.random.Generator) -> FloatArray:
    """Volume of fluid above a place that was seen to drip parked, so that some stands above it [m³]."""
    if site_height is None:
        return np.full(SAMPLES, -1.0)
    level = NormalDist(levels.overnight.height, max(levels.overnight.spread, 1e-4))
    below = min(level.cdf(site_height), 0.999)
    shares = below + (1.0 - below) * np.minimum(chance.uniform(1e-6, 1.0, SAMPLES), 1.0 - 1e-6)
    heights = np.array([level.inv_cdf(min(float(share), 1.0 - 1e-9)) for share in shares])
    return np.asarray(np.maximum(heights - site_height, 1e-4) * levels.surface, dtype=np.float64)


def _range(values: FloatArray) -> Range:
    low, middle, high = np.quantile(values, (0.05, 0.5, 0.95), method="inverted_cdf")
    return Range(float(low), float(middle), float(high))
