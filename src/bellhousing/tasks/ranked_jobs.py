"""Causes, next test, sheet and shift map of a job; each verdict is kept with what it came from."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.metadata import version

from bellhousing.records.entries import Car, Conclusion
from bellhousing.tasks import noting, opening
from bellhousing.tasks.answers import Answer, NextAnswer, Sheet, ShiftMapAnswer
from bellhousing.tasks.bench_evidence import heard_on_job
from bellhousing.tasks.findings_file import assumed_of_car
from bellhousing.tasks.hearing import Heard
from bellhousing.tasks.ranking import rank
from bellhousing.tasks.shift_maps import shift_map
from bellhousing.tasks.shop import Shop

KEPT_CAUSES = 20


def causes_of_job(shop: Shop, job: int) -> Answer:
    """The causes of a job in order and what to look at next; the verdict is kept.

    Raises
    ------
    RecordError : no such job.
    BoxFileError : the box of the car cannot be used.
    """
    car = _car(shop, job)
    heard = heard_on_job(shop, job)
    prepared = shop.prepared(car)
    answer = rank(prepared, shop.catalogue, heard, assumed=_assumed(car))
    _keep_verdict(shop, job, heard, answer, prepared.catalogue.digest)
    return answer


def next_of_job(shop: Shop, job: int) -> NextAnswer:
    """What to look at next on a job; raises as `causes_of_job`."""
    answer = causes_of_job(shop, job)
    return NextAnswer(next=answer.next, forbidden=answer.forbidden, notes=answer.notes)


def job_sheet(shop: Shop, job: int) -> Sheet:
    """One job on one page; raises as `causes_of_job`."""
    answer = causes_of_job(shop, job)
    return Sheet(job=opening.job(shop, job), interview=noting.interview(shop, job), answer=answer)


def shift_map_of_job(shop: Shop, job: int, fault: str | None = None) -> ShiftMapAnswer:
    """The shift map of a job's box and car against what was driven, for a sound car or one with a fault.

    Raises
    ------
    RecordError : no such job.
    FindingError : no such fault.
    """
    car = _car(shop, job)
    return shift_map(shop.prepared(car), shop.catalogue, heard_on_job(shop, job), fault)


def _car(shop: Shop, job: int) -> Car:
    return shop.store.car(shop.store.job(job).car)


def _assumed(car: Car) -> tuple[str, ...]:
    known = {"axle_ratio": car.axle_ratio, "tyre_radius": car.tyre_radius_m, "altitude": car.altitude_m}
    given = {name: value for name, value in known.items() if value is not None}
    return assumed_of_car(Shop.facts_of(car), given)


def _keep_verdict(
    shop: Shop, job: int, heard: Sequence[Heard], answer: Answer, catalogue_digest: str
) -> None:
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
        catalogue_digest=catalogue_digest,
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
    shop.store.add_verdict(job, conclusion, at=shop.clock())


def _same(kept: Conclusion, new: Conclusion) -> bool:
    return (
        sorted(kept.findings) == sorted(new.findings)
        and (kept.seed, kept.box, kept.box_digest) == (new.seed, new.box, new.box_digest)
        and (kept.catalogue_digest, kept.program_version) == (new.catalogue_digest, new.program_version)
        and list(kept.details.get("assumed", ())) == list(new.details.get("assumed", ()))
    )
