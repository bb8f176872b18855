"""This very car's parameters from a job or a file, its drift over earlier fits, and what it foretells."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.errors import InputFileError
from bellhousing.quantities.units import from_si
from bellhousing.road.cars import Cars
from bellhousing.road.engine import INHG
from bellhousing.road.one_car.drift import Seen, drift
from bellhousing.road.one_car.fit import CarFit, Known, Row, fit_car
from bellhousing.road.one_car.observed import unit_of
from bellhousing.road.shifts import shift_speeds
from bellhousing.road.vehicle import Vehicle
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.one_car_sources import Source

DRAWS = 400
HALF_THROTTLE = 10.0
"""Manifold vacuum at about half throttle [inHg]; common practice, no source."""

SIXTEENTH = 0.0254 / 16.0
"""A sixteenth of an inch [m]."""


class ParameterAnswer(Shape):
    """A parameter: value with where 95 in 100 lie, the sound unit's window, and whether it is told at all."""

    id: str
    name: str
    unit: str
    value: float
    low: float
    high: float
    window: tuple[float, float]
    inside: float
    told: bool
    drift: str | None


class RowAnswer(Shape):
    """A row as said, as the fitted car shows it, and how far off it is in standard deviations."""

    said: str
    value: float
    fitted: float
    unit: str
    off: float
    odd: bool


class ForetoldAnswer(Shape):
    """An upshift under other conditions [mph], where 95 in 100 lie, and now the middle; null: never."""

    shift: str
    now: float | None = None
    low: float | None
    middle: float | None
    high: float | None


class FitAnswer(Shape):
    """The fit of one car on one date; a later fit takes this answer as an earlier one.

    `hose_off` are the upshifts without vacuum hose, of a three-speed; `rod_longer` those at half throttle
    with the throttle rod a sixteenth of an inch longer, of a four-speed.
    """

    box: str
    date: str
    rows: tuple[RowAnswer, ...]
    parameters: tuple[ParameterAnswer, ...]
    cannot_tell: tuple[str, ...]
    together: tuple[tuple[str, str], ...]
    hose_off: tuple[ForetoldAnswer, ...] = ()
    rod_longer: tuple[ForetoldAnswer, ...] = ()
    effective_share: float
    notes: tuple[str, ...]


def fit(source: Source, *, date: str | None = None, earlier: Sequence[Path] = ()) -> FitAnswer:
    """Fit the car of a source; `date` is the day of its drives, default the source's own or today.

    Raises
    ------
    FindingError : nothing to fit, or rows that no car of this specification shows.
    InputFileError : an earlier fit that cannot be read, or a date that is none.
    """
    day = _day(date or source.date or datetime.date.today().isoformat())
    before = [_earlier(path, source.prepared.box.slug) for path in earlier]
    car = source.prepared.model.vehicle
    found = fit_car(source.prepared.box, car, source.observed)
    names = {known.parameter.id: known.parameter.name for known in found.known}
    return FitAnswer(
        box=source.prepared.box.slug,
        date=day.isoformat(),
        rows=tuple(_row(row) for row in found.rows),
        parameters=tuple(_parameter(known, day, before) for known in found.known),
        cannot_tell=tuple(known.parameter.name for known in found.known if not known.told),
        together=tuple((names[a], names[b]) for a, b in found.together),
        **_foretold(found, car),
        effective_share=round(found.effective_share, 3),
        notes=source.notes,
    )


def _day(text: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise InputFileError(f"'{text}' is no date", remedy="write it as 2026-05-01") from None


def _earlier(path: Path, box: str) -> FitAnswer:
    try:
        found = FitAnswer.model_validate_json(path.read_bytes())
    except OSError as error:
        raise InputFileError(f"the file cannot be read: {error.strerror}", where=str(path)) from None
    except ValueError:
        raise InputFileError(
            "this is no fit", where=str(path), remedy="write it with bellhousing fit ... --json"
        ) from None
    if found.box != box:
        raise InputFileError(f"this fit is of the box {found.box}, not {box}", where=str(path))
    return found


def _parameter(known: Known, day: datetime.date, before: Sequence[FitAnswer]) -> ParameterAnswer:
    (low, high), window = known.ends, known.window
    return ParameterAnswer(
        id=known.parameter.id,
        name=known.parameter.name,
        unit=known.parameter.unit,
        value=_figure(known.value),
        low=_figure(low),
        high=_figure(high),
        window=(_figure(window[0]), _figure(window[1])),
        inside=known.inside,
        told=known.told,
        drift=_drift(known, day, before) if before and known.parameter.wears and known.told else None,
    )


def _drift(known: Known, day: datetime.date, before: Sequence[FitAnswer]) -> str:
    """The drift of a parameter, in logarithms, over the earlier fits that tell it and this one."""
    seen = [Seen(_year(day), math.log(known.value), known.scatter)]
    for one in before:
        for entry in one.parameters:
            if entry.id == known.parameter.id and entry.told:
                scatter = math.log(entry.high / entry.low) / (2.0 * 1.96)
                seen.append(Seen(_year(_day(one.date)), math.log(entry.value), scatter))
    low, high = (math.log(end) for end in known.window)
    found = drift(seen, (low, high))
    if found.per_year is None:
        return found.text
    return f"{100.0 * found.per_year:+.1f} % a year; {found.text}"


def _year(day: datetime.date) -> float:
    return day.year + (day.timetuple().tm_yday - 1) / 365.25


def _row(row: Row) -> RowAnswer:
    unit = unit_of(row.observed)
    return RowAnswer(
        said=row.observed.name,
        value=round(float(from_si(row.observed.value, unit)), 2),
        fitted=round(float(from_si(row.fitted, unit)), 2),
        unit=unit,
        off=round(row.off, 2),
        odd=row.odd,
    )


def _foretold(found: CarFit, car: Vehicle) -> dict[str, tuple[ForetoldAnswer, ...]]:
    """Upshifts of cars that fit with the hose pulled off, or with a longer throttle rod."""
    drawn: Cars = found.draw(DRAWS, np.random.default_rng(3))
    half = HALF_THROTTLE * INHG
    if car.kind != FOUR_SPEED:
        return {"hose_off": _shifted(shift_speeds(drawn, car, half), shift_speeds(drawn, car, 0.0))}
    rod = "throttle_valve.rod_error"
    longer = drawn.with_values({rod: drawn[rod] + SIXTEENTH})
    return {"rod_longer": _shifted(shift_speeds(drawn, car, half), shift_speeds(longer, car, half))}


def _shifted(
    now: Mapping[str, NDArray[np.float64]], then: Mapping[str, NDArray[np.float64]]
) -> tuple[ForetoldAnswer, ...]:
    answers = []
    for shift, speeds in then.items():
        if shift[0] > shift[-1]:
            continue
        ends = np.quantile(speeds, [0.025, 0.5, 0.975], method="inverted_cdf")
        before = np.quantile(now[shift], 0.5, method="inverted_cdf")
        low, middle, high, usual = (
            round(float(from_si(end, "mph")), 1) if np.isfinite(end) else None for end in (*ends, before)
        )
        answers.append(ForetoldAnswer(shift=shift, now=usual, low=low, middle=middle, high=high))
    return tuple(answers)


def _figure(value: float) -> float:
    return float(f"{value:.5g}")
