"""How much is lost, in plain words: drops a minute, a spot on card, a level that fell; and how it is used."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from bellhousing.quantities.parse import parse_measured
from bellhousing.words.wet_places import When, read_when

DAY = 86_400.0
MONTH = 365.25 / 12.0 * DAY
MILE = 1609.344
PERIODS = {"second": 1.0, "sec": 1.0, "minute": 60.0, "min": 60.0, "hour": 3600.0, "day": DAY}
PERIODS |= {"night": 0.0, "week": 7 * DAY, "fortnight": 14 * DAY, "month": MONTH, "year": 12 * MONTH}
NIGHT = 12 * 3600.0
"""How long a night on the paper is taken to be [s]; common practice, no source."""

_NUMBERS = {"no": 0.0, "a": 1.0, "an": 1.0, "one": 1.0, "two": 2.0, "three": 3.0, "four": 4.0, "five": 5.0}
_NUMBERS |= {"six": 6.0, "seven": 7.0, "eight": 8.0, "nine": 9.0, "ten": 10.0, "twelve": 12.0, "twenty": 20.0}
_NUMBERS |= {"half": 0.5, "half a": 0.5, "quarter": 0.25, "a quarter": 0.25, "a couple of": 2.0, "1/2": 0.5}
_NUMBERS |= {"1/4": 0.25, "3/4": 0.75}
_COUNT = r"(?P<count>\d+(?:[.,]\d+)?(?:/\d+)?|" + "|".join(sorted(_NUMBERS, key=len, reverse=True)) + ")"
_PERIOD = r"(?P<period>seconds?|secs?|minutes?|mins?|hours?|days?|nights?|weeks?|fortnights?|months?|years?)"
_DROPS = re.compile(
    rf"\b{_COUNT}\s+dr(?:ops?|ips?)\s*(?:a|an|per|/|each|every|in (?:a|one))\s*{_PERIOD}\b"
    rf"|\b{_COUNT.replace('count', 'night')}\s+dr(?:ops?|ips?)\s+(?P<over>overnight)\b"
)
_EVERY = re.compile(
    rf"\b(?:a|one) dr(?:op|ip)\s+(?:every|each|in)\s+(?:{_COUNT.replace('count', 'every')}\s+)?{_PERIOD}\b"
)
_SPOT = re.compile(
    r"\b(?:spot|stain|puddle)\b(?:\s+\w+){0,4}?\s+(?P<size>\d+(?:[.,]\d+)?\s*(?:mm|cm|in|inch(?:es)?))\s*"
    r"(?:across|wide|in diameter|diameter|round)|(?P<first>\d+(?:[.,]\d+)?\s*(?:mm|cm|in|inch(?:es)?))\s*"
    r"(?:(?:across|wide|round)\s+)?(?:card |oil |fluid )?(?:spot|stain)\b"
)
_NIGHTS = re.compile(rf"(?:after|in|over)\s+{_COUNT}\s+(?P<unit>night|day|hour)s?\b")
_LOST = re.compile(
    r"\b(?:los(?:t|es|ing)|us(?:es|ed|ing)|down|dropped|added|adds?|takes?|topped up)\s+"
    r"(?:by\s+)?(?:about\s+)?"
    rf"{_COUNT}\s*(?:a\s+|an\s+|us\s+)?(?P<volume>pints?|pt|quarts?|qt|litres?|liters?|l|ml|cc)\b"
    r"(?:\s*(?:in|a|an|per|every|each|over|of fluid in|of fluid every)\s+"
    rf"(?:{_COUNT.replace('count', 'per')}\s+)?"
    rf"(?P<base>miles?|km|kilometres?|weeks?|fortnights?|months?|years?|days?|nights?))"
)
_DRIVEN = re.compile(
    rf"\b{_COUNT}\s*(?P<base>miles?|km|kilometres?)\s*(?:a|per|each|every)\s*(?P<per>day|week|month|year)\b"
)
_ENGINE_HOURS = re.compile(
    rf"\b{_COUNT}\s*hours?\s*(?:running\s+)?(?:a|per|each|every)\s*(?P<per>day|week|month|year)\b"
)
_LEVEL = re.compile(
    r"\blevel\s+(?:is\s+)?(?:at\s+|on\s+)?(?:the\s+)?"
    r"(?P<mark>full|add|half ?way|right|between the marks|mid)\b"
)
_LOW = re.compile(
    rf"\b{_COUNT}\s*(?:a\s+|us\s+)?(?P<volume>pints?|quarts?|litres?|l|ml)\s+(?:low|down|under)\b"
)
_VOLUMES = {"pint": "pint", "pt": "pint", "quart": "qt", "qt": "qt", "cc": "ml", "litre": "l", "liter": "l"}


@dataclass(frozen=True)
class LossWords:
    """One loss as it was said.

    Parameters
    ----------
    kind : drops counted, a spot on card, or fluid gone from the box
    amount : drops per second; diameter of the spot [m]; volume [m³]
    seconds : time over which a spot grew or a volume went [s], 0 where distance is given
    metres : distance over which a volume went [m], 0 where time is given
    when : when it was counted, empty where not said
    """

    kind: Literal["drops", "spot", "volume"]
    amount: float
    seconds: float
    metres: float
    when: When


@dataclass(frozen=True)
class UseWords:
    """How the car is used and where its level stands, None where not said.

    Parameters
    ----------
    metres : driven in a month [m]
    running : engine running in a month [s]
    level : share of the stick's volume that is there, 1 at FULL, 0 at ADD [-]
    low : fluid missing below FULL [m³]
    """

    metres: float | None = None
    running: float | None = None
    level: float | None = None
    low: float | None = None


def read_loss(text: str) -> LossWords | None:
    """Read how much is lost, None where the text does not say."""
    lowered = " ".join(text.lower().split())
    return _lost(lowered) or _dripped(lowered) or _spotted(lowered)


def _lost(text: str) -> LossWords | None:
    found = _LOST.search(text)
    if found is None:
        return None
    volume, times, base = (
        _volume(found["count"], found["volume"]),
        _number(found["per"] or "1"),
        found["base"],
    )
    metres = _metres(base) * times
    seconds = 0.0 if metres else _seconds(base) * times
    return LossWords("volume", volume, seconds, metres, "") if metres or seconds else None


def _dripped(text: str) -> LossWords | None:
    found = _DROPS.search(text)
    if found is not None:
        night = found["over"] is not None or (found["period"] or "").startswith("night")
        seconds = NIGHT if night else _seconds(found["period"])
        count = _number(found["count"] or found["night"])
        return LossWords("drops", count / seconds, seconds, 0.0, "parked" if night else read_when(text))
    found = _EVERY.search(text)
    if found is None:
        return None
    seconds = _seconds(found["period"]) * _number(found["every"] or "1")
    return LossWords("drops", 1.0 / seconds, seconds, 0.0, read_when(text)) if seconds else None


def _spotted(text: str) -> LossWords | None:
    found = _SPOT.search(text)
    if found is None:
        return None
    size = parse_measured(found["size"] or found["first"], usual_unit="mm", possible=(0.0, 2.0)).value
    over = _NIGHTS.search(text)
    seconds = NIGHT
    if over is not None:
        each = NIGHT if over["unit"] == "night" else PERIODS[over["unit"]]
        seconds = each * max(_number(over["count"]), 1e-3)
    return LossWords("spot", size, seconds, 0.0, "parked")


def read_use(text: str) -> UseWords | None:
    """Read how the car is used or where its level stands, None where the text does not say."""
    lowered = " ".join(text.lower().split())
    driven, hours = _DRIVEN.search(lowered), _ENGINE_HOURS.search(lowered)
    level, low = _LEVEL.search(lowered), _LOW.search(lowered)
    if not (driven or hours or level or low):
        return None
    share = None
    if level is not None:
        share = {"full": 1.0, "right": 1.0, "add": 0.0}.get(level["mark"], 0.5)
    return UseWords(
        metres=None if driven is None else _monthly(driven, _metres(driven["base"])),
        running=None if hours is None else _monthly(hours, 3600.0),
        level=share,
        low=None if low is None else _volume(low["count"], low["volume"]),
    )


def _monthly(found: re.Match[str], unit: float) -> float:
    return _number(found["count"]) * unit * MONTH / _seconds(found["per"])


def _metres(base: str) -> float:
    if base.startswith("mile"):
        return MILE
    return 1000.0 if base.startswith(("km", "kilo")) else 0.0


def _seconds(period: str) -> float:
    name = period if period in PERIODS else period.rstrip("s")
    return NIGHT * 2 if name == "night" else PERIODS[name]


def _volume(count: str, unit: str) -> float:
    name = unit if unit in _VOLUMES or unit in ("l", "ml") else unit.rstrip("s")
    return parse_measured(
        f"{_number(count)!r} {_VOLUMES.get(name, name)}", usual_unit="ml", possible=(0.0, 0.1)
    ).value


def _number(text: str) -> float:
    known = _NUMBERS.get(text)
    if known is not None:
        return known
    if "/" in text:
        top, _, bottom = text.partition("/")
        return float(top.replace(",", ".")) / max(float(bottom), 1.0)
    return float(text.replace(",", "."))
