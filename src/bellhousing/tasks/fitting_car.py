"""This very car's parameters from a job or a file, its drift over earlier fits, and what it foretells."""

from __future__ import annotations

import contextlib
import datetime
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.errors import InputFileError
from bellhousing.quantities.units import from_si
from bellhousing.records.car_fits import KeptFit
from bellhousing.road.cars import Cars
from bellhousing.road.engine import INHG
from bellhousing.road.one_car.fit import CarFit, Known, Row, fit_car
from bellhousing.road.one_car.observed import unit_of
from bellhousing.road.shifts import shift_speeds
from bellhousing.road.vehicle import Vehicle
from bellhousing.tasks.fit_drift import Earlier, day_of, drift_of, figure
from bellhousing.tasks.fit_shapes import EarlierAnswer, FitAnswer, ForetoldAnswer, ParameterAnswer, RowAnswer
from bellhousing.tasks.noting import WHO
from bellhousing.tasks.one_car_sources import Source, source_of_job
from bellhousing.tasks.shop import Shop

DRAWS = 400
HALF_THROTTLE = 10.0
"""Manifold vacuum at about half throttle [inHg]; common practice, no source."""

SIXTEENTH = 0.0254 / 16.0
"""A sixteenth of an inch [m]."""


def fit(source: Source, *, date: str | None = None, earlier: Sequence[Path] = ()) -> FitAnswer:
    """Fit the car of a source; `date` is the day of its drives, default the source's own or today.

    Raises
    ------
    FindingError : nothing to fit, or rows that no car of this specification shows.
    InputFileError : an earlier fit that cannot be read, or a date that is none.
    """
    today = datetime.date.today()
    return _fitted(source, day_of(date or source.date or today.isoformat()), _of_files(earlier, source))


def fit_of_job(
    shop: Shop, job: int, *, date: str | None = None, earlier: Sequence[Path] = (), keep: bool = False
) -> FitAnswer:
    """Fit the car of a job, with its drift over the fits kept of that car; `keep` keeps this one as well.

    Without a date it is the day its fit was kept for, as long as the readings are the same.

    Raises
    ------
    RecordError : no such job.
    FindingError : nothing to fit, or rows that no car of this specification shows.
    InputFileError : an earlier fit that cannot be read, or a date that is none.
    """
    source = source_of_job(shop, job)
    car = shop.store.job(job).car
    every = shop.store.fits_of(car)
    known = next((one.day.isoformat() for one in every if one.job == job and _same_rows(one, source)), None)
    day = day_of(date or known or source.date or shop.clock().date().isoformat())
    stored = [one for one in every if one.day <= day]
    before, notes = _of_records([one for one in stored if one.job != job], source.prepared.box.slug)
    answer = _fitted(source, day, [*before, *_of_files(earlier, source)])
    answer = answer.model_copy(update={"notes": (*answer.notes, *notes)})
    data = _to_keep(answer)
    kept = any((one.job, one.day, one.data) == (job, day, data) for one in stored)
    if keep and not kept:
        shop.store.keep_fit(
            KeptFit(
                car=car, job=job, day=day, at=shop.clock(), who=shop.signed(WHO), box=answer.box, data=data
            )
        )
    return answer.model_copy(update={"kept": keep or kept})


def _same_rows(kept: KeptFit, source: Source) -> bool:
    """Whether a kept fit is of the readings that stand now."""
    now = [(row.name, _said(row.value, unit_of(row))) for row in source.observed]
    return [(row.get("said"), row.get("value")) for row in kept.data.get("rows", ())] == now


def _said(value: float, unit: str) -> float:
    """A reading in its unit, as it is shown."""
    return round(float(from_si(value, unit)), 2)


def _to_keep(answer: FitAnswer) -> dict[str, Any]:
    """A fit by itself, without what other fits say of it."""
    alone = tuple(one.model_copy(update={"drift": None}) for one in answer.parameters)
    plain = answer.model_copy(update={"parameters": alone, "earlier": (), "notes": (), "kept": True})
    return plain.model_dump(mode="json")


def _of_files(paths: Sequence[Path], source: Source) -> list[Earlier]:
    """Earlier fits from the files --json wrote."""
    return [Earlier(str(path), _read(path, source.prepared.box.slug)) for path in paths]


def _of_records(kept: Sequence[KeptFit], box: str) -> tuple[list[Earlier], tuple[str, ...]]:
    """Earlier fits from the car's records, and what was left out of them."""
    found = []
    for one in kept:
        if one.box == box:
            with contextlib.suppress(ValueError):
                answer = FitAnswer.model_validate_json(json.dumps(one.data))
                found.append(Earlier(f"job {one.job}", answer))
    left = len(kept) - len(found)
    said = f"{left} earlier fits of this car are of another box or another version, and left out"
    return found, (said,) if left else ()


def _fitted(source: Source, day: datetime.date, before: Sequence[Earlier]) -> FitAnswer:
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
        hose_off=_hose_off(found, car),
        rod_longer=_rod_longer(found, car),
        effective_share=round(found.effective_share, 3),
        notes=source.notes,
        earlier=tuple(EarlierAnswer(date=one.fit.date, name=one.name) for one in before),
    )


def _read(path: Path, box: str) -> FitAnswer:
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


def _parameter(known: Known, day: datetime.date, before: Sequence[Earlier]) -> ParameterAnswer:
    (low, high), window = known.ends, known.window
    return ParameterAnswer(
        id=known.parameter.id,
        name=known.parameter.name,
        unit=known.parameter.unit,
        value=figure(known.value),
        low=figure(low),
        high=figure(high),
        window=(figure(window[0]), figure(window[1])),
        inside=known.inside,
        told=known.told,
        drift=drift_of(known, day, before) if before and known.parameter.wears and known.told else None,
    )


def _row(row: Row) -> RowAnswer:
    unit = unit_of(row.observed)
    return RowAnswer(
        said=row.observed.name,
        value=_said(row.observed.value, unit),
        fitted=_said(row.fitted, unit),
        unit=unit,
        off=round(row.off, 2),
        odd=row.odd,
    )


def _hose_off(found: CarFit, car: Vehicle) -> tuple[ForetoldAnswer, ...]:
    """Upshifts of cars that fit with the vacuum hose pulled off."""
    if car.kind == FOUR_SPEED:
        return ()
    drawn: Cars = found.draw(DRAWS, np.random.default_rng(3))
    return _shifted(shift_speeds(drawn, car, HALF_THROTTLE * INHG), shift_speeds(drawn, car, 0.0))


def _rod_longer(found: CarFit, car: Vehicle) -> tuple[ForetoldAnswer, ...]:
    """Upshifts of cars that fit at half throttle with a longer throttle rod."""
    if car.kind != FOUR_SPEED:
        return ()
    drawn: Cars = found.draw(DRAWS, np.random.default_rng(3))
    rod = "throttle_valve.rod_error"
    longer = drawn.with_values({rod: drawn[rod] + SIXTEENTH})
    half = HALF_THROTTLE * INHG
    return _shifted(shift_speeds(drawn, car, half), shift_speeds(longer, car, half))


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
