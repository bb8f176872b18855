"""Proof and fit on a job's page: worked out when asked for."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from bellhousing.errors import BellhousingError
from bellhousing.tasks.fit_shapes import FitAnswer
from bellhousing.tasks.fitting_car import fit_of_job
from bellhousing.tasks.one_car_sources import Source, source_of_job
from bellhousing.tasks.proving import ProofAnswer, proof, proof_picture
from bellhousing.tasks.shop import Shop
from bellhousing.web.pages import Problem, whole_of


@dataclass(frozen=True)
class ProofPart:
    """What the page shows; everything is None until it is asked for."""

    proof: ProofAnswer | None = None
    picture: Markup | None = None
    fit: FitAnswer | None = None
    fit_problem: Problem | None = None
    problem: Problem | None = None
    before: str = ""


def proof_part(shop: Shop, number: int, *, asked: bool, before: str, unit: str) -> ProofPart:
    """The proof of a job against a sound car, beside an earlier job if one is named, and its fit."""
    if not asked:
        return ProofPart(before=before)
    try:
        after, early = source_of_job(shop, number, "after"), earlier(shop, before)
        answer = proof(early, after)
        drawn = Markup(proof_picture(early, after, unit))
    except BellhousingError as error:
        return ProofPart(problem=Problem.of(error), before=before)
    try:
        return ProofPart(answer, drawn, fit_of_job(shop, number), None, None, before)
    except BellhousingError as error:
        return ProofPart(answer, drawn, None, Problem.of(error), None, before)


def earlier(shop: Shop, before: str) -> Source | None:
    """The drives of an earlier job by its number as typed; None where none is named.

    Raises
    ------
    RecordError : no such job.
    """
    text = before.strip()
    if not text:
        return None
    return source_of_job(shop, whole_of(text) or 0, "before")
