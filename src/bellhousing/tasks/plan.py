"""What to do: the plan of a findings file or a job, priced at the shop's rate."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path

import numpy as np

from bellhousing.diagnosis.further_tests import FurtherTests, further_tests
from bellhousing.diagnosis.next_test import next_tests
from bellhousing.diagnosis.outcomes import outcomes
from bellhousing.diagnosis.plan import make_plan
from bellhousing.diagnosis.posterior import diagnose
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.diagnosis.waiting import load_waiting
from bellhousing.diagnosis.works import load_works, works_of
from bellhousing.tasks.bench_evidence import heard_on_job
from bellhousing.tasks.file_answers import read_case
from bellhousing.tasks.hearing import Heard
from bellhousing.tasks.money import Rate, read_rate
from bellhousing.tasks.plan_answers import PlanAnswer
from bellhousing.tasks.plan_words import PlanTeller
from bellhousing.tasks.shipped import parsed_once
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.tries import combined

TELLING = 1e-3
"""Bits below which a test is not asked whether it pays."""


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
    priced = None if rate is None else read_rate(rate)
    prepared = shop.prepared(shop.store.car(shop.store.job(job).car))
    today = shop.clock().astimezone().date()
    return plan_of_heard(prepared, heard_on_job(shop, job), rate=priced, today=today)


def plan_of_heard(
    prepared: Prepared,
    heard: Sequence[Heard],
    *,
    rate: Rate | None,
    today: date,
    assumed: Sequence[str] = (),
) -> PlanAnswer:
    """What to do after some things heard on a car; those only kept as notes take no part in it."""
    taken = combined(heard, prepared.catalogue)
    evidence = [entry.evidence for entry in taken if entry.evidence is not None]
    diagnosis = diagnose(prepared, evidence, reasons=False)
    belief = diagnosis.belief
    waiting = load_waiting(parsed_once)
    plan = make_plan(
        works_of(load_works(parsed_once), prepared.box.kind, prepared.faults),
        waiting,
        prepared.faults,
        belief.members,
        belief.weights,
        alone=belief.alone,
        prior=1.0 / (1.0 + np.exp(-prepared.ln_odds)),
    )
    ranked = next_tests(prepared, diagnosis, evidence).ranked if evidence else ()
    tests = {test.finding: test for test in ranked if test.bits > TELLING}
    further = FurtherTests((), 0.0)
    if tests:
        told = outcomes(prepared, diagnosis, evidence, tests)
        further = further_tests(plan, told, {name: test.minutes for name, test in tests.items()})
    teller = PlanTeller(prepared, plan, waiting, further, tests, rate, today)
    return teller.answer(
        notes=tuple(entry.answer.said for entry in heard if entry.evidence is None),
        assumed=tuple(assumed),
        noted=bool(evidence),
    )
