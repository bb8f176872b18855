"""A car over the years: its jobs, readings against their windows, fits kept, odometer, photos."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from datetime import datetime

from bellhousing.diagnosis.windows import Window, verdict, window
from bellhousing.errors import BellhousingError
from bellhousing.quantities.odds import in_100
from bellhousing.quantities.units import from_si
from bellhousing.records.car_fits import KeptFit
from bellhousing.records.entries import Car, Finding
from bellhousing.road.one_car.drift import Seen, drift
from bellhousing.tasks.answers import CarAnswer, Shape
from bellhousing.tasks.fit_shapes import FitAnswer
from bellhousing.tasks.job_list import ListedJobAnswer, listed
from bellhousing.tasks.opening import car_answer
from bellhousing.tasks.photos import PhotoAnswer, photos_of_job
from bellhousing.tasks.shop import Shop

SIDES = 1.96
MOST_JOBS = 200
MOST_PHOTOS = 24
YEAR = 365.25
LEAST_SPREAD = 1e-9


class PointAnswer(Shape):
    """A value on a day with the ends that hold 95 of 100, and the job it was taken on."""

    day: str
    value: float
    low: float
    high: float
    job: int


class SeriesAnswer(Shape):
    """One reading of a car over the years, in one unit, oldest first; the first is the baseline.

    `low` and `high` are the window it is held against, null where none is known; `drift` says in words what
    the readings say of a drift, `now` where the last one lies.
    """

    id: str
    name: str
    unit: str
    points: tuple[PointAnswer, ...]
    low: float | None
    high: float | None
    source: str
    now: str
    drift: str


class OdometerAnswer(Shape):
    """What the odometer showed on a day [miles]."""

    day: str
    miles: float


class CarHistoryAnswer(Shape):
    """A car with everything kept of it over the years."""

    car: CarAnswer
    jobs: tuple[ListedJobAnswer, ...]
    jobs_in_all: int
    odometer: tuple[OdometerAnswer, ...]
    readings: tuple[SeriesAnswer, ...]
    fits: tuple[SeriesAnswer, ...]
    fit_days: tuple[str, ...]
    photos: tuple[PhotoAnswer, ...]
    problem: str | None = None


def car_history(shop: Shop, slug: str) -> CarHistoryAnswer:
    """Everything kept of one car.

    Raises
    ------
    RecordError : there is no such car.
    """
    car = shop.store.car(slug)
    numbers = shop.store.job_list.of_car(slug)
    kept = shop.store.fits_of(slug)
    readings, problem = _readings(shop, car)
    return CarHistoryAnswer(
        car=car_answer(car),
        jobs=listed(shop, numbers[:MOST_JOBS]),
        jobs_in_all=len(numbers),
        odometer=tuple(
            OdometerAnswer(day=_day(one.at), miles=round(float(from_si(one.distance_m, "mile")), 0))
            for one in car.odometer
        ),
        readings=readings,
        fits=tuple(_fitted(kept)),
        fit_days=tuple(fit.day.isoformat() for fit in kept),
        photos=_photos(shop, numbers),
        problem=problem,
    )


def _photos(shop: Shop, numbers: Iterable[int]) -> tuple[PhotoAnswer, ...]:
    found: list[PhotoAnswer] = []
    for number in list(numbers)[:MOST_JOBS]:
        found += photos_of_job(shop, number)
        if len(found) >= MOST_PHOTOS:
            break
    return tuple(found[:MOST_PHOTOS])


def _readings(shop: Shop, car: Car) -> tuple[tuple[SeriesAnswer, ...], str | None]:
    grouped: dict[str, list[Finding]] = {}
    for entry in shop.store.job_list.readings_of_car(car.slug):
        if entry.finding in shop.catalogue.findings:
            grouped.setdefault(str(entry.finding), []).append(entry)
    if not grouped:
        return (), None
    try:
        prepared = shop.prepared(car)
    except BellhousingError as error:
        return tuple(_series(shop, name, rows, None) for name, rows in grouped.items()), str(error)
    found = []
    for name, rows in grouped.items():
        held = window(prepared, name) if name in prepared.catalogue.findings else None
        found.append(_series(shop, name, rows, held))
    # What was read most often says most about the years.
    return tuple(sorted(found, key=lambda one: (-len(one.points), one.name))), None


def _series(shop: Shop, name: str, rows: list[Finding], held: Window | None) -> SeriesAnswer:
    finding, last = shop.catalogue.findings[name], rows[-1]
    unit = last.unit or finding.unit or ""
    points = tuple(_point(row, unit, finding.half_width) for row in rows)
    low = None if held is None else float(from_si(held.low, unit))
    high = None if held is None else float(from_si(held.high, unit))
    now = ""
    if held is not None and last.value_si is not None:
        now = verdict(held, last.value_si, last.standard_uncertainty or 0.0).text
    return SeriesAnswer(
        id=name,
        name=finding.name,
        unit=unit,
        points=points,
        low=low,
        high=high,
        source="" if held is None else held.source,
        now=now,
        drift=_drift(points, unit, low, high),
    )


def _point(row: Finding, unit: str, half_width: float) -> PointAnswer:
    assert row.value_si is not None
    spread = row.standard_uncertainty if row.standard_uncertainty is not None else half_width / SIDES
    value, low, high = (float(from_si(row.value_si + side * SIDES * spread, unit)) for side in (0, -1, 1))
    return PointAnswer(day=_day(row.at), value=value, low=low, high=high, job=row.job)


def _drift(points: tuple[PointAnswer, ...], unit: str, low: float | None, high: float | None) -> str:
    """What the readings say of a drift against their window; a straight line needs a few dates."""
    if len({point.day for point in points}) < 2:
        return ""
    first = points[0].value
    change = points[-1].value - first
    way, size = ("up" if change > 0 else "down"), f"{abs(change):.3g} {unit}".strip()
    said = f"{way} {size} since the first" if abs(change) > LEAST_SPREAD else "as at the first"
    if low is None or high is None or not math.isfinite(low + high):
        return said
    seen = [
        Seen(_year(point.day), point.value, max((point.high - point.low) / (2 * SIDES), LEAST_SPREAD))
        for point in points
    ]
    return f"{said}; {drift(seen, (low, high)).text}"


def _year(day: str) -> float:
    moment = datetime.fromisoformat(day)
    return moment.year + (moment.timetuple().tm_yday - 1) / YEAR


def _fitted(kept: Iterable[KeptFit]) -> Iterable[SeriesAnswer]:
    """The parameters that the fits of a car tell, each over its fits."""
    points: dict[str, list[PointAnswer]] = {}
    last = {}
    for fit in kept:
        try:
            told = FitAnswer.model_validate_json(_as_json(fit))
        except ValueError:
            continue
        for one in told.parameters:
            if one.told:
                last[one.id] = one
                point = PointAnswer(day=told.date, value=one.value, low=one.low, high=one.high, job=fit.job)
                points.setdefault(one.id, []).append(point)
    for name, one in last.items():
        yield SeriesAnswer(
            id=name,
            name=one.name,
            unit=one.unit,
            points=tuple(points[name]),
            low=one.window[0],
            high=one.window[1],
            source="sound units",
            now=f"{in_100(one.inside)} inside",
            drift="" if one.drift is None else one.drift.text,
        )


def _as_json(fit: KeptFit) -> str:
    return json.dumps(dict(fit.data))


def _day(moment: datetime) -> str:
    return moment.astimezone().date().isoformat()
