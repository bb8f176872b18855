"""How far to turn the screw or change the rod of the car of a job or of a findings file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from bellhousing.diagnosis.adjusting import Band, Bench, Outcome, Step, bench
from bellhousing.diagnosis.adjusting_advice import Advice, Against, Believe, advise
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.posterior import Diagnosis
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.tasks.adjust_shapes import (
    AdjustAgainst,
    AdjustAnswer,
    AdjustBand,
    AdjustMeasure,
    AdjustOutcome,
    AdjustRate,
    AdjustStep,
)
from bellhousing.tasks.adjust_text import (
    cautions,
    headline,
    rate_band,
    rate_unit,
    reading,
    reasons,
    told,
    unit_of,
)
from bellhousing.tasks.file_answers import read_case
from bellhousing.tasks.hearing import Heard, notes_of
from bellhousing.tasks.on_job import OnJob, on_job
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.tries import combined
from bellhousing.words.turns import read_turn


def adjusting_of_job(shop: Shop, job: int) -> AdjustAnswer:
    """How far to adjust the car of a job, after everything that stands on it, or why not.

    Raises
    ------
    RecordError : no such job.
    BoxFileError : the box of the car cannot be used.
    """
    return adjusting_on(on_job(shop, job))


def adjusting_on(now: OnJob) -> AdjustAnswer:
    """How far to adjust a car after what stands on its job."""

    def believe(evidence: Sequence[Evidence]) -> Diagnosis:
        return now.shop.reckonings.after(now.prepared, evidence).diagnosis

    return adjusting(now.prepared, now.heard, table=now.shop.bench(now.prepared), believe=believe)


def adjusting_of_file(path: Path, *, box: str | None = None) -> AdjustAnswer:
    """How far to adjust the car of a findings file, or why not; `box` stands in for the file's own.

    Raises
    ------
    InputFileError : a malformed file, a finding that cannot be, naming its line.
    FindingError : nothing at all was understood.
    BoxFileError : a box that does not exist or cannot be used.
    """
    case = read_case(path, box)
    return adjusting(case.prepared, case.heard)


def adjusting(
    prepared: Prepared,
    heard: Sequence[Heard],
    *,
    table: Bench | None = None,
    believe: Believe | None = None,
) -> AdjustAnswer:
    """The advice after things heard in order, the turns made among them."""
    table = bench(prepared) if table is None else table
    heard = combined(heard, prepared.catalogue)
    taken = [entry for entry in heard if entry.evidence is not None]
    evidence = [entry.evidence for entry in taken if entry.evidence is not None]
    steps, said, before = [], [], 0
    for entry in heard:
        if entry.evidence is not None:
            before += 1
            continue
        turned = read_turn(entry.answer.said)
        if turned is not None and turned.thing == table.adjuster.thing:
            steps.append(Step(before, turned.amount))
            said.append(entry.answer.said)
    advice = advise(prepared, evidence, steps, table=table, believe=believe)
    setting = advice.setting
    known = setting is not None and advice.state != "one-step"
    return AdjustAnswer(
        state=advice.state,
        thing=advice.adjuster.thing,
        say=headline(advice),
        why=reasons(prepared, advice),
        unit=unit_of(advice),
        amount=_amount(advice),
        needed=_needed(advice) if known else None,
        rate=_rate(advice) if known else None,
        outcomes=()
        if setting is None
        else tuple(_outcome(prepared, entry, advice.state) for entry in setting.outcomes),
        against=tuple(_against(entry, taken) for entry in advice.against),
        measure=tuple(_measure(prepared, name) for name in advice.measure),
        steps=tuple(
            AdjustStep(said=text, amount=told(advice, step.amount), counts=step in advice.steps)
            for step, text in zip(steps, said, strict=True)
        ),
        chance=min(1.0, max(0.0, advice.chance)),
        cautions=cautions(prepared, advice),
        notes=notes_of(heard),
        box=prepared.box.slug,
        box_name=prepared.box.name,
    )


def _amount(advice: Advice) -> float | None:
    if advice.setting is None:
        return None
    if advice.state == "one-step":
        return 1.0 if advice.setting.amount > 0.0 else -1.0
    return told(advice, advice.setting.amount) if advice.state == "adjust" else 0.0


def _needed(advice: Advice) -> AdjustBand:
    assert advice.setting is not None
    needed = advice.setting.needed
    low, middle, high = (
        float(f"{told(advice, end):.3g}") for end in (needed.low, needed.middle, needed.high)
    )
    return AdjustBand(low=low, middle=middle, high=high)


def _rate(advice: Advice) -> AdjustRate:
    low, middle, high = (float(f"{end:.3g}") for end in rate_band(advice))
    return AdjustRate(low=low, middle=middle, high=high, unit=rate_unit(advice), source=advice.rate_source)


def _outcome(prepared: Prepared, outcome: Outcome, state: str) -> AdjustOutcome:
    """A reading now and after what is advised; where that is to leave it, it stays as it is."""
    finding = prepared.catalogue.finding(outcome.finding)
    unit = finding.unit
    window = outcome.window
    return AdjustOutcome(
        finding=finding.id,
        name=finding.name,
        unit=unit,
        now=_band(outcome.now, unit),
        then=_band({"adjust": outcome.then, "one-step": outcome.best}.get(state, outcome.now), unit),
        window=None if window is None else (reading(window.low, unit), reading(window.high, unit)),
        source=None if window is None else window.source,
    )


def _band(band: Band, unit: str) -> AdjustBand:
    return AdjustBand(
        low=reading(band.low, unit), middle=reading(band.middle, unit), high=reading(band.high, unit)
    )


def _against(entry: Against, taken: Sequence[Heard]) -> AdjustAgainst:
    spoke = None if entry.evidence is None else taken[entry.evidence].answer
    return AdjustAgainst(
        cause=entry.cause.id,
        name=entry.cause.name,
        probability=min(1.0, max(0.0, entry.cause.probability)),
        error=entry.cause.error,
        finding=None if spoke is None else spoke.finding,
        said=None if spoke is None else spoke.said,
    )


def _measure(prepared: Prepared, name: str) -> AdjustMeasure:
    finding = prepared.catalogue.finding(name)
    return AdjustMeasure(finding=name, name=finding.name, ask=finding.ask)
