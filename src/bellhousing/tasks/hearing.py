"""From a line of text to findings: understood and checked, or kept as a note with the reason."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from bellhousing.boxes.box import Box
from bellhousing.boxes.kinds import FAMILIES
from bellhousing.diagnosis.catalogue import Catalogue, Finding
from bellhousing.diagnosis.evidence import Evidence, check_evidence
from bellhousing.diagnosis.usual import load_usual
from bellhousing.errors import BellhousingError, FindingError
from bellhousing.quantities.letters import can_be_written
from bellhousing.quantities.parse import parse_measured
from bellhousing.quantities.show import show
from bellhousing.quantities.units import from_si
from bellhousing.records.conditions import NOT_KNOWN, Conditions
from bellhousing.tasks.answers import Alternative, FindingAnswer
from bellhousing.tasks.shipped import parsed_once, shipped_vocabulary
from bellhousing.tasks.taken import Before, conditions_shown, said_of, taken
from bellhousing.tasks.why_not import in_another_unit, of_another_kind
from bellhousing.words.loss import read_loss, read_use
from bellhousing.words.model import Alternative as OtherMeaning
from bellhousing.words.model import FindingShape, Understood
from bellhousing.words.told import read_told
from bellhousing.words.turns import read_turn
from bellhousing.words.understand import understand
from bellhousing.words.vocabulary import Vocabulary
from bellhousing.words.wet_places import is_measured_place

LONGEST_TEXT = 4000
NOT_UNDERSTOOD = "not understood"
UNDER_LEAKS = "a wet place or a loss: counted under leaks"
UNDER_ADJUSTING = "an adjustment made: counted under adjusting"
COUNTED_ELSEWHERE = frozenset({UNDER_LEAKS, UNDER_ADJUSTING})
# Where one statement ends and the next begins; a comma inside a figure has no space after it.
STATEMENT_ENDS = re.compile(r"[;\n]+|[.,]\s+|\s+and\s+")
# What is left of "again 64 psi" or "and 66 on the second try" once the try is taken out: a figure alone.
ONLY_A_FIGURE = re.compile(
    r"[\s,:;.(]*(?:and |then |now |got |it |was |gave |read |reads )*"
    r"(?P<figure>\d+(?:[.,]\d+)?\s*[^\s\d,;.]*(?:\s+hg)?)[\s,:;.)]*",
    re.IGNORECASE,
)
OWNER = "owner"
"""Who said what was read from the complaint; all else is the shop's."""

OWNER_WRONG = 0.3
"""Share of what owners tell that says nothing of the car: they name the wrong gear three times in ten.

Common practice, no source.
"""

ONLY_TOLD = "as the owner told it, not looked at yet: counts for less"
# A half-width holds 95 of 100 readings of a normal spread.
HALF_WIDTH_IN_DEVIATIONS = 1.96


@dataclass(frozen=True)
class Heard:
    """One thing said: the evidence it gives (None: only a note), how it is shown, and why it was refused.

    `conditions` are as the line words them, `held` what is kept of how a reading was taken.
    """

    answer: FindingAnswer
    evidence: Evidence | None = None
    refusal: BellhousingError | None = None
    conditions: Mapping[str, Any] = field(default_factory=dict)
    unit_assumed: bool = False
    held: Conditions = NOT_KNOWN
    not_understood: bool = False

    def since(self, moment: datetime) -> bool:
        """Whether it was noted at a moment or later; what was told by itself counts as before."""
        return self.answer.at is not None and datetime.fromisoformat(self.answer.at) >= moment.replace(
            microsecond=0
        )


@dataclass(frozen=True)
class Listener:
    """What it takes to read a note: for each kind of box its part of the catalogue, and the vocabulary."""

    catalogues: Mapping[str, Catalogue]
    shapes: Mapping[str, Mapping[str, FindingShape]]
    vocabulary: Vocabulary

    @classmethod
    def of(cls, catalogue: Catalogue) -> Listener:
        """The listener of a catalogue, with the vocabulary that comes with the program."""
        parts = {kind: catalogue.of_family(kind) for kind in FAMILIES}
        shapes = {
            kind: {name: shape(finding) for name, finding in part.findings.items()}
            for kind, part in parts.items()
        }
        return cls(parts, shapes, shipped_vocabulary())


def shape(finding: Finding) -> FindingShape:
    """A finding as far as the reader of notes needs to know it."""
    return FindingShape(
        id=finding.id,
        name=finding.name,
        kind=finding.kind,
        unit=finding.unit or ("" if finding.thresholds is None else finding.thresholds.unit),
        possible=finding.possible,
        states=finding.states,
        state_names=finding.state_names,
        words=tuple(finding.words),
        part=finding.part,
    )


def hear(text: str, listener: Listener, box: Box, before: Sequence[Heard] = ()) -> tuple[Heard, ...]:
    """Everything one line of text says, in order; what cannot be used is among it as a note.

    Where one statement of a line is refused, the others are still taken. `before` is what was heard on the
    job so far: what a reading does not say of how it was taken is as the last one was.

    Raises
    ------
    FindingError : an empty line, or one too long to be a finding.
    """
    if not text.strip():
        raise FindingError("an empty note", remedy="write what was found, for example 'no fluid in the hose'")
    need_letters(text)
    if len(text) > LONGEST_TEXT:
        raise FindingError(
            "this is too long for one note", remedy=f"at most {LONGEST_TEXT} letters; write several notes"
        )
    if is_measured_place(text):
        lines = [line.strip() for line in re.split(r"[;\n]+", text) if line.strip()]
        return (_counted(text, UNDER_LEAKS),) if len(lines) < 2 else _hear_lines(lines, listener, box, before)
    if read_turn(text) is not None:
        parts = [part.strip() for part in STATEMENT_ENDS.split(text) if part.strip()]
        alone = len(parts) < 2 or sum(read_turn(part) is not None for part in parts) != 1
        return (_counted(text, UNDER_ADJUSTING),) if alone else _hear_lines(parts, listener, box, before)
    repeated = _repeated(text, listener.catalogues[box.kind], before)
    if repeated is not None:
        return (repeated,)
    try:
        reading = understand(text, listener.shapes[box.kind], listener.vocabulary)
    except BellhousingError as error:
        parts = [part for part in STATEMENT_ENDS.split(text) if part.strip()]
        if len(parts) < 2:
            return (_kept(text, error),)
        return _hear_lines(parts, listener, box, before)
    if not reading.found and (read_loss(text) or read_use(text)):
        return (_counted(text, UNDER_LEAKS),)
    heard: list[Heard] = []
    for found in reading.found:
        heard.append(_use(found, listener.catalogues[box.kind], box, [*before, *heard]))
    heard += [_left_over(note.text, listener, box) for note in reading.notes]
    return tuple(heard) or (_left_over(text, listener, box),)


def _hear_lines(
    lines: Sequence[str], listener: Listener, box: Box, before: Sequence[Heard]
) -> tuple[Heard, ...]:
    heard: list[Heard] = []
    for line in lines:
        heard += hear(line.strip(), listener, box, [*before, *heard])
    return tuple(heard)


def readings_of(heard: Sequence[Heard], catalogue: Catalogue) -> Before:
    """The figures among what was heard, each with how it was taken."""
    return [
        (catalogue.finding(entry.evidence.finding), entry.held)
        for entry in heard
        if entry.evidence is not None and entry.evidence.value is not None
    ]


def _repeated(text: str, catalogue: Catalogue, before: Sequence[Heard]) -> Heard | None:
    """Another try of the last reading, of which only the figure is said: "again 64"; None for all else."""
    told = read_told(text)
    figure = ONLY_A_FIGURE.fullmatch(told.text)
    last = next(
        (
            entry
            for entry in reversed(before)
            if entry.evidence is not None and entry.evidence.value is not None
        ),
        None,
    )
    if last is None or last.evidence is None or figure is None:
        return None
    if not any(mark.kind == "try" for mark in told.marks):
        return None
    finding = catalogue.finding(last.evidence.finding)
    try:
        measured = parse_measured(
            figure["figure"].strip(), usual_unit=last.answer.unit or finding.unit, possible=finding.possible
        )
    except BellhousingError as error:
        return _kept(text, error)
    said = {mark.kind: mark.value for mark in told.marks}
    evidence = Evidence(finding.id, value=measured.value, standard_uncertainty=measured.standard_uncertainty)
    return usable(
        said=text.strip(),
        finding=finding,
        evidence=evidence,
        unit=measured.unit,
        assumed=(f"taken as another try of: {finding.name}",),
        conditions=said,
        unit_assumed=measured.unit_assumed,
        held=taken(finding, said, load_usual(parsed_once), readings_of(before, catalogue)),
    )


def _counted(said: str, where: str) -> Heard:
    """What no finding holds but another part reads: a measured wet place, a loss, a turn of the screw."""
    return Heard(FindingAnswer(said=said, finding=None, value=None, unit=None, understood=None, note=where))


def notes_of(heard: Sequence[Heard]) -> tuple[str, ...]:
    """What is kept as a note only: neither a finding nor counted anywhere else."""
    return tuple(
        entry.answer.said
        for entry in heard
        if entry.evidence is None and entry.answer.note not in COUNTED_ELSEWHERE
    )


def need_letters(text: str) -> None:
    """Refuse a text that cannot be written down and read back, such as bytes that are no letters.

    Raises
    ------
    FindingError : it holds such bytes.
    """
    if not can_be_written(text):
        raise FindingError("the text holds bytes that are no letters", remedy="send it as UTF-8")
    if "\x00" in text:
        raise FindingError("the text holds a null character", remedy="take it out")


def _kept(said: str, reason: BellhousingError | None) -> Heard:
    note = NOT_UNDERSTOOD if reason is None else str(reason)
    answer = FindingAnswer(said=said, finding=None, value=None, unit=None, understood=None, note=note)
    refusal = reason or FindingError(
        f"“{said}” was not understood", remedy="say it in other words to have it counted"
    )
    return Heard(answer=answer, refusal=refusal, not_understood=reason is None)


def _left_over(said: str, listener: Listener, box: Box) -> Heard:
    """What was not understood, with the reason where another kind of box or another unit would explain it."""
    kind = box.kind
    reason = of_another_kind(said, box, listener.catalogues, listener.shapes, listener.vocabulary)
    reason = reason or in_another_unit(
        said, listener.catalogues[kind], listener.shapes[kind], listener.vocabulary
    )
    return replace(_kept(said, reason), not_understood=True)


def _use(found: Understood, catalogue: Catalogue, box: Box, before: Sequence[Heard]) -> Heard:
    finding = catalogue.finding(found.finding)
    measured = found.value
    evidence = Evidence(
        finding=finding.id,
        states=found.states,
        word=found.word,
        value=None if measured is None else measured.value,
        standard_uncertainty=None if measured is None else measured.standard_uncertainty,
    )
    try:
        check_evidence(evidence, catalogue, box)
    except BellhousingError as error:
        return _kept(found.said, error)
    return usable(
        said=found.said,
        finding=finding,
        evidence=evidence,
        unit=None if measured is None else measured.unit,
        assumed=found.assumed,
        alternatives=tuple(_alternative(other, catalogue) for other in found.alternatives),
        conditions=found.conditions,
        unit_assumed=measured is not None and measured.unit_assumed,
        held=said_of(found.conditions)
        if measured is None
        else taken(finding, found.conditions, load_usual(parsed_once), readings_of(before, catalogue)),
    )


def usable(
    *,
    said: str,
    finding: Finding,
    evidence: Evidence,
    unit: str | None,
    assumed: tuple[str, ...] = (),
    alternatives: tuple[Alternative, ...] = (),
    conditions: Mapping[str, Any] | None = None,
    unit_assumed: bool = False,
    number: int | None = None,
    held: Conditions = NOT_KNOWN,
) -> Heard:
    """A finding that was understood and may be used, as it is shown and as the inference takes it."""
    unit = unit or finding.unit or ("" if finding.thresholds is None else finding.thresholds.unit)
    spread = evidence.standard_uncertainty
    if evidence.value is not None and spread is None:
        spread = half_width(finding) / HALF_WIDTH_IN_DEVIATIONS
        evidence = Evidence(evidence.finding, evidence.states, evidence.word, evidence.value, spread)
    shown = shown_as(finding, evidence, unit)
    answer = FindingAnswer(
        said=said,
        finding=finding.id,
        value=_value(evidence, unit),
        unit=unit if evidence.value is not None else None,
        understood=f"{finding.name} = {shown}" if evidence.value is not None else f"{finding.name}: {shown}",
        name=finding.name,
        shown=shown,
        uncertainty=None if spread is None else _width_in(spread, unit),
        assumed=assumed,
        alternatives=alternatives,
        number=number,
        sound_share=sound_share(finding, evidence),
        conditions=conditions_shown(held),
    )
    return Heard(
        answer=answer,
        evidence=evidence,
        conditions=conditions or {},
        unit_assumed=unit_assumed,
        held=held,
    )


def told_by_owner(heard: Heard, catalogue: Catalogue) -> Heard:
    """What was heard of the owner: it counts for less, unless it is one of the things only owners tell."""
    answer = heard.answer.model_copy(update={"source": OWNER})
    evidence = heard.evidence
    if evidence is None or catalogue.finding(evidence.finding).stage == "talk":
        return replace(heard, answer=answer)
    if ONLY_TOLD not in answer.assumed:
        answer = answer.model_copy(update={"assumed": (*answer.assumed, ONLY_TOLD)})
    return replace(heard, answer=answer, evidence=replace(evidence, hearsay=OWNER_WRONG))


def half_width(finding: Finding) -> float:
    """Half-width of the finding's usual reading error [SI]."""
    return finding.half_width if finding.thresholds is None else finding.thresholds.half_width


def sound_share(finding: Finding, evidence: Evidence) -> float | None:
    """Share of sound cars that show the states seen, None for readings."""
    if finding.kind != "states" or not evidence.states:
        return None
    unremarkable = 1.0 - sum(finding.background.values())
    return float(
        sum(
            unremarkable if state == finding.states[0] else finding.background.get(state, 0.0)
            for state in evidence.states
        )
    )


def shown_as(finding: Finding, evidence: Evidence, unit: str) -> str:
    """What was found, for people: "62 psi", "a puff of blue smoke", "low"."""
    if evidence.value is not None:
        return show(evidence.value, unit)
    if evidence.word is not None:
        return evidence.word.replace("-", " ")
    return " or ".join(finding.state_names.get(state, state.replace("-", " ")) for state in evidence.states)


def _value(evidence: Evidence, unit: str) -> float | str | None:
    if evidence.value is not None:
        # Ten digits: what was typed comes back as typed, without the noise of the conversion.
        return float(f"{float(from_si(evidence.value, unit)):.10g}")
    return evidence.word or " or ".join(evidence.states) or None


def _width_in(width: float, unit: str) -> float:
    return float(f"{abs(float(from_si(width, unit)) - float(from_si(0.0, unit))):.6g}")


def _alternative(other: OtherMeaning, catalogue: Catalogue) -> Alternative:
    finding = catalogue.finding(other.finding)
    word = other.word.replace("-", " ") if other.word else ""
    states = " or ".join(finding.state_names.get(state, state) for state in other.states)
    meaning = states or word
    return Alternative(
        finding=finding.id,
        name=f"{finding.name}: {meaning}" if meaning else finding.name,
        states=other.states,
        word=other.word,
    )
