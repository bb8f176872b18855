"""How a reading was taken: as said, or as the last one was, or as is usual for the finding."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import isclose

from bellhousing.diagnosis.catalogue import Finding
from bellhousing.diagnosis.usual import Usual
from bellhousing.errors import BellhousingError
from bellhousing.quantities.parse import parse_measured
from bellhousing.records.conditions import IN_WORDS, NOT_KNOWN, Condition, Conditions
from bellhousing.tasks.answers import ConditionAnswer
from bellhousing.words.told import AGAIN

# What the reader of notes calls a condition, and the unit of its figure.
SAID = {
    "range": ("range", ""),
    "rpm": ("engine_speed", "rpm"),
    "vacuum": ("vacuum", "inHg"),
    "temperature": ("temperature", "degF"),
    "instrument": ("instrument", ""),
}
NAMES = {
    "range": "range",
    "engine_speed": "engine speed",
    "vacuum": "vacuum",
    "temperature": "temperature",
    "instrument": "instrument",
    "try_number": "try",
}
# A box this warm [K], 130 °F, is read as hot and one below as cold: common practice, no source.
HOT_FROM = 327.6
COLD, HOT = "cold", "hot"
# Conditions whose agreement makes a second reading another try of the first.
TELLING = ("instrument", "temperature", "vacuum")

Before = Sequence[tuple[Finding, Conditions]]
"""The readings of a job so far, the last one last."""


def said_of(conditions: Mapping[str, str]) -> Conditions:
    """What a line itself says of how its reading was taken."""
    found: dict[str, Condition] = {}
    for key, (name, unit) in SAID.items():
        if key in conditions:
            found[name] = Condition(conditions[key], "said", _figure(conditions[key], unit))
    number = conditions.get("try")
    if number is not None:
        found["try_number"] = Condition(number, "said", None if number == AGAIN else float(number))
    return Conditions(**found)


def taken(finding: Finding, conditions: Mapping[str, str], usual: Usual, before: Before) -> Conditions:
    """How a reading was taken: said, else what belongs to the finding, else as the last reading was.

    Of the last reading only what can still be so is taken over: no temperature or range other than the
    finding's own, no range or engine speed from another set-up (the road, the lift), no vacuum from another
    engine speed or range, no instrument of another kind. Another try is taken as the one before it.
    """
    said = said_of(conditions)
    last = before[-1][1] if before else NOT_KNOWN
    beside = last if before and before[-1][0].setup == finding.setup else NOT_KNOWN
    own = usual.conditions.get(finding.id, {})
    found: dict[str, Condition | None] = {}
    number = _try(finding, said, before)
    earlier = _earlier(finding, before)
    if number is not None and earlier is not None:
        for name in ("range", "engine_speed", "temperature", "vacuum", "instrument"):
            found[name] = getattr(said, name) or _from_last(getattr(earlier, name))
        return Conditions(**found, try_number=number)
    for name in ("range", "engine_speed"):
        found[name] = getattr(said, name) or _usual(own, name) or _from_last(getattr(beside, name))
    found["temperature"] = said.temperature or _temperature(own.get("temperature"), last.temperature)
    if finding.unit != "inHg":  # a reading of vacuum is not taken at one
        found["vacuum"] = said.vacuum or _vacuum(own, found, beside) or _usual(own, "vacuum")
    found["instrument"] = said.instrument or _instrument(finding, usual, before)
    return Conditions(**found, try_number=number)


def _figure(text: str, unit: str) -> float | None:
    if not unit or not any(letter.isdigit() for letter in text):
        return None
    try:
        return parse_measured(text.lstrip("@ "), usual_unit=unit).value
    except BellhousingError:
        return None


def _usual(own: Mapping[str, str], name: str) -> Condition | None:
    text = own.get(name)
    if text is None:
        return None
    return Condition(text, "usual", _figure(text, "rpm") if name == "engine_speed" else None)


def _from_last(last: Condition | None) -> Condition | None:
    return None if last is None else Condition(last.text, "last", last.value)


def warmth(condition: Condition) -> str | None:
    """Whether a temperature is hot or cold, None where its words say neither."""
    if condition.value is not None:
        return HOT if condition.value >= HOT_FROM else COLD
    return condition.text if condition.text in (HOT, COLD) else None


def _temperature(own: str | None, last: Condition | None) -> Condition | None:
    if last is not None and (own is None or (warmth(last) == own and last.value is not None)):
        return _from_last(last)
    return None if own is None else Condition(own, "usual")


def _vacuum(
    own: Mapping[str, str], found: Mapping[str, Condition | None], last: Conditions
) -> Condition | None:
    """The vacuum of the last reading: it stays only while engine speed, range and hose do."""
    hose = own.get("vacuum")
    if last.vacuum is None or not _same(found["engine_speed"], last.engine_speed):
        return None
    if not _same(found["range"], last.range):
        return None
    off = last.vacuum.text == "hose off" or last.vacuum.value == 0.0
    return None if hose is not None and off != (hose == "hose off") else _from_last(last.vacuum)


def _instrument(finding: Finding, usual: Usual, before: Before) -> Condition | None:
    kind = usual.instrument(finding)
    for earlier, conditions in reversed(before):
        if conditions.instrument is not None and usual.instrument(earlier) == kind:
            if conditions.instrument.text == kind:
                break
            return _from_last(conditions.instrument)
    return None if kind is None else Condition(kind, "usual")


def _earlier(finding: Finding, before: Before) -> Conditions | None:
    return next((held for other, held in reversed(before) if other.id == finding.id), None)


def _try(finding: Finding, said: Conditions, before: Before) -> Condition | None:
    earlier = _earlier(finding, before)
    after = 2 if earlier is None else (earlier.number or 1) + 1
    if said.try_number is not None:
        number = said.try_number.value
        return Condition(f"{after if number is None else number:g}", "said", float(number or after))
    if earlier is not None and _stated_alike(said, earlier):
        return Condition(f"{after}", "last", float(after))
    return None


def _stated_alike(said: Conditions, earlier: Conditions) -> bool:
    """Whether a line states how its reading was taken, and states of it just what was stated before."""
    alike = 0
    for name in TELLING:
        now, then = getattr(said, name), getattr(earlier, name)
        now_said, then_said = _stated(now), _stated(then)
        if now_said != then_said or (now_said and not _same(now, then)):
            return False
        alike += now_said
    return alike > 0


def _stated(condition: Condition | None) -> bool:
    """Whether a condition was said with more than the words that name the finding itself."""
    if condition is None or condition.source == "usual":
        return False
    return condition.value is not None or condition.text not in (HOT, COLD, "hose on", "hose off")


def _same(one: Condition | None, other: Condition | None) -> bool:
    if one is None or other is None:
        return one is other
    if one.value is not None and other.value is not None:
        return isclose(one.value, other.value, rel_tol=1e-6)
    return one.value is other.value and one.text == other.text


def conditions_shown(conditions: Conditions) -> tuple[ConditionAnswer, ...]:
    """The conditions as every door shows them."""
    return tuple(
        ConditionAnswer(
            name=NAMES[name],
            text=condition.text,
            source=condition.source,
            in_words=IN_WORDS[condition.source],
            value=condition.value,
        )
        for name, condition in conditions
    )
