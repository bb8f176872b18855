"""Other arithmetic on the same findings: a fixed order of looks, and naive Bayes with one fault a car."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from benchmarks.diagnosis.cars import VirtualCar
from benchmarks.diagnosis.judge import Judge
from benchmarks.diagnosis.names import Names
from benchmarks.diagnosis.ours import Step, decide_on, evidence_of

from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.likelihood import observe, state_weights
from bellhousing.diagnosis.next_test import next_tests
from bellhousing.diagnosis.posterior import diagnose
from bellhousing.diagnosis.prepare import Prepared


def best_fixed_order(prepared: Prepared, names: Names, most: float = 400.0) -> list[str]:
    """Looks by bits a minute before anything is known, set-ups counted with the looks they open.

    At each turn the run of looks under one set-up with the highest sum of bits per minute is appended.
    """
    ranked = next_tests(prepared, diagnose(prepared, [], reasons=False), [])
    bits = {test.finding: max(test.bits, 0.0) for test in ranked.ranked if test.finding in names.looks}
    order: list[str] = []
    opened: set[str] = set()
    while bits and sum(names.looks[look].minutes for look in order) < most:
        runs = []
        for setup in {names.looks[look].setup for look in bits}:
            way = sum(names.setups[name][0] for name in names.chain(setup) if name not in opened)
            inside = [look for look in bits if names.looks[look].setup == setup]
            inside.sort(key=lambda look: -bits[look] / max(0.5, names.looks[look].minutes))
            gain = spent = 0.0
            for count, look in enumerate(inside, start=1):
                gain, spent = gain + bits[look], spent + names.looks[look].minutes
                runs.append((gain / max(0.5, way + spent), inside[:count], setup))
        _, run, setup = max(runs, key=lambda found: (found[0], found[1]))
        order += run
        opened |= set(names.chain(setup))
        for look in run:
            del bits[look]
    return order


def fixed_looks(names: Names, car: VirtualCar, order: Sequence[str]) -> list[tuple[str, float]]:
    """The looks of an order that can be had on a car, with the minutes when each is done."""
    opened: set[str] = set()
    minutes, done = 0.0, []
    for look in order:
        if look in car.answers:
            minutes += names.minutes(look, opened)
            opened |= set(names.chain(names.looks[look].setup))
            done.append((look, minutes))
    return done


def steps_in_fixed_order(
    prepared: Prepared,
    names: Names,
    judge: Judge,
    car: VirtualCar,
    order: Sequence[str],
    grid: Sequence[float],
    *,
    naive: bool = False,
) -> list[Step]:
    """The decision at each minute of a grid, by our posterior or by naive Bayes."""
    done = fixed_looks(names, car, order)
    steps = []
    for minute in grid:
        found = (evidence_of(prepared, look, car.answers[look]) for look, when in done if when <= minute)
        evidence = [entry for entry in found if entry is not None]
        decide = decide_naively if naive else decide_on
        steps.append(decide(prepared, judge, evidence, minute))
    return steps


def decide_naively(prepared: Prepared, judge: Judge, evidence: Sequence[Evidence], minutes: float) -> Step:
    """One fault or none, findings independent given it: P(f | e) in proportion to odds times ratios."""
    none = len(prepared.faults)
    members = np.arange(none + 1)[:, None]
    rows = prepared.sets.row_of[members[:, 0], members[:, 0]]
    log = np.append(prepared.ln_odds, 0.0)
    for entry in evidence:
        seen = observe(prepared, entry)
        if seen.on_cars is not None:
            log += np.log(np.maximum(seen.on_cars.mean(axis=1), 1e-9))[rows]
        if seen.state_weights is not None and entry.finding in prepared.tables:
            finding = prepared.catalogue.finding(entry.finding)
            cumulative = prepared.tables[entry.finding].cumulative_of(members)
            chances = np.diff(cumulative, axis=1, prepend=0.0)
            if seen.on_cars is None:
                log += np.log(np.maximum(chances @ state_weights(finding, entry), 1e-4))
    weights = np.exp(log - log.max())
    weights /= weights.sum()
    works, sure = judge.decide(members, weights)
    chances_of = dict(zip(prepared.faults, weights[:none].tolist(), strict=True))
    return Step(minutes, len(evidence), works, sure, chances_of)
