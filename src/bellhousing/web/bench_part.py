"""The bench on a job's page: measurements on their limit lines, and the parts chosen when asked for."""

from __future__ import annotations

from dataclasses import dataclass

from bellhousing.errors import BellhousingError
from bellhousing.road.bench import PLATES
from bellhousing.tasks import fits, measuring
from bellhousing.tasks.bench import bench_of_job
from bellhousing.tasks.bench_shapes import BenchAnswer
from bellhousing.tasks.fits_shapes import FitsAnswer, MeasuredAnswer
from bellhousing.tasks.rules import rule_called
from bellhousing.tasks.shop import Shop
from bellhousing.web.pages import Problem


@dataclass(frozen=True)
class BenchPart:
    """What the page shows of the bench; `fits` is None until it is asked for."""

    measured: tuple[MeasuredAnswer, ...]
    fits: FitsAnswer | None
    problem: Problem | None
    can_fit: bool
    road: BenchAnswer | None = None
    rule: str = "sure"

    rules: tuple[tuple[str, str], ...] = (
        ("sure", "proven either way"),
        ("simple", "taken as read"),
        ("guarded", "guard band at each end"),
    )

    @property
    def numbers(self) -> set[int | None]:
        """Entries shown here, so that they do not stand among the notes as well."""
        return {entry.number for entry in self.measured}


def bench_part(shop: Shop, number: int, *, choose: bool, rule: str = "") -> BenchPart:
    """The bench of a job, judged by the rule asked for, the usual one where there is none of that name."""
    try:
        judged_by, problem = rule_called(rule or None), None
    except BellhousingError as error:
        judged_by, problem = rule_called(None), Problem.of(error)
    measured = measuring.measured_on_job(shop, number, rule=judged_by)
    can_fit = bool(shop.box(shop.store.car(shop.store.job(number).car).box).assemblies)
    chosen = None
    if choose and can_fit:
        try:
            chosen = fits.fits_of_job(shop, number, rule=judged_by)
        except BellhousingError as error:
            problem = Problem.of(error)
    looked = measured or any(found.finding in PLATES for found in shop.store.current_findings(number))
    road = _road(shop, number) if looked else None
    return BenchPart(measured, chosen, problem, can_fit, road, judged_by.name)


def _road(shop: Shop, number: int) -> BenchAnswer | None:
    try:
        return bench_of_job(shop, number)
    except BellhousingError:
        return None  # nothing of it changes a car, or the page says already what is wrong with the box
