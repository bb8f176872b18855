"""What to do: the plan of a findings file or a job, priced at the shop's rate."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path

from bellhousing.diagnosis.prepare import Prepared
from bellhousing.tasks.file_answers import read_case
from bellhousing.tasks.hearing import Heard
from bellhousing.tasks.money import Rate, read_rate
from bellhousing.tasks.on_job import OnJob, on_job
from bellhousing.tasks.plan_answers import PlanAnswer
from bellhousing.tasks.plan_words import PlanTeller
from bellhousing.tasks.reckoning import Reckoning
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.tries import combined


def plan_of_file(
    path: Path, *, box: str | None = None, rate: str | None = None, today: date | None = None
) -> PlanAnswer:
    """What to do after what a findings file says; `rate` is what an hour costs, as "80/h".

    Raises
    ------
    InputFileError : a malformed file or rate.
    FindingError : nothing at all was understood.
    BoxFileError : a box that does not exist or cannot be used.
    """
    priced = None if rate is None else read_rate(rate)
    case = read_case(path, box)
    day = datetime.now().astimezone().date() if today is None else today
    return plan_of_heard(case.prepared, case.heard, rate=priced, today=day, assumed=case.file.assumed)


def plan_of_job(shop: Shop, job: int, *, rate: str | None = None) -> PlanAnswer:
    """What to do on a job; `rate` is what an hour costs.

    Raises
    ------
    RecordError : no such job.
    InputFileError : a malformed rate.
    BoxFileError : the box of the car cannot be used.
    """
    return plan_on(on_job(shop, job), rate=rate)


def plan_on(now: OnJob, *, rate: str | None = None) -> PlanAnswer:
    """What to do after what stands on a job; raises as `plan_of_job`."""
    priced = None if rate is None else read_rate(rate)
    today = now.shop.clock().astimezone().date()
    return plan_of_heard(now.prepared, now.heard, rate=priced, today=today, reckoning=now.reckoning)


def plan_of_heard(
    prepared: Prepared,
    heard: Sequence[Heard],
    *,
    rate: Rate | None,
    today: date,
    assumed: Sequence[str] = (),
    reckoning: Reckoning | None = None,
) -> PlanAnswer:
    """What to do after some things heard on a car; those only kept as notes take no part in it."""
    taken = combined(heard, prepared.catalogue)
    evidence = tuple(entry.evidence for entry in taken if entry.evidence is not None)
    found = reckoning or Reckoning(prepared, evidence)
    teller = PlanTeller(prepared, found.plan, found.waiting, found.further, found.telling, rate, today)
    return teller.answer(
        notes=tuple(entry.answer.said for entry in heard if entry.evidence is None),
        assumed=tuple(assumed),
        noted=bool(evidence),
    )
