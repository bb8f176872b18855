"""The drift of one car's parameters over its fits, each fit taken for what its readings alone say."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass

from bellhousing.errors import InputFileError
from bellhousing.road.one_car.drift import Seen, drift
from bellhousing.road.one_car.fit import SIDES, Known
from bellhousing.tasks.fit_shapes import DriftAnswer, FitAnswer, ParameterAnswer, SeenAnswer

SAME_WINDOW = 1e-3
"""Share by which the window of an earlier fit may differ and still be of the same box."""


@dataclass(frozen=True)
class Earlier:
    """An earlier fit and the job or file it is from."""

    name: str
    fit: FitAnswer


def day_of(text: str) -> datetime.date:
    """A day as typed.

    Raises
    ------
    InputFileError : it is none.
    """
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise InputFileError(f"'{text[:40]}' is no date", remedy="write it as 2026-05-01") from None


def figure(value: float) -> float:
    """A figure as it is handed out."""
    return float(f"{value:.5g}")


def drift_of(known: Known, day: datetime.date, before: Sequence[Earlier]) -> DriftAnswer:
    """The drift of a parameter, in logarithms, over the earlier fits that tell it and this one.

    All fits of a car start from what is known of its box, which pulls each of them the same way; so that is
    taken out again, p(readings | x) ∝ p(x | readings) / p(x), both normal.
    """
    low, high = (figure(end) for end in known.ends)
    shown = [SeenAnswer(date=day.isoformat(), value=figure(known.value), low=low, high=high)]
    for one in before:
        entry = next((entry for entry in one.fit.parameters if entry.id == known.parameter.id), None)
        if entry is not None and entry.told and _same_box(entry, known):
            shown.append(SeenAnswer(date=one.fit.date, value=entry.value, low=entry.low, high=entry.high))
    shown.sort(key=lambda one: one.date)
    found = drift(
        [seen for one in shown if (seen := _by_readings(one, known)) is not None],
        (math.log(known.window[0]), math.log(known.window[1])),
    )
    rate = ""
    if found.per_year is not None and found.uncertainty is not None:
        rate = f"{100.0 * found.per_year:+.1f} ± {100.0 * SIDES * found.uncertainty:.1f} % a year; "
    leaves = None
    if found.leaves is not None:
        early, middle, late = (round(one, 1) if math.isfinite(one) else None for one in found.leaves)
        leaves = (early, middle, late)
    return DriftAnswer(
        text=rate + found.text,
        per_year=None if found.per_year is None else figure(found.per_year),
        uncertainty=None if found.uncertainty is None else figure(found.uncertainty),
        leaves=leaves,
        seen=tuple(shown),
    )


def _same_box(entry: ParameterAnswer, known: Known) -> bool:
    return all(
        math.isclose(was, now, rel_tol=SAME_WINDOW)
        for was, now in zip(entry.window, known.window, strict=True)
    )


def _by_readings(one: SeenAnswer, known: Known) -> Seen | None:
    """A fitted logarithm without what was known before; None where the readings hardly tell it."""
    scatter = math.log(one.high / one.low) / (2.0 * SIDES)
    precision = 1.0 / scatter**2 - 1.0 / known.before**2
    if precision <= 0.0:
        return None
    told = math.log(one.value) / scatter**2 - math.log(known.middle) / known.before**2
    return Seen(_year(day_of(one.date)), told / precision, precision**-0.5)


def _year(day: datetime.date) -> float:
    return day.year + (day.timetuple().tm_yday - 1) / 365.25
