"""A measured quantity: repeats, instrument and temperature to a value with its uncertainty budget."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from bellhousing.errors import QuantityError
from bellhousing.fits.instruments import Instrument
from bellhousing.fits.uncertainty import (
    Array,
    Budget,
    Input,
    bounded,
    curved_trapezoid,
    known,
    propagate,
    repeated,
)
from bellhousing.fits.verdict import CANNOT_TELL, Judgement, Rule, judge, uncertainty_needed
from bellhousing.quantities import units
from bellhousing.quantities.show import show, show_interval

REFERENCE = 293.15  # temperature at which sizes are meant, 20 °C (ISO 1) [K]
MOST_REPEATS = 30


@dataclass(frozen=True)
class Heat:
    """What temperature does to a size.

    Parameters
    ----------
    temperature : of part and instrument [K]
    half_width : how far it may be off, either way [K]
    expansion : how much more the part grows than the instrument [1/K]
    swings : whether it swings between the ends, as in a heated room, and does not lie just anywhere between
    """

    temperature: float = REFERENCE
    half_width: float = 5.0
    expansion: float = 0.0
    swings: bool = False


@dataclass(frozen=True)
class Measurement:
    """One measured quantity.

    Parameters
    ----------
    readings : as read, in the order taken [SI]
    budget : the value at 20 °C and everything its uncertainty is made of
    instrument : what it was read with
    repeat_spread : standard deviation of a single reading, from the repeats or from the instrument [SI]
    unit : unit to show it in
    """

    readings: tuple[float, ...]
    budget: Budget
    instrument: Instrument
    repeat_spread: float
    unit: str

    @property
    def value(self) -> float:
        """The value [SI]."""
        return self.budget.value

    @property
    def standard_uncertainty(self) -> float:
        """One standard deviation of what is not known about it [SI]."""
        return self.budget.standard_uncertainty


def check_possible(value: float, possible: tuple[float, float], unit: str, what: str) -> None:
    """Refuse a figure that cannot be.

    Raises
    ------
    QuantityError : not a number, or outside what is possible [SI]
    """
    if not (math.isfinite(value) and possible[0] <= value <= possible[1]):
        shown = show(value, unit) if math.isfinite(value) else str(value)
        raise QuantityError(
            f"{what} of {shown} is impossible", remedy=f"possible is {show_interval(*possible, unit)}"
        )


def measure(
    readings: Sequence[float],
    instrument: Instrument,
    *,
    unit: str,
    heat: Heat | None = None,
) -> Measurement:
    """A value with its budget: y = mean + resolution + error of the instrument - mean Δα (t - 20 °C).

    Repeats are type A with n - 1 degrees of freedom once they differ at all; a single reading takes the
    spread usual for the instrument. Resolution and permissible error are rectangular.

    Parameters
    ----------
    readings : as read [SI]
    instrument : what they were read with
    unit : unit to show them in
    heat : temperature, None where it does not matter

    Raises
    ------
    QuantityError : no readings, or one that is no number

    Source: JCGM 100:2008, 4.2, 4.3.7, F.2.2.1 (resolution) and H.1.3.4 (temperature).
    """
    if not readings:
        raise QuantityError("nothing was read", remedy="give at least one reading")
    if not all(math.isfinite(reading) for reading in readings):
        raise QuantityError("a reading is not a number")
    mean = math.fsum(readings) / len(readings)
    usual = instrument.figure("repeatability", mean)
    parts = [_repeats(readings, mean, usual)]
    parts.append(bounded("resolution", 0.0, instrument.figure("resolution", mean) / 2.0))
    parts.append(bounded("error of the instrument", 0.0, instrument.figure("permissible_error", mean)))
    if heat is not None:
        parts += _heat(heat)
    budget = propagate(_at_reference if heat is not None else _sum, parts)
    alone = parts[0].standard_uncertainty * math.sqrt(len(readings))
    return Measurement(tuple(readings), budget, instrument, alone, unit)


def _repeats(readings: Sequence[float], mean: float, usual: float) -> Input:
    if len(readings) > 1:
        seen = repeated("repeats", readings)
        if seen.standard_uncertainty > 0.0:
            return seen
    # One reading, or the same step read each time: what is usual for the instrument stands in.
    return known("repeats, as usual for the instrument", mean, usual / math.sqrt(len(readings)))


def _heat(heat: Heat) -> list[Input]:
    shape = "arcsine" if heat.swings else "rectangular"
    away = heat.temperature - REFERENCE
    off = max(1e-6, 0.1 * abs(heat.expansion))
    return [
        bounded(
            "temperature above 20 °C",
            away,
            heat.half_width,
            "arcsine" if shape == "arcsine" else "rectangular",
        ),
        # How far the difference may be off is itself only known to a tenth of it.
        curved_trapezoid("difference of expansion", heat.expansion, off, 0.1 * off),
    ]


def _sum(values: Array) -> Array:
    return np.asarray(values[:3].sum(axis=0), dtype=np.float64)


def _at_reference(values: Array) -> Array:
    return np.asarray(values[0] * (1.0 - values[4] * values[3]) + values[1] + values[2], dtype=np.float64)


@dataclass(frozen=True)
class RingSpread:
    """How far readings around a ring differ; `probability` is that of the ring really differing by more than
    the limit [1]."""

    spread: float
    limit: float
    probability: float
    text: str

    @property
    def found(self) -> bool:
        """Whether the spread is a finding: more likely than not beyond its limit."""
        return self.probability >= 0.5


def ring_spread(
    readings: Sequence[float], limit: float, uncertainty: float, *, unit: str, tells: str
) -> RingSpread:
    """Judge the spread around a ring, largest less smallest, against its limit.

    The difference of two readings is uncertain by √2 times one; the spread that reading alone makes is not
    taken off, so that a coned plate is rather found than missed.
    """
    spread = max(readings) - min(readings)
    inside = judge(-math.inf, limit, spread, math.sqrt(2.0) * uncertainty).probability
    shown, most = show(spread, unit), show(limit, unit)
    text = f"differs by {shown} around the ring, {most} at most is sound"
    if inside <= 0.5:
        text += f": {tells or 'look why'}; the mean says nothing here"
    return RingSpread(spread, limit, 1.0 - inside, text)


@dataclass(frozen=True)
class Remedy:
    """What would tell where a reading does not.

    Parameters
    ----------
    needed : largest standard uncertainty that would tell, if the figure stays what it is [SI]
    repeats : how many readings with the same instrument would do, None if none up to thirty
    instruments : names of instruments with which as many readings as now would do, the plainest first
    text : in words
    """

    needed: float
    repeats: int | None
    instruments: tuple[str, ...]
    text: str


def judged(measurement: Measurement, low: float, high: float, *, rule: Rule | None = None) -> Judgement:
    """Judge a measurement against a window, its degrees of freedom counted."""
    budget = measurement.budget
    return judge(low, high, budget.value, budget.standard_uncertainty, rule=rule, freedom=budget.freedom)


def what_would_tell(
    measurement: Measurement,
    low: float,
    high: float,
    instruments: Mapping[str, Instrument],
    *,
    rule: Rule | None = None,
) -> Remedy | None:
    """Which instrument or how many repeats would tell, None where the reading tells already.

    The figure is taken to stay as it is; every remedy named is worked out with the same budget.  Only a finer
    instrument is named, and where readings differ by more than twice what is usual for the one they were
    taken with, that is the part, which no instrument cures.
    """
    if judged(measurement, low, high, rule=rule).outcome != CANNOT_TELL:
        return None
    value, same = measurement.value, measurement.instrument
    now = len(measurement.readings)
    seen = now > 1

    def tells(instrument: Instrument, count: int, spread: float) -> bool:
        u, freedom = _expected(value, instrument, count, spread, seen=seen)
        return judge(low, high, value, u, rule=rule, freedom=freedom).outcome != CANNOT_TELL

    repeats = next(
        (
            count
            for count in range(now + 1, MOST_REPEATS + 1)
            if tells(same, count, measurement.repeat_spread)
        ),
        None,
    )
    usual = same.figure("repeatability", value)
    of_the_part = measurement.repeat_spread if seen and measurement.repeat_spread > 2.0 * usual else 0.0
    others = [
        entry for entry in instruments.values() if entry.reads & same.reads and _finer(entry, same, value)
    ]
    able = [
        entry for entry in others if tells(entry, now, max(entry.figure("repeatability", value), of_the_part))
    ]
    able.sort(key=lambda entry: (-entry.figure("permissible_error", value), entry.id))
    names = tuple(entry.name for entry in able[:2])
    needed = uncertainty_needed(low, high, value, rule=rule)
    return Remedy(needed, repeats, names, _remedy_text(needed, repeats, names, measurement.unit))


def _finer(one: Instrument, other: Instrument, value: float) -> bool:
    """Whether an instrument is nowhere coarser than another, and somewhere finer."""
    keys = ("resolution", "permissible_error", "repeatability")
    pairs = [(one.figure(key, value), other.figure(key, value)) for key in keys]
    return all(fine <= coarse for fine, coarse in pairs) and any(fine < coarse for fine, coarse in pairs)


def _expected(
    value: float, instrument: Instrument, count: int, spread: float, *, seen: bool
) -> tuple[float, float]:
    """Standard uncertainty and degrees of freedom of `count` readings, as `measure` would give them."""
    step = instrument.figure("resolution", value) / math.sqrt(12.0)
    error = instrument.figure("permissible_error", value) / math.sqrt(3.0)
    mean = spread / math.sqrt(count)
    u = math.sqrt(mean**2 + step**2 + error**2)
    freedom = (count - 1) * u**4 / mean**4 if seen and mean > 0.0 else math.inf
    return u, freedom


def _remedy_text(needed: float, repeats: int | None, names: Sequence[str], unit: str) -> str:
    if needed <= 0.0:
        return "it lies on the limit itself: no instrument tells, decide which side is the safer"
    parts = [] if repeats is None else [f"{repeats} readings with this instrument"]
    parts += [f"the {name}" for name in names]
    found = units.unit(unit)
    known_to = f"{2.0 * needed / found.factor:.2g} {found.symbol}".rstrip()
    if not parts:
        return f"too close to the limit for any instrument here: it would have to be known to ±{known_to}"
    return f"{' or '.join(parts)} would tell if the figure stays as it is (it must be known to ±{known_to})"
