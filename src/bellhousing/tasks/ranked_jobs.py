"""Causes, next test, sheet and shift map of a job; each verdict is kept with what it came from."""

from __future__ import annotations

import logging
from dataclasses import replace
from functools import partial
from importlib.metadata import version

from bellhousing.records.entries import Car, Conclusion
from bellhousing.records.refusals import NotWritten
from bellhousing.tasks import noting, opening
from bellhousing.tasks.answers import Answer, NextAnswer, Sheet, ShiftMapAnswer
from bellhousing.tasks.findings_file import assumed_of_car
from bellhousing.tasks.on_job import OnJob, on_job
from bellhousing.tasks.plan import plan_on
from bellhousing.tasks.plan_answers import PlanAnswer
from bellhousing.tasks.ranking import rank
from bellhousing.tasks.shift_maps import shift_map
from bellhousing.tasks.shop import Shop

LOG = logging.getLogger("bellhousing.verdicts")
KEPT_CAUSES = 20


def causes_of_job(shop: Shop, job: int) -> Answer:
    """The causes of a job in order and what to look at next; the verdict is kept.

    Raises
    ------
    RecordError : no such job.
    BoxFileError : the box of the car cannot be used.
    """
    return causes_on(on_job(shop, job))


def causes_on(now: OnJob) -> Answer:
    """The causes after what stands on a job; the verdict is kept."""
    assumed = _assumed(now.car)
    answer = rank(now.prepared, now.heard, assumed=assumed, reckoning=now.reckoning)
    _keep_verdict(now, answer)
    return answer


def next_of_job(shop: Shop, job: int) -> NextAnswer:
    """What to look at next on a job; raises as `causes_of_job`."""
    answer = causes_of_job(shop, job)
    return NextAnswer(next=answer.next, forbidden=answer.forbidden, notes=answer.notes)


def job_sheet(shop: Shop, job: int) -> Sheet:
    """One job on one page; raises as `causes_of_job`."""
    return sheet_on(on_job(shop, job))


def sheet_on(now: OnJob) -> Sheet:
    """One job on one page, of what stands on it."""
    answer = causes_on(now)
    job, interview = opening.job(now.shop, now.number), noting.interview(now.shop, now.number)
    return Sheet(job=job, interview=interview, answer=answer)


def shift_map_of_job(shop: Shop, job: int, fault: str | None = None) -> ShiftMapAnswer:
    """The shift map of a job's box and car against what was driven, for a sound car or one with a fault.

    Raises
    ------
    RecordError : no such job.
    FindingError : no such fault.
    """
    return shift_map_on(on_job(shop, job), fault)


def shift_map_on(now: OnJob, fault: str | None = None) -> ShiftMapAnswer:
    """The shift map of a job's box and car; raises as `shift_map_of_job`."""
    bands = partial(now.shop.reckonings.bands, now.prepared)
    return shift_map(now.prepared, now.heard, fault, bands=bands)


def _assumed(car: Car) -> tuple[str, ...]:
    known = {"axle_ratio": car.axle_ratio, "tyre_radius": car.tyre_radius_m, "altitude": car.altitude_m}
    given = {name: value for name, value in known.items() if value is not None}
    return assumed_of_car(Shop.facts_of(car), given)


def _keep_verdict(now: OnJob, answer: Answer) -> None:
    shop, job, heard = now.shop, now.number, now.heard
    used = tuple(
        entry.answer.number
        for entry in heard
        if entry.evidence is not None and entry.answer.number is not None
    )
    conclusion = Conclusion(
        findings=used,
        seed=answer.seed,
        box=answer.box,
        box_digest=answer.box_digest,
        catalogue_digest=now.prepared.catalogue.digest,
        program_version=version("bellhousing"),
        causes=tuple(
            {
                "cause": cause.cause,
                "name": cause.name,
                "probability": cause.probability,
                "error": cause.error,
            }
            for cause in answer.causes[:KEPT_CAUSES]
        ),
        neglected=min(1.0, max(0.0, answer.neglected)),
        details={"assumed": list(answer.assumed)},
    )
    before = shop.store.verdicts(job)
    if before and _same(before[-1], conclusion):
        return
    told = {**conclusion.details, "next": _next(answer, plan_on(now))}
    try:
        shop.store.add_verdict(job, replace(conclusion, details=told), at=shop.clock())
    except NotWritten as error:
        # A disk that is full keeps nobody from reading; the verdict is worked out again the next time.
        LOG.warning("a verdict was not kept: %s", error, extra={"fields": {"why": error.what}})


def _next(answer: Answer, plan: PlanAnswer) -> dict[str, str]:
    """What is next on a job, as lists tell it without working it out again."""
    first = answer.next[0] if answer.next else None
    kept = {
        "decision": plan.decision,
        "what": "nothing",
        "text": "Nothing more to look at that may be done now",
    }
    if plan.decision in ("in-car", "box-out"):
        return {**kept, "what": "work", "text": plan.headline}
    if plan.decision == "look-first" and plan.looks:
        return {**kept, "what": "look", "text": plan.looks[0].ask}
    if first is not None:
        return {**kept, "what": "test", "text": first.ask}
    return kept


def _same(kept: Conclusion, new: Conclusion) -> bool:
    return (
        sorted(kept.findings) == sorted(new.findings)
        and (kept.seed, kept.box, kept.box_digest) == (new.seed, new.box, new.box_digest)
        and (kept.catalogue_digest, kept.program_version) == (new.catalogue_digest, new.program_version)
        and list(kept.details.get("assumed", ())) == list(new.details.get("assumed", ()))
    )
