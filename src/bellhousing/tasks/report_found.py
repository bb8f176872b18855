"""What the owner's report tells of the tests and of the causes they point to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from bellhousing.diagnosis.catalogue import Catalogue
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.quantities.odds import in_100
from bellhousing.reports.odds import factor_in_words
from bellhousing.tasks.answers import Answer, CauseAnswer, FindingAnswer, InfluenceAnswer
from bellhousing.tasks.hearing import Heard
from bellhousing.tasks.ranking import with_limit
from bellhousing.tasks.report_shapes import ReportCause, ReportChange, ReportReading
from bellhousing.tasks.report_units import day, reading
from bellhousing.tasks.tries import combined

# Half the width that holds 95 of 100 readings of a normal spread, in standard deviations.
HALF_WIDTH = 1.96
TALK = "talk"
SOUND = "sound"
POSSIBLE = 0.05
"""A cause less likely than this is not told as possible."""

OUT = 0.02
"""A cause less likely than this may be told as ruled out."""

AGAINST = 0.5
FOR = 1.5
MOST_REASONS = 4
MOST_RULED_OUT = 6
MOST_CAUSES = 4


def readings_of(
    prepared: Prepared, heard: Sequence[Heard], units: str, *, when: bool = False
) -> tuple[ReportReading, ...]:
    """The tests that count, in the order noted; what the owner only told is not one."""
    taken = [entry for entry in combined(heard, prepared.catalogue) if entry.evidence is not None]
    return tuple(
        _reading(with_limit(prepared, entry), units, when=when)
        for entry in taken
        if is_test(entry.answer, prepared.catalogue)
    )


def is_test(entry: FindingAnswer, catalogue: Catalogue) -> bool:
    """Whether something noted was looked at or measured, not only told."""
    if entry.finding is None or entry.source == "owner":
        return False
    return catalogue.finding(entry.finding).setup != TALK


def _reading(entry: FindingAnswer, units: str, *, when: bool) -> ReportReading:
    name = entry.name or entry.said
    noted = day(datetime.fromisoformat(entry.at)) if when and entry.at else ""
    if not isinstance(entry.value, float | int) or entry.unit is None:
        share = entry.sound_share
        verdict = "" if share is None else f"sound cars show this too: {in_100(share)}"
        return ReportReading(
            name=name, value=entry.shown or "", window="", source="", verdict=verdict, when=noted
        )
    limit = entry.limit
    return reading(
        name,
        float(entry.value),
        entry.unit,
        units,
        spread=HALF_WIDTH * (entry.uncertainty or 0.0),
        low=None if limit is None else limit.low,
        high=None if limit is None else limit.high,
        source="" if limit is None else limit.source,
        verdict="" if limit is None else limit.verdict,
        when=noted,
    )


def causes_told(
    answer: Answer, confirmed: Sequence[str], catalogue: Catalogue
) -> tuple[tuple[ReportCause, ...], tuple[ReportCause, ...]]:
    """The causes that were confirmed or are likely, and those that were ruled out, commonest first."""
    by_name = {cause.cause: cause for cause in answer.causes}
    likely = [
        cause
        for cause in answer.causes
        if cause.cause != SOUND and cause.cause not in confirmed and cause.probability >= POSSIBLE
    ]
    told = [_confirmed(name, by_name.get(name), catalogue) for name in confirmed]
    told += [_cause(cause, _speaking(cause, FOR)) for cause in likely[:MOST_CAUSES]]
    out = sorted(
        (
            cause
            for cause in answer.causes
            if cause.cause not in (SOUND, *confirmed)
            and cause.probability < OUT
            and any(item.factor < AGAINST for item in cause.why)
        ),
        key=lambda cause: -_weight(cause.cause, catalogue),
    )
    return tuple(told), tuple(_cause(cause, _speaking(cause, AGAINST)[:2]) for cause in out[:MOST_RULED_OUT])


def _weight(name: str, catalogue: Catalogue) -> float:
    fault = catalogue.faults.get(name)
    return 0.0 if fault is None else fault.weight


def _confirmed(name: str, cause: CauseAnswer | None, catalogue: Catalogue) -> ReportCause:
    fault = catalogue.faults.get(name)
    odds = "" if cause is None else f"the tests alone said {in_100(cause.probability, cause.error)}"
    return ReportCause(
        name=fault.name if fault is not None else "Nothing wrong was found",
        confidence=odds,
        mechanism="" if fault is None else fault.mechanism,
        because=() if cause is None else _speaking(cause, FOR),
        confirmed=True,
    )


def _cause(cause: CauseAnswer, because: tuple[str, ...]) -> ReportCause:
    return ReportCause(
        name=cause.name,
        confidence=in_100(cause.probability, cause.error),
        mechanism=cause.mechanism,
        because=because,
    )


def _speaking(cause: CauseAnswer, least: float) -> tuple[str, ...]:
    """What speaks for a cause at least so much, or against it where `least` is below one."""
    chosen: Iterable[InfluenceAnswer] = (
        item for item in cause.why if (item.factor >= least if least > 1.0 else item.factor < least)
    )
    told = (
        f"{_lower(item.name)}, {item.shown} ({factor_in_words(item.factor).removeprefix('makes it ')})"
        for item in chosen
    )
    return tuple(told)[:MOST_REASONS]


def _lower(text: str) -> str:
    """A name within a sentence; one that begins with a number or capitals keeps its letters."""
    return text[:1].lower() + text[1:] if text[1:2].islower() else text


def changes_between(
    prepared: Prepared, before: Sequence[Heard], after: Sequence[Heard], units: str
) -> tuple[ReportChange, ...]:
    """The same tests before and after the work."""
    first = {
        entry.answer.finding: _reading(with_limit(prepared, entry), units, when=False)
        for entry in combined(before, prepared.catalogue)
        if entry.evidence is not None
    }
    told = []
    for entry in combined(after, prepared.catalogue):
        if entry.evidence is None or entry.answer.finding not in first:
            continue
        new = _reading(with_limit(prepared, entry), units, when=False)
        old = first[entry.answer.finding]
        told.append(
            ReportChange(
                name=new.name, before=old.value, after=new.value, window=new.window, verdict=new.verdict
            )
        )
    return tuple(told)
