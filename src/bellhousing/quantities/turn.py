"""Figures in inch or metric units, in whatever unit they were written: alone, and within a sentence."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import cache
from math import ceil, floor, log10

from bellhousing.quantities.units import unit

INCH, METRIC = "inch", "metric"
TO_METRIC: Mapping[str, str] = {
    "psi": "kPa",
    "inHg": "kPa",
    "inH2O": "kPa",
    "mph": "km/h",
    "in": "mm",
    "thou": "mm",
    "ft": "m",
    "mile": "km",
    "in2": "cm2",
    "in3": "cm3",
    "lb ft": "N m",
    "lb in": "N m",
    "qt": "l",
    "pint": "l",
    "gal": "l",
    "fl oz": "ml",
    "imp qt": "l",
    "imp pint": "l",
    "imp gal": "l",
    "qt/min": "l/min",
    "gal/min": "l/min",
    "degF": "degC",
    "degF difference": "degC difference",
    "lb": "kg",
    "oz": "g",
    "lbf": "N",
}
TO_INCH: Mapping[str, str] = {
    "kPa": "psi",
    "bar": "psi",
    "MPa": "psi",
    "mmHg": "inHg",
    "mbar": "inHg",
    "km/h": "mph",
    "mm": "in",
    "cm": "in",
    "um": "thou",
    "m": "ft",
    "km": "mile",
    "cm2": "in2",
    "mm2": "in2",
    "N m": "lb ft",
    "l": "qt",
    "degC": "degF",
    "degC difference": "degF difference",
    "kg": "lb",
    "N": "lbf",
}
# How sentences name a unit besides its symbol, longest first within each.
_SPELLED: Mapping[str, tuple[str, ...]] = {
    "mph": ("miles an hour", "miles per hour", "mph"),
    "mile": ("miles", "mile"),
    "in": ("inches", "inch", "in"),
    "inHg": ("inches of mercury", "inches of vacuum", "inHg"),
    "ft": ("feet", "ft"),
    "lb": ("pounds", "lb"),
    "pint": ("US pints", "US pint", "pints", "pint"),
    "qt": ("US quarts", "US quart", "US qt", "quarts", "quart"),
    "gal": ("US gallons", "US gallon", "US gal"),
    "degF": ("°F", "degrees F"),
    "degC": ("°C", "degrees C"),
    "thou": ("thousandths of an inch", "thou"),
    "l": ("litres", "liters", "litre", "liter", "l"),
    "mm": ("millimetres", "millimeters", "mm"),
    "km": ("kilometres", "kilometers", "km"),
    "km/h": ("km/h",),
    "kg": ("kg",),
}
# A spanner of 1/2 in has that for a name; so has one of 10 mm.
_NO_TOOL = (
    r"(?! (?:(?:or|and) [\d/.]+ (?:in|mm) )?(?:deep |ring |open |hex |long |flare |drive |twelve-point )*"
    r"(?:sockets?|spanners?|wrench(?:es)?|keys?|drills?|bits?|rods?|bar)\b)"
)
_FIGURE = r"-?\d{1,3}(?:,\d{3})+(?:\.\d+)?|-?\d+(?:\.\d+)?(?![\d/])"
_FRACTION = r"(?:\d+ )?\d+/\d+"
# After these letters "in" is an inch; "3 in 100" and "2.48 in first" are none.
_INCH_ENDS = (
    r"(?=\s*(?:$|[.,;:)\]!?–—±(]|(?:above|apart|below|beside|against|clearance|deep|end|gap|higher|less|long|lower"
    r"|more|of|or|over|per|play|short|thick|too|travel|under|wide|high|at|for|to|and|from|when|with|by)\b))"
)
_TWICE = re.compile(rf"((?:{_FIGURE})[^\d()]+) \(\1\)")
_QUOTED = re.compile(r"(“[^”]*”)")
_FINEST = 6


def unit_for(name: str, units: str) -> str:
    """The unit a figure written in the unit `name` is shown in; the same where the system has it."""
    return (TO_METRIC if units == METRIC else TO_INCH).get(name, name)


def turned_figure(text: str, name: str, units: str, *, spread: bool = False) -> str:
    """A figure written in the unit `name` in the unit of the system, as exact as it was written.

    A `spread` is a difference: it is scaled and not shifted.

    Raises
    ------
    QuantityError : unknown unit.
    """
    to = _unit_of(text, name, units)
    if to == name:
        return text
    first, second = unit(name), unit(to)
    value, places = _read(text.replace(",", ""))
    scale = first.factor / second.factor
    shown = value * scale if spread else float(second.from_si(first.to_si(value)))
    digits = max(0, ceil(-log10(scale * 10.0**-places) - 0.3))
    if shown != 0.0:
        digits = max(digits, 1 - floor(log10(abs(shown))))
    comma = "," if "," in text else ""
    told = f"{shown:{comma}.{min(digits, _FINEST)}f}"
    return told[1:] if told.startswith("-") and not told.strip("-0.") else told


def turned(text: str, units: str, *, quoted: bool = False) -> str:
    """A sentence with every figure in the units of the system: "hold 30 mph" as "hold 48 km/h".

    What stands between “ and ” are somebody's words and stay, unless `quoted` are to be turned too.
    """
    if not any(letter.isdigit() for letter in text):
        return text
    return _said(text, units) if quoted else outside_quotes(text, lambda part: _said(part, units))


def outside_quotes(text: str, change: Callable[[str], str]) -> str:
    """A text changed but for what stands between “ and ”, which are somebody's words."""
    if "“" not in text:
        return change(text)
    return "".join(part if part.startswith("“") else change(part) for part in _QUOTED.split(text))


def _said(text: str, units: str) -> str:
    pattern, names = _pattern(units)
    told = pattern.sub(lambda found: _put(found, names, units), text)
    # What gave a figure in both units would say it twice.
    return text if told == text else _TWICE.sub(r"\1", told)


def _unit_of(text: str, name: str, units: str) -> str:
    """The unit a written figure is shown in; a length below two metres is said in inches, not in feet."""
    if name == "m" and units != METRIC and 0.0 < abs(_read(text.replace(",", ""))[0]) < 2.0:
        return "in"
    return unit_for(name, units)


def _read(text: str) -> tuple[float, int]:
    """A figure as written, and its places after the point; a fraction is as good as a hundredth."""
    if "/" not in text:
        return float(text), len(text.partition(".")[2])
    over, under = text.split(" ")[-1].split("/")
    whole = int(text.split(" ")[0]) if " " in text else 0
    return whole + int(over) / max(1, int(under)), 2


@cache
def _pattern(units: str) -> tuple[re.Pattern[str], Mapping[str, str]]:
    """What finds figures with a unit of the other system, and the unit each spelling names."""
    table = TO_METRIC if units == METRIC else TO_INCH
    names: dict[str, str] = {}
    for name in table:
        if name.endswith(" difference"):
            continue
        for spelling in _SPELLED.get(name, ()) or (unit(name).symbol,):
            names[spelling] = name
        names.setdefault(unit(name).symbol, name)
    longest = sorted(names, key=len, reverse=True)
    said = "|".join(re.escape(word) + (_INCH_ENDS if word == "in" else "") for word in longest)
    return (
        re.compile(
            rf"(?<![\w.,/#×-])(?P<spread>±\s?)?(?P<low>{_FRACTION}|{_FIGURE})"
            rf"(?:(?P<between>\s?[–-]\s?|\sto\s|\sor\s|\sand\s|\s±\s)(?P<high>{_FRACTION}|{_FIGURE}))?"
            rf"(?P<gap>[ \u00a0-]?)(?P<unit>{said})(?![\w²³/]){_NO_TOOL}"
            rf"(?P<wide>\s±\s(?P<around>{_FIGURE})(?!\.?\d)(?:\s(?P=unit))?)?"
        ),
        names,
    )


def _put(found: re.Match[str], names: Mapping[str, str], units: str) -> str:
    name = names[found["unit"]]
    to = unit(_unit_of(found["low"], name, units)).symbol
    between = found["between"] or ""
    told = (found["spread"] or "") + turned_figure(found["low"], name, units, spread=bool(found["spread"]))
    if between.strip() == "and" and not found.string[: found.start()].endswith("between "):
        # "In 2 and 30 psi": only the second is a figure of this unit.
        told = found["low"]
    if found["high"]:
        told += between + turned_figure(found["high"], name, units, spread="±" in between)
    told += f"{found['gap'].replace('-', ' ') or ' '}{to}"
    if found["around"]:
        told += f" ± {turned_figure(found['around'], name, units, spread=True)}"
    return told
