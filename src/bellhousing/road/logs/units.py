"""Units as loggers write them, beside those a shop writes."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from math import pi

from bellhousing.errors import QuantityError
from bellhousing.quantities.units import spelled, unit

RPM = 2 * pi / 60
KNOT = 1852 / 3600


@dataclass(frozen=True)
class LogUnit:
    """A unit of a log: SI value = value * factor + offset."""

    name: str
    dimension: str
    factor: float
    offset: float = 0.0


OWN: Mapping[str, LogUnit] = {
    "knots": LogUnit("knots", "speed", KNOT),
    "rpm x1000": LogUnit("rpm x1000", "rotation", 1000 * RPM),
    "rpm x2": LogUnit("rpm x2", "rotation", 2 * RPM),
    "rpm x0.5": LogUnit("rpm x0.5", "rotation", 0.5 * RPM),
    "rev/s": LogUnit("rev/s", "rotation", 2 * pi),
    "us": LogUnit("us", "time", 1e-6),
    "ns": LogUnit("ns", "time", 1e-9),
    "ft/s": LogUnit("ft/s", "speed", 0.3048),
    "days": LogUnit("days", "time", 86400.0),
}

SPELLINGS: Mapping[str, str] = {
    "kn": "knots", "kt": "knots", "kts": "knots", "knot": "knots", "knots": "knots",
    "1/min": "rpm", "min-1": "rpm", "u/min": "rpm", "tr/min": "rpm", "min^-1": "rpm", "giri": "rpm",
    "r/min": "rpm", "t/min": "rpm", "tr/mn": "rpm", "giri/min": "rpm", "rev/min": "rpm", "rev/mn": "rpm",
    "rpm x2": "rpm x2", "rpm x0.5": "rpm x0.5", "tours/min": "rpm", "umdr/min": "rpm", "upm": "rpm",
    "/min": "rpm", "omw/min": "rpm", "hz": "rev/s", "1/s": "rev/s", "rps": "rev/s",
    "rpm x1000": "rpm x1000", "krpm": "rpm x1000", "rpm*1000": "rpm x1000", "x1000": "rpm x1000",
    "rpm/1000": "rpm x1000", "x1000 rpm": "rpm x1000", "rev/s": "rev/s",
    "us": "us", "µs": "us", "usec": "us", "microseconds": "us", "ns": "ns", "nanoseconds": "ns",
    "millis": "ms", "msec": "ms", "milliseconds": "ms", "ft/s": "ft/s", "fps": "ft/s",
    "days": "days", "day": "days",
    "mi/hr": "mph", "km/hr": "km/h", "km/u": "km/h", "mps": "m/s", "meters/second": "m/s",
    "metres/second": "m/s", "meters per second": "m/s", "metres per second": "m/s", "miles/hour": "mph",
    "miles per hour": "mph", "kilometers/hour": "km/h", "kilometres/hour": "km/h",
    "kilometers per hour": "km/h", "kilometres per hour": "km/h",
    "m/sec": "m/s", "metres/s": "m/s",
    "hg": "inHg", "\"hg": "inHg", "in hg": "inHg", "in.hg": "inHg", "kpaa": "kPa", "kpag": "kPa",
    "bara": "bar", "barg": "bar", "psia": "psi", "psig": "psi", "pct": "%", "percent": "%",
}  # fmt: skip

DIMENSIONS: Mapping[str, tuple[str, ...]] = {
    "time": ("time",),
    "speed": ("speed",),
    "engine-speed": ("rotation",),
    "output-speed": ("rotation",),
    "vacuum": ("pressure",),
    "manifold-pressure": ("pressure",),
    "line-pressure": ("pressure",),
    "throttle": ("number", "angle", "voltage"),
    "lever": ("number",),
}
"""What each meaning of a column may be measured in."""


def log_unit(text: str, meaning: str) -> LogUnit | None:
    """The unit that is written so, if it fits the meaning of its column; None otherwise."""
    allowed = DIMENSIONS[meaning]
    plain = re.sub(r"\s+", " ", text.strip().strip("[]()").strip()).casefold()
    if not plain:
        return None
    name = SPELLINGS.get(plain, plain)
    own = OWN.get(name)
    if own is not None:
        return own if own.dimension in allowed else None
    try:
        exact = unit(name) if name in SPELLINGS.values() else None
    except QuantityError:
        exact = None
    for found in (exact, *spelled(name)):
        if found is not None and found.dimension in allowed:
            return LogUnit(found.name, found.dimension, found.factor, found.offset)
    return None


def named_unit(name: str, meaning: str) -> LogUnit:
    """The unit of this very name.

    Raises
    ------
    QuantityError : no unit is written so, or it does not fit the meaning.
    """
    found = log_unit(name, meaning)
    if found is None:
        raise QuantityError(
            f"'{name}' is no unit for {meaning.replace('-', ' ')}", remedy="such as mph, km/h, rpm, inHg, kPa"
        )
    return found
