"""Noting what was found: understood findings are checked and kept, everything else is kept as a note."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from bellhousing.boxes.box import Box
from bellhousing.diagnosis.evidence import Evidence, check_evidence
from bellhousing.diagnosis.usual import load_usual
from bellhousing.errors import FindingError, RecordError
from bellhousing.quantities.units import unit
from bellhousing.records.conditions import KEPT, NOT_KNOWN, Conditions
from bellhousing.records.entries import CLOSED, Entry, Finding
from bellhousing.tasks import interview as questions_of
from bellhousing.tasks.answers import FindingAnswer, NoteAnswer, QuestionAnswer
from bellhousing.tasks.hearing import (
    NOT_UNDERSTOOD,
    OWNER,
    Heard,
    hear,
    need_letters,
    readings_of,
    told_by_owner,
    usable,
)
from bellhousing.tasks.shipped import parsed_once
from bellhousing.tasks.shop import UNNAMED, Shop
from bellhousing.tasks.taken import conditions_shown, taken
from bellhousing.tasks.tries import remarked

WHO = UNNAMED
REASON = "note"
WHOLE = "text"
ASSUMED = "assumed"


def note(shop: Shop, job: int, text: str, *, who: str = WHO, key: str | None = None) -> NoteAnswer:
    """Keep what one line says: each finding understood, and as a note whatever is not or cannot be.

    `key` makes sending the same line twice keep it once.

    Raises
    ------
    FindingError : an empty line, or one too long.
    RecordError : no such job, or a closed one.
    """
    heard = _hear(shop, job, text)
    return _keep(shop, job, text, heard, who=who, key=key)


def note_where(
    shop: Shop,
    job: int,
    text: str,
    wanted: Callable[[NoteAnswer], bool],
    *,
    who: str = WHO,
    key: str | None = None,
) -> NoteAnswer | None:
    """Keep what one line says where what is understood of it is wanted, else nothing; raises as `note`."""
    heard = _hear(shop, job, text)
    return _keep(shop, job, text, heard, who=who, key=key) if wanted(_heard_answer(job, heard)) else None


def note_complaint(shop: Shop, job: int, complaint: str, *, key: str | None = None) -> NoteAnswer:
    """Keep what the owner's own words say as findings of a weaker witness; each can be withdrawn.

    Where nothing of them is understood nothing is kept: they stand on the job as they were written.

    Raises
    ------
    BoxFileError : the box of the car cannot be used.
    """
    heard = tuple(told_by_owner(entry, shop.catalogue) for entry in _hear(shop, job, complaint))
    if all(entry.not_understood for entry in heard):
        problem = "nothing of the complaint was understood as a finding; it stands as it was written"
        return NoteAnswer(job=job, findings=(), problems=(problem,))
    return _keep(shop, job, complaint, heard, who=OWNER, key=None if key is None else f"{key}/complaint")


def preview(shop: Shop, job: int, text: str) -> NoteAnswer:
    """What would be understood of one line, with nothing kept."""
    return _heard_answer(job, _hear(shop, job, text))


def _heard_answer(job: int, heard: Sequence[Heard]) -> NoteAnswer:
    return NoteAnswer(
        job=job, findings=tuple(entry.answer for entry in heard), problems=tuple(_problems(heard))
    )


def correct(
    shop: Shop, job: int, number: int, text: str, *, who: str = WHO, key: str | None = None
) -> NoteAnswer:
    """Put what one line says in place of an entry; the old entry stays in the book.

    Raises
    ------
    FindingError : an empty line.
    RecordError : a closed job, no such entry on it, or one that was corrected or withdrawn before.
    """
    old = _of_job(shop, job, number)
    heard = _as_the_same_try(_hear(shop, job, text, number), old)
    return _keep(shop, job, text, heard, who=who, key=key, instead_of=number)


def withdraw(
    shop: Shop, job: int, number: int, reason: str, *, who: str = WHO, key: str | None = None
) -> NoteAnswer:
    """Take an entry back; it stays in the book but counts no more. Sent twice with one key, it is done once.

    Raises
    ------
    FindingError : no reason.
    RecordError : a closed job, no such entry on it, or one that was corrected or withdrawn before.
    """
    entry = _of_job(shop, job, number)
    need_letters(reason)
    if not reason.strip():
        raise FindingError(
            f"why entry {number} is taken back is not said",
            remedy="say why, for example 'misread the gauge'; the reason stays in the book beside the entry",
        )
    need_open(shop, job)
    withdrawn = from_record(shop, entry).answer
    shop.store.withdraw_finding(number, at=shop.clock(), who=shop.signed(who), reason=reason.strip(), key=key)
    return NoteAnswer(job=job, findings=(), withdrawn=withdrawn)


def take_instead(
    shop: Shop,
    job: int,
    number: int,
    finding: str,
    *,
    states: Sequence[str] = (),
    word: str | None = None,
    who: str = WHO,
    key: str | None = None,
) -> NoteAnswer:
    """Take an entry's words for another finding or state: one of the alternatives that were offered.

    Raises
    ------
    FindingError : a finding or state that cannot be, or a figure of another kind.
    RecordError : a closed job, no such entry on it, or one that was corrected or withdrawn before.
    """
    old = _of_job(shop, job, number)
    meant = shop.catalogue.finding(finding)
    reading = meant.kind == "reading" or meant.thresholds is not None
    figure = old.value_si if reading and not states and word is None else None
    if figure is not None and unit(old.unit or "").dimension != unit(_unit_of(shop, finding)).dimension:
        raise FindingError(
            f"a figure in {old.unit or 'no unit'} does not fit",
            where=meant.name,
            remedy=f"give it in {meant.unit}",
        )
    evidence = Evidence(finding, tuple(states), word, figure, old.standard_uncertainty if figure else None)
    _check(shop, evidence, _box(shop, job))
    held = NOT_KNOWN
    if figure is not None:
        said = {name: text for name, text in old.conditions.items() if isinstance(text, str)}
        before = readings_of(_before(shop, job, number), shop.catalogue)
        held = taken(meant, said, load_usual(parsed_once), before)
    unit_said = old.unit if figure else None
    heard = usable(said=old.said, finding=meant, evidence=evidence, unit=unit_said, held=held)
    return _keep(shop, job, old.said, (heard,), who=who, key=key, instead_of=number)


def interview(shop: Shop, job: int) -> tuple[QuestionAnswer, ...]:
    """The questions about the complaint, with the answers given so far."""
    given = {
        entry.finding: entry.states[0]
        for entry in shop.store.current_findings(job)
        if entry.finding is not None and entry.finding in questions_of.QUESTIONS and len(entry.states) == 1
    }
    return questions_of.questions(shop.catalogue, given)


def answer_question(
    shop: Shop, job: int, finding: str, answer: str, *, who: str = WHO, key: str | None = None
) -> NoteAnswer:
    """Answer one question of the interview; a second answer corrects the first.

    Raises
    ------
    FindingError : a question or an answer there is not, or a part this box does not have.
    RecordError : no such job, or a closed one.
    """
    questions_of.check_answer(shop.catalogue, finding, answer)
    asked = shop.catalogue.finding(finding)
    evidence = Evidence(finding, (answer,))
    _check(shop, evidence, _box(shop, job))
    said = f"{questions_of.QUESTIONS[finding]} {asked.state_names.get(answer, answer.replace('-', ' '))}"
    heard = usable(said=said, finding=asked, evidence=evidence, unit=None)
    before = [entry for entry in shop.store.current_findings(job) if entry.finding == finding]
    if before and before[-1].states == (answer,):
        return NoteAnswer(job=job, findings=(from_record(shop, before[-1]).answer,))
    instead_of = before[-1].id if before else None
    return _keep(shop, job, said, (heard,), who=who, key=key, instead_of=instead_of)


def heard_on_job(shop: Shop, job: int) -> tuple[Heard, ...]:
    """Everything that stands on a job, in the order noted."""
    box = _box(shop, job)
    return tuple(from_record(shop, entry, box) for entry in shop.store.current_findings(job))


def from_record(shop: Shop, entry: Finding, box: Box | None = None) -> Heard:
    """A kept entry as it was heard.

    One that can no longer be used (the box of the car was changed, a finding left the catalogue) is shown
    as a note that says why.
    """
    kept = str(entry.conditions.get(REASON, NOT_UNDERSTOOD))
    at = entry.at.isoformat(timespec="seconds")
    if entry.finding is not None:
        try:
            finding = shop.catalogue.finding(entry.finding)
            evidence = Evidence(
                finding.id, entry.states, entry.word, entry.value_si, entry.standard_uncertainty
            )
            _check(shop, evidence, box or _box(shop, entry.job))
        except FindingError as error:
            kept = str(error)
        else:
            assumed = entry.conditions.get(ASSUMED, ())
            heard = usable(
                said=entry.said,
                finding=finding,
                evidence=evidence,
                unit=entry.unit,
                assumed=tuple(str(text) for text in assumed),
                number=entry.id,
                held=Conditions.of(entry.conditions),
            )
            heard = replace(heard, answer=heard.answer.model_copy(update={"at": at}))
            return told_by_owner(heard, shop.catalogue) if entry.who == OWNER else heard
    answer = FindingAnswer(
        said=entry.said,
        finding=None,
        value=None,
        unit=None,
        understood=None,
        note=kept,
        number=entry.id,
        at=at,
        source=OWNER if entry.who == OWNER else "shop",
    )
    return Heard(answer)


def _hear(shop: Shop, job: int, text: str, instead_of: int | None = None) -> tuple[Heard, ...]:
    return hear(text, shop.listener, _box(shop, job), _before(shop, job, instead_of))


def _before(shop: Shop, job: int, number: int | None) -> tuple[Heard, ...]:
    """What stands on a job, up to an entry that is to be replaced."""
    heard = heard_on_job(shop, job)
    place = next((at for at, entry in enumerate(heard) if entry.answer.number == number), len(heard))
    return heard[:place]


def _as_the_same_try(heard: tuple[Heard, ...], old: Finding) -> tuple[Heard, ...]:
    """A correction stays the try it corrects, unless it says another."""
    number = Conditions.of(old.conditions).try_number
    first = heard[0]
    if number is None or first.evidence is None or first.evidence.finding != old.finding:
        return heard
    if first.held.try_number is not None and first.held.try_number.source == "said":
        return heard
    held = replace(first.held, try_number=number)
    answer = first.answer.model_copy(update={"conditions": conditions_shown(held)})
    return (replace(first, held=held, answer=answer), *heard[1:])


def _check(shop: Shop, evidence: Evidence, box: Box) -> None:
    check_evidence(evidence, shop.listener.catalogues[box.kind], box)


def _box(shop: Shop, job: int) -> Box:
    return shop.box(shop.store.car(shop.store.job(job).car).box)


def _unit_of(shop: Shop, finding: str) -> str:
    meant = shop.catalogue.finding(finding)
    return meant.unit or ("" if meant.thresholds is None else meant.thresholds.unit)


def _of_job(shop: Shop, job: int, number: int) -> Finding:
    entry = shop.store.finding(number)
    if entry.job != job:
        raise RecordError(f"entry {number} is not of job {job}", remedy=f"it is of job {entry.job}")
    return entry


def need_open(shop: Shop, job: int) -> None:
    """RecordError where a job is closed."""
    if shop.store.job(job).status == CLOSED:
        raise RecordError(
            f"job {job} is closed",
            remedy=f"open it again first (bellhousing job reopen {job}), or open a new job for a new visit",
        )


def _keep(
    shop: Shop,
    job: int,
    text: str,
    heard: Sequence[Heard],
    *,
    who: str,
    key: str | None,
    instead_of: int | None = None,
) -> NoteAnswer:
    need_open(shop, job)
    at, who = shop.clock(), shop.signed(who)
    kept = []
    for place, item in enumerate(heard):
        entry = _entry(item, text)
        part_key = None if key is None else f"{key}/{place}"
        if place == 0 and instead_of is not None:
            record = shop.store.correct_finding(instead_of, entry, at=at, who=who, key=part_key)
        else:
            record = shop.store.add_finding(job, entry, at=at, who=who, key=part_key)
        kept.append(item.answer.model_copy(update={"number": record.id, "at": record.at.isoformat()}))
    told = {entry.number: entry for entry in remarked(heard_on_job(shop, job), shop.catalogue)}
    return NoteAnswer(
        job=job,
        findings=tuple(_beside_others(entry, told.get(entry.number)) for entry in kept),
        problems=tuple(_problems(heard)),
    )


def _beside_others(entry: FindingAnswer, told: FindingAnswer | None) -> FindingAnswer:
    """What was just kept, with what became of it beside others of the same thing."""
    if told is None or entry.finding is None:
        return entry
    return entry.model_copy(
        update={"counts": told.counts, "remark": told.remark, "conditions": told.conditions}
    )


def _problems(heard: Sequence[Heard]) -> list[str]:
    return [f"kept as a note, {item.refusal}" for item in heard if item.refusal is not None]


def _entry(heard: Heard, text: str) -> Entry:
    conditions: dict[str, Any] = dict(_plain(heard.conditions))
    plain = heard.held.plain()
    if plain:
        conditions[KEPT] = plain
    if heard.answer.said != text:
        conditions[WHOLE] = text
    if heard.answer.assumed:
        conditions[ASSUMED] = list(heard.answer.assumed)
    evidence = heard.evidence
    if evidence is None:
        conditions[REASON] = heard.answer.note or NOT_UNDERSTOOD
        return Entry(said=heard.answer.said, conditions=conditions)
    return Entry(
        said=heard.answer.said,
        finding=evidence.finding,
        states=evidence.states,
        word=evidence.word,
        value_si=evidence.value,
        unit=heard.answer.unit,
        standard_uncertainty=evidence.standard_uncertainty,
        unit_assumed=heard.unit_assumed,
        conditions=conditions,
    )


def _plain(conditions: Mapping[str, Any]) -> Mapping[str, Any]:
    return {str(name): str(value) for name, value in conditions.items()}
