"""Measuring at the bench: a sentence to a value with its budget, judged against the window of the box."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from bellhousing.boxes.box import Box
from bellhousing.diagnosis.windows import MANUAL, USUAL
from bellhousing.errors import BellhousingError, FindingError, RecordError
from bellhousing.fits.arithmetic import length, span
from bellhousing.fits.instruments import Instrument
from bellhousing.fits.measurement import (
    Heat,
    Measurement,
    judged,
    measure,
    ring_spread,
    what_would_tell,
)
from bellhousing.fits.suitability import too_coarse
from bellhousing.fits.verdict import OUTSIDE, Rule, batch_risks
from bellhousing.quantities.odds import in_100
from bellhousing.quantities.units import from_si, to_si, unit
from bellhousing.records.entries import CLOSED, Entry, Finding
from bellhousing.tasks.fits_shapes import BudgetLine, MeasuredAnswer
from bellhousing.tasks.measured_words import (
    Read,
    instruments_of,
    kept_reading,
    names_instrument,
    read_measurement,
)
from bellhousing.tasks.noting import REASON, WHO
from bellhousing.tasks.shop import Shop

MEASURED = "measured"
ON_THE_BENCH = "measured on the bench"
LONGEST = 400


def measure_on_job(
    shop: Shop, job: int, text: str, *, who: str = WHO, key: str | None = None, rule: Rule | None = None
) -> MeasuredAnswer:
    """Keep one measurement on a job: "front end play 0.021 in", repeats one after the other.

    Raises
    ------
    FindingError : an empty line, or one too long
    QuantityError : nothing that is measured, no figure, an impossible one, an unknown instrument
    RecordError : no such job, or a closed one
    """
    if not text.strip():
        raise FindingError("nothing was measured", remedy="write for example front end play 0.021 in")
    if len(text) > LONGEST:
        raise FindingError("too long for one measurement", remedy=f"at most {LONGEST} letters")
    box = _box(shop, job)
    if shop.store.job(job).status == CLOSED:
        raise RecordError(
            f"job {job} is closed", remedy=f"open it again first (bellhousing job reopen {job})"
        )
    read = read_measurement(text, box, instruments_of(shop))
    kept = {
        "measure": read.measure.id,
        "readings_si": list(read.readings),
        "unit": read.unit,
        "instrument": read.instrument.id,
        "temperature_k": read.temperature,
    }
    entry = Entry(said=text.strip(), conditions={MEASURED: kept, REASON: ON_THE_BENCH})
    record = shop.store.add_finding(job, entry, at=shop.clock(), who=shop.signed(who), key=key)
    return _answer(record, read, box, rule, instruments_of(shop))


def measured_on_job(shop: Shop, job: int, *, rule: Rule | None = None) -> tuple[MeasuredAnswer, ...]:
    """Everything measured on a job in order, judged by a rule; of the same measure the last counts."""
    box = _box(shop, job)
    found = []
    every = instruments_of(shop)
    for record in shop.store.current_findings(job):
        kept = record.conditions.get(MEASURED)
        if isinstance(kept, Mapping):
            try:
                found.append(_answer(record, kept_reading(kept, box, every), box, rule, every))
            except (BellhousingError, KeyError, TypeError, ValueError):
                continue  # the box no longer names it: the entry stays among the notes
    last = {entry.measure: entry.number for entry in found}
    return tuple(entry.model_copy(update={"counts": last[entry.measure] == entry.number}) for entry in found)


def _answer(
    record: Finding, read: Read, box: Box, asked: Rule | None, every: Mapping[str, Instrument]
) -> MeasuredAnswer:
    heat = None if read.temperature is None else Heat(read.temperature, 2.0)
    done = measure(read.readings, read.instrument, unit=read.unit, heat=heat)
    bench = box.measurements.get(read.measure.id)
    window = bench.window if bench is not None else None
    rule = Rule() if asked is None else asked
    answer: dict[str, Any] = {
        "number": record.id,
        "at": record.at.isoformat(timespec="seconds"),
        "measure": read.measure.id,
        "name": read.measure.name,
        "said": record.said,
        "readings": tuple(_in(value, read.unit) for value in read.readings),
        "unit": read.unit,
        "value": _in(done.value, read.unit),
        "uncertainty": _width(done.standard_uncertainty, read.unit),
        "expanded": _width(done.budget.expanded(), read.unit),
        "freedom": _finite(done.budget.freedom),
        "instrument": read.instrument.name,
        "budget": _budget(done),
        "rule": rule.text,
        "action": read.measure.action,
        **_ring(read, done),
    }
    if window is None or bench is None:
        sentence = f"{_capital(read.measure.name)} is {_shown(done)}; no window is known for it."
        return MeasuredAnswer.model_validate(
            {**answer, "low": None, "high": None, "source": "", "probability": None, "outcome": None,
             "verdict": "no window known", "text": sentence}
        )  # fmt: skip
    judgement = judged(done, window.low, window.high, rule=rule)
    remedy = what_would_tell(done, window.low, window.high, every, rule=rule)
    source = MANUAL if bench.origin == "box" else USUAL
    sentence = (
        f"{_capital(read.measure.name)} is {_shown(done)}, window "
        f"{span(window.low, window.high, read.unit)} ({source}): {judgement.text}."
    )
    if judgement.outcome == OUTSIDE and read.measure.action:
        sentence += f" Then: {read.measure.action}."
    coarse = too_coarse(read.instrument, done.value, window.low, window.high, every, unit=read.unit)
    if coarse is not None:
        sentence += f" {_coarsely(read.instrument, record.said)}"
    return MeasuredAnswer.model_validate(
        {
            **answer,
            "low": _finite(_in(window.low, read.unit)),
            "high": _finite(_in(window.high, read.unit)),
            "source": source,
            "probability": judgement.probability,
            "outcome": judgement.outcome,
            "verdict": judgement.text,
            "text": sentence.replace(", more than 99 in 100 of", " (more than 99 in 100) of"),
            "would_tell": "" if remedy is None else remedy.text,
            "too_coarse": "" if coarse is None else coarse.text,
            "risks": _risks(window.low, window.high, done.standard_uncertainty, rule),
        }
    )


def _risks(low: float, high: float, uncertainty: float, rule: Rule) -> str:
    """What a rule does to many parts, if 95 in 100 of them lie in the window; common practice, no source."""
    if not (math.isfinite(low) and math.isfinite(high) and low < high):
        return ""
    guard = {"sure": 1.645, "simple": 0.0, "guarded": rule.factor}[rule.name] * uncertainty
    accepted = (low + guard, high - guard)
    if accepted[0] >= accepted[1]:
        return "no part could be called inside: the instrument is too coarse for that"
    found = batch_risks(
        (low, high), accepted, mean=0.5 * (low + high), spread=0.25 * (high - low), uncertainty=uncertainty
    )
    taken = found.conforming - found.rejected_good + found.accepted_bad
    turned = in_100(found.rejected_good / found.conforming)
    return (
        f"of many parts, 95 in 100 of them sound, {turned} sound ones are not called inside, and "
        f"{in_100(found.accepted_bad / taken)} of those called inside are not"
    )


def _coarsely(instrument: Instrument, said: str) -> str:
    if names_instrument(said):
        return f"Too coarse for this window: {instrument.name}."
    taken = f"Taken as read with the {instrument.name}, too coarse for this window"
    return f"{taken}: say “with …” if it was another."


def _ring(read: Read, done: Measurement) -> dict[str, str]:
    limit = read.measure.around
    if limit is None or len(read.readings) < 2:
        return {}
    spread = ring_spread(
        read.readings,
        limit,
        read.instrument.figure("repeatability", done.value),
        unit=read.unit,
        tells=read.measure.spread_tells,
    )
    return {"ring": spread.text} if spread.found else {}


def _budget(done: Measurement) -> tuple[BudgetLine, ...]:
    return tuple(
        BudgetLine(
            name=line.input.name,
            kind=line.input.kind,
            shape=line.input.shape,
            uncertainty=_width(line.contribution, done.unit),
            freedom=_finite(line.input.freedom),
            share=done.budget.share(line),
        )
        for line in done.budget.components
    )


def _shown(done: Measurement) -> str:
    """Value and what holds 95 in 100: "0.021 ± 0.002 in"."""
    symbol = unit(done.unit).symbol
    value = length(done.value, done.unit).removesuffix(f" {symbol}")
    return f"{value} ± {_width(done.budget.expanded(), done.unit):.2g} {symbol}".rstrip()


def value_si(entry: MeasuredAnswer) -> tuple[float, float]:
    """Value and standard uncertainty of a measurement [SI]."""
    return to_si(entry.value, entry.unit), width_si(entry.uncertainty, entry.unit)


def width_si(width: float, unit_name: str) -> float:
    """A difference in a unit, such as an uncertainty [SI]."""
    return width * unit(unit_name).factor


def sizes_si(entry: MeasuredAnswer, count: int) -> tuple[float, ...] | None:
    """Sizes of the old parts of one place: the value of one, each reading of several, else None [m]."""
    if count == 1:
        return (value_si(entry)[0],)
    return tuple(to_si(size, entry.unit) for size in entry.readings) if len(entry.readings) == count else None


def _in(value: float, unit_name: str) -> float:
    shown = from_si(value, unit_name)
    return float(f"{shown:.7g}") if math.isfinite(shown) else shown


def _width(value: float, unit_name: str) -> float:
    return float(f"{value / unit(unit_name).factor:.6g}")


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _box(shop: Shop, job: int) -> Box:
    return shop.box(shop.store.car(shop.store.job(job).car).box)
