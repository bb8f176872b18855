"""The bench on a job's page: measurements on their limit lines, and the parts chosen when asked for."""

from __future__ import annotations

from dataclasses import dataclass

from bellhousing.errors import BellhousingError
from bellhousing.tasks import fits, measuring
from bellhousing.tasks.fits_shapes import FitsAnswer, MeasuredAnswer
from bellhousing.tasks.shop import Shop
from bellhousing.web.pages import Problem


@dataclass(frozen=True)
class BenchPart:
    """What the page shows of the bench; `fits` is None until it is asked for."""

    measured: tuple[MeasuredAnswer, ...]
    fits: FitsAnswer | None
    problem: Problem | None
    can_fit: bool

    @property
    def numbers(self) -> set[int | None]:
        """Entries shown here, so that they do not stand among the notes as well."""
        return {entry.number for entry in self.measured}


def bench_part(shop: Shop, number: int, *, choose: bool) -> BenchPart:
    """The bench of a job."""
    measured = measuring.measured_on_job(shop, number)
    can_fit = bool(shop.box(shop.store.car(shop.store.job(number).car).box).assemblies)
    if not (choose and can_fit):
        return BenchPart(measured, None, None, can_fit)
    try:
        return BenchPart(measured, fits.fits_of_job(shop, number), None, can_fit)
    except BellhousingError as error:
        return BenchPart(measured, None, Problem.of(error), can_fit)
