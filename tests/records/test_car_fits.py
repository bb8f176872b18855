"""Fits of a car: kept once, the newest of a job counts, never changed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from bellhousing.errors import RecordError
from bellhousing.records.car_fits import KeptFit
from bellhousing.records.entries import Car
from bellhousing.records.store import Store
from bellhousing.records.upgrading import writing


def of(moment: datetime, value: float, **more: object) -> KeptFit:
    """A fit of job 1."""
    made = KeptFit(
        car="grey-saloon",
        job=1,
        day=date(2026, 5, 1),
        at=moment,
        who="shop",
        box="box-a",
        data={"level": value},
    )
    return replace(made, **more)  # type: ignore[arg-type]


def test_it_is_kept_once_and_the_newest_of_a_job_counts(store: Store, at: datetime) -> None:
    """Said again it is the one that is there; another figure is a newer fit; fits stand in order of day."""
    first = store.keep_fit(of(at, 1.0))
    assert store.keep_fit(of(at, 1.0)) == first
    assert store.fits_of("grey-saloon") == (first,)
    second = store.keep_fit(of(at, 0.97))
    assert store.fits_of("grey-saloon") == (second,)
    store.open_job("grey-saloon", complaint="again", at=at, who="m")
    earlier = store.keep_fit(of(at, 1.02, job=2, day=date(2020, 5, 1)))
    assert store.fits_of("grey-saloon") == (earlier, second)
    assert store.fits_of("another") == ()


def test_what_cannot_be_kept_is_refused(store: Store, at: datetime) -> None:
    """A job that is not there or of another car, figures that are none, a moment without its zone."""
    store.add_car(Car(slug="other", name="Other", box="box-a"))
    for wrong, said in (
        ({"job": 9}, "no job 9"),
        ({"car": "other"}, "of another car"),
        ({"data": {"level": float("nan")}}, "data"),
        ({"at": at.replace(tzinfo=None)}, "no time zone"),
    ):
        with pytest.raises(RecordError, match=said):
            store.keep_fit(of(at, 1.0, **wrong))
    assert store.fits_of("grey-saloon") == ()


def test_it_is_written_once(store: Store, at: datetime) -> None:
    """Whoever opens the file by other means can neither change nor delete it."""
    store.keep_fit(of(at, 1.0))
    for statement in ("UPDATE car_fits SET box = 'x'", "DELETE FROM car_fits"):
        with writing(store.engine) as other, pytest.raises(IntegrityError, match="written once"):
            other.execute(text(statement))
