"""Figures of the owner's report in inch or metric units, whatever unit they were entered in."""

from __future__ import annotations

import math
import re
from datetime import date, datetime

from bellhousing.quantities.show import show, show_interval
from bellhousing.quantities.turn import METRIC, unit_for
from bellhousing.quantities.units import from_si, to_si
from bellhousing.tasks.report_shapes import ReportReading


def shown(value: float, unit: str, units: str) -> str:
    """A figure in the unit it was entered in, as the report shows it."""
    return show(float(to_si(value, unit)), unit_for(unit, units))


def reading(
    name: str,
    value: float,
    unit: str,
    units: str,
    *,
    spread: float = 0.0,
    low: float | None = None,
    high: float | None = None,
    source: str = "",
    verdict: str = "",
    when: str = "",
) -> ReportReading:
    """A reading with its window, entered in `unit`; `spread` holds 95 in 100 to either side."""
    to = unit_for(unit, units)

    def turned(figure: float) -> float:
        return float(from_si(to_si(figure, unit), to))

    held = low is not None or high is not None
    ends = [
        -math.inf if low is None else float(to_si(low, unit)),
        math.inf if high is None else float(to_si(high, unit)),
    ]
    wide = abs(turned(value + spread) - turned(value))
    return ReportReading(
        name=name,
        value=_printed(show(float(to_si(value, unit)), to)),
        window=_printed(show_interval(min(ends), max(ends), to)) if held else "",
        source=source,
        verdict=verdict,
        figure=turned(value) if held else None,
        spread=wide,
        low=None if low is None else turned(low),
        high=None if high is None else turned(high),
        low_text="" if low is None else _end(low, unit, to),
        high_text="" if high is None else _end(high, unit, to),
        when=when,
    )


def _printed(text: str) -> str:
    """With a minus as it is printed, not a hyphen that a line may break at."""
    return re.sub(r"(?<!\S)-(?=[\d.])", "−", text)


def _end(value: float, unit: str, to: str) -> str:
    return show(float(to_si(value, unit)), to).split(" ")[0]


def distance(metres: float, units: str) -> str:
    """A distance as an odometer shows it: "61,240 miles", "98,557 km"."""
    unit = "km" if units == METRIC else "mile"
    return f"{float(from_si(metres, unit)):,.0f} {'km' if units == METRIC else 'miles'}"


def day(moment: datetime | date) -> str:
    """A day in words: "3 October 2026"."""
    local = moment.astimezone().date() if isinstance(moment, datetime) else moment
    return f"{local.day} {local:%B %Y}"
