"""Everything that stands on one job and what follows from it, gathered once for all parts of its page."""

from __future__ import annotations

from dataclasses import dataclass

from bellhousing.diagnosis.prepare import Prepared
from bellhousing.records.entries import Car
from bellhousing.tasks.bench_evidence import heard_on_job
from bellhousing.tasks.hearing import Heard
from bellhousing.tasks.reckoning import Reckoning
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.tries import combined


@dataclass(frozen=True)
class OnJob:
    """A job's car with its prepared model, what was heard, and what follows from that."""

    shop: Shop
    number: int
    car: Car
    prepared: Prepared
    heard: tuple[Heard, ...]
    reckoning: Reckoning


def on_job(shop: Shop, job: int) -> OnJob:
    """Gather what stands on a job.

    Raises
    ------
    RecordError : no such job.
    BoxFileError : the box of the car cannot be used.
    """
    car = shop.store.car(shop.store.job(job).car)
    heard = heard_on_job(shop, job)
    prepared = shop.prepared(car)
    taken = combined(heard, prepared.catalogue)
    evidence = [entry.evidence for entry in taken if entry.evidence is not None]
    return OnJob(shop, job, car, prepared, heard, shop.reckonings.after(prepared, evidence))
