"""How figures, odds and times read on a page."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal
from functools import partial
from typing import Any

from markupsafe import Markup

from bellhousing.quantities.odds import in_100
from bellhousing.quantities.show import figure as shown_figure
from bellhousing.quantities.turn import turned_figure, unit_for
from bellhousing.quantities.units import from_si, to_si, unit
from bellhousing.reports.limit_line import LimitLine, limit_line_svg
from bellhousing.reports.odds import bar_length, error_in_100, factor, factor_in_words, left_out
from bellhousing.tasks.answers import FindingAnswer
from bellhousing.tasks.fits_shapes import MeasuredAnswer
from bellhousing.tasks.money import with_sign

# Half the width that holds 95 of 100 readings of a normal spread, in standard deviations.
HALF_WIDTH = 1.96


def end(value: float, unit_name: str, units: str = "") -> str:
    """A figure already in its unit, in the reader's, rounded as is usual for that."""
    to = unit_for(unit_name, units) if units else unit_name
    return shown_figure(float(to_si(value, unit_name)), unit(to))


def spread(entry: FindingAnswer) -> str:
    """The half-width of a reading, "± 3 psi", empty where there is none."""
    if entry.uncertainty is None:
        return ""
    symbol = unit(entry.unit).symbol if entry.unit else ""
    return f"± {HALF_WIDTH * entry.uncertainty:.2g}" + (f" {symbol}" if symbol else "")


def window_text(entry: FindingAnswer) -> str:
    """The window of a reading and where the value lies: "window 60–75 psi (this box's manual), inside, …"."""
    limit = entry.limit
    if limit is None:
        return ""
    low, high = end(limit.low, limit.unit), end(limit.high, limit.unit)
    return f"window {low}–{high} {limit.unit} ({limit.source}), {limit.verdict}"


def limit_line(entry: FindingAnswer, units: str = "") -> Markup:
    """The limit line of a reading, empty where it has no window."""
    limit, value = entry.limit, entry.value
    if limit is None or not isinstance(value, float | int):
        return Markup("")
    line = LimitLine(
        value=float(value),
        half_width=HALF_WIDTH * (entry.uncertainty or 0.0),
        low=limit.low,
        high=limit.high,
        low_text=end(limit.low, limit.unit, units),
        high_text=end(limit.high, limit.unit, units),
        text=f"{entry.shown} {spread(entry)}, {window_text(entry)}",
    )
    return Markup(limit_line_svg(line))


def measured_line(entry: MeasuredAnswer, units: str = "") -> Markup:
    """The limit line of a measurement, empty where it has no window."""
    if entry.outcome is None:
        return Markup("")
    low = -math.inf if entry.low is None else entry.low
    high = math.inf if entry.high is None else entry.high
    line = LimitLine(
        value=entry.value,
        half_width=entry.expanded,
        low=low,
        high=high,
        low_text="" if entry.low is None else end(low, entry.unit, units),
        high_text="" if entry.high is None else end(high, entry.unit, units),
        text=entry.text,
    )
    return Markup(limit_line_svg(line))


def drawn(line: LimitLine) -> Markup:
    """A limit line that is made already."""
    return Markup(limit_line_svg(line))


def minutes(value: float) -> str:
    """Minutes of work: "4 min", "1 h 30 min"."""
    whole = max(1, round(value))
    hours, rest = divmod(whole, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def at(text: str) -> str:
    """A moment on this machine's clock: "3 Oct, 14:05"."""
    moment = datetime.fromisoformat(text).astimezone()
    return f"{moment.day} {moment:%b}, {moment:%H:%M}"


def hours(value: float) -> str:
    """Hours of work to the tenth: "10.5 h"."""
    return f"{value:.1f} h"


def hours_span(low: float, high: float) -> str:
    """A range of hours: "0.1–0.9 h", one figure where both ends read alike, "up to" from next to nothing."""
    if low < 0.05 <= high:
        return f"up to {hours(high)}"
    return hours(high) if hours(low) == hours(high) else f"{low:.1f}–{hours(high)}"


def money(amount: Decimal, before: str = "", after: str = "") -> str:
    """A price with the sign of its currency, if it has one."""
    return with_sign(amount, before, after)


def plainly(amount: Decimal) -> str:
    """An exact figure without needless noughts: "20", "2.5"."""
    return f"{amount.normalize():f}"


def day(text: str) -> str:
    """A day: "3 Oct 2026"."""
    moment = date.fromisoformat(text)
    return f"{moment.day} {moment:%b %Y}"


def distance(miles: float, speed_unit: str) -> str:
    """A distance as the reader who wants this unit of speed reads it: "61,240 miles", "98,556 km"."""
    if speed_unit == "km/h":
        return f"{from_si(to_si(miles, 'mile'), 'km'):,.0f} km"
    return f"{miles:,.0f} miles"


def file_size(count: int) -> str:
    """Bytes as a person reads them: "3.4 MB", "87 kB"."""
    return f"{count / 2**20:.1f} MB" if count >= 2**19 else f"{max(1, round(count / 1024))} kB"


def sentence(text: str) -> str:
    """Text that ends as a sentence."""
    return text if text.endswith((".", "?", "!")) else f"{text}."


def capital(text: str) -> str:
    """Text that begins with a capital, the rest untouched."""
    return text[:1].upper() + text[1:]


def in_units(units: str) -> dict[str, Callable[..., Any]]:
    """The filters that show figures in inch or metric units, whatever they were written in."""
    return {
        "limit_line": partial(limit_line, units=units),
        "measured_line": partial(measured_line, units=units),
        "in_unit": lambda name: unit(unit_for(name, units)).symbol if name else "",
        "figure": lambda value, name, form="%g": (
            turned_figure(form % value, name, units) if name else form % value
        ),
        "turns": lambda name: unit_for(name, units) != name,
    }


FILTERS: dict[str, Callable[..., Any]] = {
    "at": at,
    "bar_length": bar_length,
    "capital": capital,
    "day": day,
    "drawn": drawn,
    "distance": distance,
    "error_in_100": error_in_100,
    "factor": factor,
    "factor_in_words": factor_in_words,
    "file_size": file_size,
    "hours": hours,
    "hours_span": hours_span,
    "in_100": in_100,
    "left_out": left_out,
    "minutes": minutes,
    "money": money,
    "plainly": plainly,
    "sentence": sentence,
    "spread": spread,
    "window_text": window_text,
}
