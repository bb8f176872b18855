"""From what was heard to the causes in order and the next test; joins words, diagnosis and windows."""

from __future__ import annotations

from collections.abc import Sequence

from bellhousing.diagnosis.catalogue import Catalogue
from bellhousing.diagnosis.next_test import NextTests
from bellhousing.diagnosis.posterior import Diagnosis
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.diagnosis.windows import verdict, window
from bellhousing.quantities.units import from_si, to_si, unit
from bellhousing.tasks.answers import (
    Answer,
    CauseAnswer,
    ConflictAnswer,
    FindingAnswer,
    ForbiddenAnswer,
    InfluenceAnswer,
    Limit,
    NextTest,
)
from bellhousing.tasks.hearing import Heard, notes_of
from bellhousing.tasks.reckoning import Reckoning
from bellhousing.tasks.tries import combined, remarked


def rank(
    prepared: Prepared,
    heard: Sequence[Heard],
    *,
    assumed: Sequence[str] = (),
    reckoning: Reckoning | None = None,
) -> Answer:
    """The full answer to a list of things heard; those that were only kept as notes take no part in it.

    `reckoning` is what follows from the same things heard, where it is at hand.
    """
    catalogue = prepared.catalogue
    taken = [entry for entry in combined(heard, catalogue) if entry.evidence is not None]
    evidence = tuple(entry.evidence for entry in taken if entry.evidence is not None)
    reckoning = reckoning or Reckoning(prepared, evidence)
    diagnosis = reckoning.diagnosis
    ranked, forbidden = tests_of(reckoning.tests, catalogue)
    return Answer(
        findings=_shown(prepared, heard),
        causes=causes_of(diagnosis, catalogue, [entry.answer for entry in taken]),
        next=ranked,
        forbidden=forbidden,
        not_looked_at=tuple(diagnosis.not_looked_at),
        conflict=_conflict(diagnosis, [entry.answer for entry in taken]),
        notes=notes_of(heard),
        box=prepared.box.slug,
        box_name=prepared.box.name,
        box_digest=prepared.box.digest,
        seed=prepared.seed,
        unexplored=float(diagnosis.unexplored_mass),
        neglected=float(diagnosis.neglected_mass),
        assumed=tuple(assumed),
    )


def _shown(prepared: Prepared, heard: Sequence[Heard]) -> tuple[FindingAnswer, ...]:
    return tuple(
        with_limit(prepared, entry).model_copy(update={"counts": told.counts, "remark": told.remark})
        for entry, told in zip(heard, remarked(heard, prepared.catalogue), strict=True)
    )


def causes_of(
    diagnosis: Diagnosis, catalogue: Catalogue, said: Sequence[FindingAnswer]
) -> tuple[CauseAnswer, ...]:
    """The causes with what each finding did to their odds, strongest influence first."""
    answers = []
    for cause in diagnosis.causes:
        fault = catalogue.faults.get(cause.id)
        why = sorted(cause.why, key=lambda influence: _strength(influence.factor), reverse=True)
        answers.append(
            CauseAnswer(
                cause=cause.id,
                name=cause.name,
                probability=min(1.0, max(0.0, float(cause.probability))),
                error=float(cause.error),
                why=tuple(_influence(said[item.evidence], float(item.factor)) for item in why),
                mechanism="" if fault is None else fault.mechanism,
            )
        )
    return tuple(answers)


def _strength(factor: float) -> float:
    return max(factor, 1.0 / factor) if factor > 0.0 else float("inf")


def _influence(said: FindingAnswer, factor: float) -> InfluenceAnswer:
    return InfluenceAnswer(
        said=said.said,
        finding=said.finding or "",
        name=said.name or "",
        shown=said.shown or "",
        factor=factor,
    )


def tests_of(
    tests: NextTests, catalogue: Catalogue
) -> tuple[tuple[NextTest, ...], tuple[ForbiddenAnswer, ...]]:
    """The ranked and the forbidden tests as answers."""
    ranked = tuple(
        NextTest(
            finding=test.finding,
            ask=test.ask,
            minutes=float(test.minutes),
            bits=float(test.bits),
            bits_per_minute=float(test.bits_per_minute),
            name=catalogue.finding(test.finding).name,
            in_words=test.in_words,
            cautions=tuple(test.cautions),
            first=test.first,
        )
        for test in tests.ranked
    )
    forbidden = tuple(
        ForbiddenAnswer(ask=test.ask, why=test.why, finding=test.finding) for test in tests.forbidden
    )
    return ranked, forbidden


def with_limit(prepared: Prepared, entry: Heard) -> FindingAnswer:
    """What was heard, with the window its reading is held against, in the unit it was entered in."""
    evidence = entry.evidence
    if evidence is None or evidence.value is None or entry.answer.unit is None:
        return entry.answer
    found = _limit(
        prepared, evidence.finding, entry.answer.unit, evidence.value, evidence.standard_uncertainty
    )
    return entry.answer if found is None else entry.answer.model_copy(update={"limit": found})


def with_limit_shown(prepared: Prepared, answer: FindingAnswer) -> FindingAnswer:
    """What was understood of a line that is still being written, with its window."""
    if answer.finding is None or answer.unit is None or not isinstance(answer.value, float | int):
        return answer
    spread = (answer.uncertainty or 0.0) * unit(answer.unit).factor
    found = _limit(prepared, answer.finding, answer.unit, float(to_si(answer.value, answer.unit)), spread)
    return answer if found is None else answer.model_copy(update={"limit": found})


def _limit(
    prepared: Prepared, finding: str, unit_name: str, value: float, uncertainty: float | None
) -> Limit | None:
    """The window of a reading [SI], shown in a unit; None where it has none."""
    held = window(prepared, finding)
    if held is None:
        return None
    said = verdict(held, value, uncertainty or 0.0)
    return Limit(
        low=float(from_si(held.low, unit_name)),
        high=float(from_si(held.high, unit_name)),
        unit=unit_name,
        source=held.source,
        inside=float(said.inside),
        verdict=said.text,
    )


def _conflict(diagnosis: Diagnosis, said: Sequence[FindingAnswer]) -> ConflictAnswer | None:
    conflict = diagnosis.conflict
    if conflict is None:
        return None
    suspect = None if conflict.suspect is None else said[conflict.suspect]
    return ConflictAnswer(
        text=conflict.text,
        suspect=None if suspect is None else suspect.finding,
        said=None if suspect is None else suspect.said,
    )
