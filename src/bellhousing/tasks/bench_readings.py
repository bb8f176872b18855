"""What cars with the measured parts would show, beside what the car showed: reading by reading, in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from bellhousing.boxes.box import Box
from bellhousing.diagnosis.bench_drips import parked_drops
from bellhousing.diagnosis.catalogue import Finding
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.quantities.show import show, show_interval
from bellhousing.quantities.units import from_si
from bellhousing.road.explained import Explained, explained, explained_state
from bellhousing.road.shown import Shown
from bellhousing.tasks.answers import FindingAnswer
from bellhousing.tasks.bench_evidence import OnBench
from bellhousing.tasks.bench_shapes import BenchForetold, BenchReading
from bellhousing.tasks.hearing import Heard
from bellhousing.words.loss import read_loss

MOST_FORETOLD = 8
MOVED = 1.0
"""Standard deviations of sound cars by which parts must move a reading to be told; common practice."""

DRIPS, DRIPS_NAME = "drops-parked", "Drops a minute, parked"
DROPS_KNOWN_TO = 0.15
"""Standard uncertainty of drops counted, a share of the count; common practice, no source."""

SAID = {
    "explains it": "these parts explain it",
    "explains part": "these parts explain part of it",
    "does not": "these parts do not explain it: keep looking",
    "nothing to explain": "a sound box shows this too",
}


@dataclass(frozen=True)
class Foretold:
    """What the cars show with sound parts and with these."""

    sound: Shown
    parts: Shown


def beside(finding: Finding, entry: Heard, told: Foretold) -> BenchReading | None:
    """One finding beside what is foretold of it; None where physics foretells nothing of it."""
    evidence = entry.evidence
    assert evidence is not None
    if finding.id in told.parts.readings and evidence.value is not None:
        spread = evidence.standard_uncertainty or finding.half_width / 2.0
        judged = explained(
            evidence.value,
            spread,
            told.parts.readings[finding.id].astype(np.float64),
            told.sound.readings[finding.id].astype(np.float64),
        )
        return _reading(finding.id, finding.name, finding.unit, entry.answer, judged)
    if finding.id in told.parts.chances and evidence.states:
        return _state(finding, entry, told)
    return None


def _reading(name: str, title: str, unit: str, answer: FindingAnswer, judged: Explained) -> BenchReading:
    band = _between(judged.low, judged.high, unit)
    sound = _between(judged.sound_low, judged.sound_high, unit)
    text = f"with these parts {band}, sound {sound}: {SAID[judged.outcome]}"
    if judged.outcome == "explains part":
        text += f", about {100 * judged.share:.0f} % of the way"
    return BenchReading(
        finding=name,
        name=title,
        said=answer.said,
        shown=answer.shown or answer.said,
        outcome=judged.outcome,
        text=text,
        unit=unit,
        low=_end(judged.low, unit),
        middle=_end(judged.middle, unit),
        high=_end(judged.high, unit),
        sound_low=_end(judged.sound_low, unit),
        sound_middle=_end(judged.sound_middle, unit),
        sound_high=_end(judged.sound_high, unit),
        share=judged.share if math.isfinite(judged.share) else None,
        parts_text=band,
        sound_text=sound,
    )


def _state(finding: Finding, entry: Heard, told: Foretold) -> BenchReading:
    assert entry.evidence is not None
    seen = [finding.states.index(state) for state in entry.evidence.states]
    parts, sound = (
        float(shown.chances[finding.id][:, seen].sum(axis=1).mean()) for shown in (told.parts, told.sound)
    )
    outcome = explained_state(parts, sound)
    text = f"seen in {100 * parts:.0f} of 100 cars with these parts, {100 * sound:.0f} sound: {SAID[outcome]}"
    return BenchReading(
        finding=finding.id,
        name=finding.name,
        said=entry.answer.said,
        shown=entry.answer.shown or "",
        outcome=outcome,
        text=text,
        unit="",
        low=None,
        middle=round(parts, 4),
        high=None,
        sound_low=None,
        sound_middle=round(sound, 4),
        sound_high=None,
        share=None,
        parts_text=f"{100 * parts:.0f} of 100 cars",
        sound_text=f"{100 * sound:.0f} of 100 cars",
    )


def drips(box: Box, numbers: Sequence[OnBench], heard: Sequence[Heard]) -> BenchReading | None:
    """Drops counted parked beside what the measured rings let fall; None if either is missing."""
    counted = [
        (entry, loss.amount)
        for entry in heard
        if (loss := read_loss(entry.answer.said)) is not None
        and loss.kind == "drops"
        and loss.when in ("parked", "")
    ]
    measured = [entry.measured for entry in numbers]
    worn = parked_drops(box, measured, sound=math.nan)
    new = parked_drops(box, measured, sound=1e-3)
    if not counted or worn is None or new is None:
        return None
    entry, rate = counted[-1]
    judged = explained(60.0 * rate, DROPS_KNOWN_TO * 60.0 * rate, 60.0 * worn, 60.0 * new)
    judged = replace(judged, low=max(judged.low, 0.0), sound_low=max(judged.sound_low, 0.0))
    return _reading(DRIPS, DRIPS_NAME, "", entry.answer, judged)


def also_shown(prepared: Prepared, told: Foretold, read: set[str]) -> tuple[BenchForetold, ...]:
    """What else these parts would show: readings moved by more than sound cars differ, furthest first."""
    found = []
    for name, parts in told.parts.readings.items():
        finding = prepared.catalogue.findings.get(name)
        if finding is None or name in read or finding.kind != "reading":
            continue
        sound = told.sound.readings[name].astype(np.float64)
        spread = float(np.std(sound[np.isfinite(sound)])) if np.isfinite(sound).any() else math.inf
        low, middle, high = (
            float(end)
            for end in np.quantile(parts.astype(np.float64), [0.025, 0.5, 0.975], method="inverted_cdf")
        )
        usual = float(np.quantile(sound, 0.5, method="inverted_cdf"))
        moved = math.inf if math.isinf(middle) else abs(middle - usual) / max(spread, 1e-12)
        if math.isfinite(usual) and moved > MOVED:
            text = f"{_between(low, high, finding.unit)}; sound about {show(usual, finding.unit)}"
            entry = BenchForetold(
                finding=name,
                name=finding.name,
                text=text,
                unit=finding.unit,
                low=_end(low, finding.unit),
                middle=_end(middle, finding.unit),
                high=_end(high, finding.unit),
                sound_middle=_end(usual, finding.unit),
            )
            found.append((moved, entry))
    found.sort(key=lambda pair: (-pair[0], pair[1].finding))
    return (*(entry for _, entry in found[:MOST_FORETOLD]), *_also_seen(prepared, told, read))


def _also_seen(prepared: Prepared, told: Foretold, read: set[str]) -> list[BenchForetold]:
    """States more likely than not with these parts that half as many sound cars at most show."""
    found = []
    for name, parts in told.parts.chances.items():
        finding = prepared.catalogue.findings.get(name)
        if finding is None or name in read:
            continue
        now, sound = parts.mean(axis=0), told.sound.chances[name].mean(axis=0)
        state = int(np.argmax(now - sound))
        if now[state] < 0.5 or now[state] < 2.0 * sound[state]:
            continue
        said = finding.state_names[finding.states[state]]
        text = f"{said} in {100 * now[state]:.0f} of 100 cars; sound {100 * sound[state]:.0f}"
        found.append(
            BenchForetold(
                finding=name,
                name=finding.name,
                text=text,
                unit="",
                low=None,
                middle=round(float(now[state]), 4),
                high=None,
                sound_middle=round(float(sound[state]), 4),
            )
        )
    return found[:MOST_FORETOLD]


def in_one_sentence(readings: Sequence[BenchReading]) -> str:
    """The whole in one sentence."""
    wrong = [reading for reading in readings if reading.outcome != "nothing to explain"]
    if not readings:
        return "Nothing was read on the road or the gauge that these parts could explain."
    if not wrong:
        return "Every reading is what a sound box shows: there is nothing to explain."
    fully = [reading for reading in wrong if reading.outcome == "explains it"]
    if len(fully) == len(wrong):
        which = (
            "the reading that stands out" if len(wrong) == 1 else f"all {len(wrong)} readings that stand out"
        )
        return f"These parts explain {which}."
    open_ = "; ".join(reading.name.lower() for reading in wrong if reading.outcome == "does not")
    partly = "; ".join(reading.name.lower() for reading in wrong if reading.outcome == "explains part")
    said = f"These parts explain {len(fully)} of {len(wrong)} readings that stand out"
    if not fully:
        said = "These parts explain none of what stands out"
    if partly:
        said = f"{said}, part of {partly}" if fully else f"These parts explain only part of {partly}"
    return said + (f". Keep looking for {open_}." if open_ else ". Something else does the rest.")


def _between(low: float, high: float, unit: str) -> str:
    """Two ends in words; one that never comes is said so."""
    if math.isinf(low):
        return "never"
    if math.isinf(high):
        return f"{show(low, unit)} to never"
    digits = 1 if not unit else None
    return show_interval(low, high, unit, digits=digits)


def _end(value: float, unit: str) -> float | None:
    return float(f"{from_si(value, unit):.5g}") if math.isfinite(value) else None
