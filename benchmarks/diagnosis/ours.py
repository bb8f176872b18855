"""The package's own way: posterior, the next test by bits a minute, and the works of least expected cost."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from pathlib import Path

from benchmarks.diagnosis.cars import Answer, VirtualCar
from benchmarks.diagnosis.judge import Judge, Works
from benchmarks.diagnosis.names import Names

from bellhousing.boxes.box import Box
from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.catalogue import load_catalogue
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.next_test import next_tests
from bellhousing.diagnosis.posterior import Diagnosis, diagnose
from bellhousing.diagnosis.prepare import CarFacts, Prepared, prepare
from bellhousing.quantities.units import to_si

BOXES = {"three-speed-vacuum": "box-a", "four-speed-linkage": "box-b"}
ENOUGH = 0.95
"""Testing stops when the works decided are right with this chance."""


@dataclass(frozen=True)
class Step:
    """State of a job after some minutes of testing."""

    minutes: float
    looks: int
    works: Works
    sure: float
    chances: Mapping[str, float]
    evidence: tuple[Evidence, ...] = ()


MANUAL: Mapping[str, Mapping[str, tuple[float, str, float]]] = {
    "three-speed-vacuum": {
        "regulator.spring_pressure": (65.0, "psi", 0.05),
        "regulator.signal_gain": (1.06, "", 0.03),
        "regulator.second_range_pressure": (142.0, "psi", 0.03),
        "modulator.spring_force": (129.0, "N", 0.02),
        "modulator.diaphragm_diameter": (55.0, "mm", 0.01),
        "engine.idle_vacuum": (18.5, "inHg", 0.03),
    }
}
"""What the manual of the virtual cars prints where it differs from the shipped box: 65 psi, 155 with the hose
off, 142 in second range, no load signal from 16 inHg on; each with its relative standard deviation."""


def described_box(family: str, box: str | None = None) -> Box:
    """The box the package is told of: the one named, or the shipped one with what the cars' manual prints."""
    if box is not None:
        return load_box(box)
    shipped = load_box(BOXES[family])
    printed = {
        key: replace(shipped.figures[key], value=to_si(value, unit), scatter=share * to_si(value, unit))
        for key, (value, unit, share) in MANUAL.get(family, {}).items()
    }
    if not printed:
        return shipped
    digest = sha256(f"{shipped.digest}|{sorted(printed.items(), key=str)}".encode()).hexdigest()
    return replace(shipped, figures={**shipped.figures, **printed}, windows={}, digest=digest)


def prepared_for(family: str, cache: Path, box: str | None = None) -> Prepared:
    """The box of a family made ready once."""
    described = described_box(family, box)
    return prepare(described, CarFacts(), load_catalogue(), cache=cache / f"{described.slug}.prepared")


def evidence_of(prepared: Prepared, look: str, answer: Answer) -> Evidence | None:
    """An answer as the package takes it; None where it has no way of saying it."""
    finding = prepared.catalogue.findings.get(look)
    if finding is None or (finding.part and finding.part in prepared.box.missing_parts):
        return None
    if answer.state is not None:
        return Evidence(look, states=(answer.state,))
    if answer.word is not None:
        for word in (answer.word, "very-slow", "none"):
            if word in finding.words:
                return Evidence(look, word=word)
        return None
    assert answer.value is not None
    value = to_si(answer.value, finding.unit)
    if finding.possible is not None:
        value = min(max(value, finding.possible[0]), finding.possible[1])
    return Evidence(look, value=float(value))


def all_evidence(prepared: Prepared, car: VirtualCar) -> list[Evidence]:
    """Everything that can be had on a car before the box is out."""
    found = (evidence_of(prepared, look, answer) for look, answer in car.answers.items())
    return [entry for entry in found if entry is not None]


def step(
    prepared: Prepared, judge: Judge, minutes: float, evidence: Sequence[Evidence], diagnosis: Diagnosis
) -> Step:
    """The decision on a diagnosis."""
    belief = diagnosis.belief
    works, sure = judge.decide(belief.members, belief.weights, belief.alone)
    chances = dict(zip(prepared.faults, belief.marginals().tolist(), strict=True))
    return Step(minutes, len(evidence), works, sure, chances, tuple(evidence))


def decide_on(prepared: Prepared, judge: Judge, evidence: Sequence[Evidence], minutes: float) -> Step:
    """Posterior and decision on what was found."""
    diagnosis = diagnose(prepared, evidence, reasons=False)
    return step(prepared, judge, minutes, evidence, diagnosis)


def adaptive(
    prepared: Prepared, names: Names, judge: Judge, car: VirtualCar, until: float, grid: Sequence[float]
) -> list[Step]:
    """Test by test until the minutes are up; the decision at each minute of the grid and at the end."""
    evidence: list[Evidence] = []
    opened: set[str] = set()
    refused: set[str] = set()
    minutes, steps, due = 0.0, [], list(grid)
    while True:
        diagnosis = diagnose(prepared, evidence, reasons=False)
        ranked = next_tests(prepared, diagnosis, evidence, works=judge.works).ranked
        choice = next(
            (t.finding for t in ranked if t.finding not in refused and t.finding in names.looks), None
        )
        spent = math.inf if choice is None else minutes + names.minutes(choice, opened)
        while due and due[0] < spent:
            steps.append(step(prepared, judge, due.pop(0), evidence, diagnosis))
        if choice is None or spent > until:
            return steps
        answer = car.answers.get(choice)
        entry = None if answer is None else evidence_of(prepared, choice, answer)
        if entry is None:
            refused.add(choice)
            continue
        minutes = spent
        opened |= set(names.chain(names.looks[choice].setup))
        evidence.append(entry)
