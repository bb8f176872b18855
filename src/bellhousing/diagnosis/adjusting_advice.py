"""Whether to adjust at all: what must be known first, what speaks against it, and how far to go if not."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from bellhousing.diagnosis.adjusting import (
    LINES,
    RATE_OPEN,
    Bench,
    Rate,
    Setting,
    Step,
    bench,
    rate_of,
    set_right,
)
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.likelihood import reading_uncertainty
from bellhousing.diagnosis.posterior import SOUND, Cause, Diagnosis, diagnose
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.diagnosis.windows import verdict, window
from bellhousing.road.adjusters import Adjuster, adjuster_of

Believe = Callable[[Sequence[Evidence]], Diagnosis]
State = Literal[
    "no-adjustment", "other-cause", "measure", "one-step", "on-map", "adjust", "at-floor", "not-to-soften"
]

SPEAKS_AGAINST = 0.2
"""Probability from which another cause must be cleared up before anything is adjusted; common practice."""

TOLD = 0.5
"""Spread (natural log) of the rate from which it is not known well enough to turn by; common practice."""

TOUCHES = (
    "upshift-",
    "line-",
    "shift-feel-",
    "slip-",
    "coast-down-",
    "governor-",
    "modulator-",
    "manifold-",
    "kickdown",
    "engagement-",
    "tv-",
)
"""Findings by which a cause counts as one that an adjustment would only hide."""

HARSH = ("harsh", "bang", "clunk")
VACUUM = "modulator-vacuum-idle"


@dataclass(frozen=True)
class Against:
    """A cause that speaks against adjusting, and the evidence (its index) that speaks for it most."""

    cause: Cause
    evidence: int | None


@dataclass(frozen=True)
class Advice:
    """What to do with the adjustment.

    `state` is adjust, or why not: there is none, another cause comes first, something must be measured first,
    the rate must be learnt by one step first, the car is on its map, the line is at its floor, or it would
    only soften a change. `measure` names the findings to take, `floor` the line reading at its floor,
    `chance` is the probability that the setting is wrong, `steps` are those of the given ones that count.
    """

    state: State
    adjuster: Adjuster
    chance: float
    against: tuple[Against, ...] = ()
    measure: tuple[str, ...] = ()
    setting: Setting | None = None
    floor: str | None = None
    rate_source: Literal["box", "learnt", "unknown"] = "unknown"
    steps: tuple[Step, ...] = ()


def advise(
    prepared: Prepared,
    evidence: Sequence[Evidence],
    steps: Sequence[Step] = (),
    *,
    table: Bench | None = None,
    believe: Believe | None = None,
) -> Advice:
    """Advice on the adjustment after everything found, `steps` being those already made in between.

    `table` is a `bench` of the same prepared model that an earlier call may have left, `believe` gives the
    diagnosis with its reasons after some evidence where it may be at hand.

    Raises
    ------
    FindingError : an impossible finding, or one about a part this box does not have.
    """
    adjuster = adjuster_of(prepared.box)
    if adjuster.parts & prepared.box.missing_parts:
        return Advice("no-adjustment", adjuster, 0.0)
    table = bench(prepared) if table is None else table
    kept = _counting(table, evidence, steps)
    first = kept[0].after if kept else len(evidence)
    before = list(evidence[:first])
    causes = (believe(before) if believe else diagnose(prepared, before, reasons=False)).causes
    if believe is None and _against(prepared, causes, adjuster):
        causes = diagnose(prepared, before).causes  # weighed again without each finding, to say which speaks
    chance = next((cause.probability for cause in causes if cause.id == adjuster.fault), 0.0)
    advice = Advice("other-cause", adjuster, float(chance), steps=kept)
    against = _against(prepared, causes, adjuster)
    if against:
        return replace(advice, against=against)
    measure = _to_measure(table, before)
    if measure:
        return replace(advice, state="measure", measure=measure)
    weighed = table.weighed(before)
    later = [
        (sum(step.after <= place for step in kept), entry)
        for place, entry in enumerate(evidence)
        if place >= first
    ]
    rate, own = rate_of(prepared)
    # Where nobody gives a rate, one turn finds it.
    open_rate = Rate(1.0, 1.0, RATE_OPEN) if rate is None else rate
    setting = set_right(weighed, open_rate, kept, later, before)
    return _judged(replace(advice, setting=setting), weighed, evidence, own=own)


def _judged(advice: Advice, table: Bench, evidence: Sequence[Evidence], *, own: bool) -> Advice:
    setting = advice.setting
    assert setting is not None
    known = own or (bool(advice.steps) and setting.rate.spread < TOLD)
    source: Literal["box", "learnt", "unknown"]
    source = "learnt" if advice.steps and known else "box" if own else "unknown"
    advice = replace(advice, rate_source=source, floor=setting.limited)
    harsh = any(state in HARSH for entry in evidence for state in entry.states)
    down = setting.needed.middle < 0.0
    if setting.needed.low <= 0.0 <= setting.needed.high or setting.amount == 0.0 == setting.needed.middle:
        return replace(advice, state="not-to-soften" if harsh and down else "on-map")
    if down and not _above(table, evidence):
        return replace(advice, state="not-to-soften" if harsh else "on-map")
    if setting.amount == 0.0:
        return replace(advice, state="on-map" if setting.limited is None else "at-floor")
    return replace(advice, state="adjust" if known else "one-step")


def _counting(table: Bench, evidence: Sequence[Evidence], steps: Sequence[Step]) -> tuple[Step, ...]:
    """The steps before which something was measured that they move; earlier ones are the car as found."""
    return tuple(
        step
        for step in steps
        if any(e.value is not None and e.finding in table.moving for e in evidence[: step.after])
    )


def _against(prepared: Prepared, causes: Sequence[Cause], adjuster: Adjuster) -> tuple[Against, ...]:
    found = []
    for cause in causes:
        if cause.id in (SOUND, adjuster.fault) or cause.probability < SPEAKS_AGAINST:
            continue
        place = prepared.faults.index(cause.id)
        if any(bears[place] for name, bears in prepared.bears.items() if name.startswith(TOUCHES)):
            speaking = max(cause.why, key=lambda influence: influence.factor, default=None)
            told = None if speaking is None or speaking.factor <= 1.0 else speaking.evidence
            found.append(Against(cause, told))
    return tuple(found)


def _to_measure(table: Bench, evidence: Sequence[Evidence]) -> tuple[str, ...]:
    """Readings to take before anything can be said: one the adjustment moves, a pressure, and the vacuum."""
    read = {entry.finding for entry in evidence if entry.value is not None}
    changes = [name for name in table.mapped if name.startswith("upshift-")]
    pressures = [name for name in table.mapped if not name.startswith("upshift-")]
    wanted: list[str] = []
    if table.adjuster.thing == "screw" and VACUUM not in read and VACUUM in table.readings:
        wanted.append(VACUUM)
    if pressures and not read & {*pressures, *LINES}:
        wanted.append(pressures[0])
    if not read & set(table.mapped):
        wanted += [name for name in (*pressures[:1], *changes[:1]) if name not in wanted]
    return tuple(wanted)


def _above(table: Bench, evidence: Sequence[Evidence]) -> bool:
    """Whether any reading that the adjustment moves lies above its window: only then may it go out."""
    prepared = table.prepared
    for entry in evidence:
        band = window(prepared, entry.finding) if entry.finding in table.moving else None
        if band is None:
            continue
        finding = prepared.catalogue.finding(entry.finding)
        if entry.word is not None and finding.words.get(entry.word) in ("above", "never"):
            return True
        if entry.value is not None:
            told = verdict(band, entry.value, reading_uncertainty(finding, entry))
            if entry.value > band.high and told.inside < 0.5:
                return True
    return False
