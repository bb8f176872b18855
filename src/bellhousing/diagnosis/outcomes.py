"""What every test would show, for the sets of faults that carry the belief, and what that would tell."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.catalogue import Finding
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.information import mutual_information_of_tests
from bellhousing.diagnosis.posterior import Diagnosis
from bellhousing.diagnosis.prepare import CELLS, Prepared
from bellhousing.diagnosis.terms import COPIED, answered_normal
from bellhousing.diagnosis.unsought import information_about_alone
from bellhousing.diagnosis.works import Work

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

MASS = 0.998
"""Share of belief whose sets are carried into the ranking."""

CARRIED = 1000
"""At most so many sets, the heaviest first."""

IN_PLAY = 0.01
"""A cause is in play when it is believed at least this much."""


@dataclass(frozen=True)
class Outcomes:
    """The sets that carry the belief, and for each test the chance of each of its outcomes.

    `members` is (sets, size), `weights` (sets,), `columns` (sets, outcomes of all tests side by side);
    `groups` (sets,) numbers the combination of causes in play that each set holds. `besides` [bit] is what
    each test would tell of faults outside the sets.
    """

    members: IntArray
    weights: FloatArray
    groups: IntArray
    columns: FloatArray
    spans: Mapping[str, slice]
    besides: Mapping[str, float]

    @property
    def chances(self) -> dict[str, FloatArray]:
        """Chances of each test's outcomes, (sets, outcomes of the test)."""
        return {name: self.columns[:, span] for name, span in self.spans.items()}

    @cached_property
    def group_weights(self) -> FloatArray:
        """Belief in each combination of causes in play, (groups,)."""
        return np.asarray(np.bincount(self.groups, self.weights), dtype=np.float64)

    def information(self) -> dict[str, float]:
        """Mutual information [bit] of each test with the causes in play."""
        if not self.spans:
            return {}
        order = np.argsort(self.groups, kind="stable")
        starts = np.searchsorted(self.groups[order], np.arange(len(self.group_weights)))
        joint = np.add.reduceat((self.weights[:, None] * self.columns)[order], starts, axis=0)
        bits = mutual_information_of_tests(joint, [span.start for span in self.spans.values()])
        return {
            name: own + self.besides.get(name, 0.0)
            for name, own in zip(self.spans, bits.tolist(), strict=True)
        }


def outcomes(
    prepared: Prepared,
    diagnosis: Diagnosis,
    evidence: Sequence[Evidence],
    tests: Iterable[str],
    works: Sequence[Work] = (),
) -> Outcomes:
    """What each of some tests would show; tests on which nothing here bears are left out.

    With `works`, causes that the same work puts right most cheaply are one: what matters is what to do.
    """
    known = {entry.finding: entry for entry in evidence}
    kept, weights = _leading(diagnosis)
    members = diagnosis.belief.members[kept]
    rows, place = np.unique(diagnosis.belief.rows[kept], return_inverse=True)
    cars = diagnosis.belief.car_weights[rows]
    cumulative = prepared.stacked.cumulative_of(members)
    cumulative *= prepared.stacked.cumulative_alone(diagnosis.belief.alone)
    parts: list[FloatArray] = []
    spans: dict[str, slice] = {}
    end = 0
    for name in tests:
        finding = prepared.catalogue.findings[name]
        if finding.kind == "states":
            chances = _states(
                prepared, finding, cumulative[:, prepared.stacked.spans[name]], rows, place, cars
            )
            chances = _beside_first_look(prepared, finding, chances, known)
        elif name in prepared.shown.readings:
            chances = _cells(prepared.cells[name][rows], cars)[place]
        else:
            continue
        parts.append(chances)
        spans[name] = slice(end, end + chances.shape[1])
        end += chances.shape[1]
    columns = np.concatenate(parts, axis=1) if parts else np.zeros((len(kept), 0))
    groups = _groups(prepared, diagnosis, members, works)
    besides = information_about_alone(prepared, diagnosis.belief.alone, weights @ cumulative)
    return Outcomes(members, weights, groups, columns, spans, besides)


def _leading(diagnosis: Diagnosis) -> tuple[IntArray, FloatArray]:
    """The heaviest sets and their share of what they carry together."""
    weights = diagnosis.belief.weights
    top = np.argpartition(weights, -min(CARRIED, len(weights)))[-CARRIED:]
    order = top[np.argsort(-weights[top])]
    kept = order[: 1 + int(np.searchsorted(np.cumsum(weights[order]), MASS))]
    return kept, weights[kept] / weights[kept].sum()


def _groups(prepared: Prepared, diagnosis: Diagnosis, members: IntArray, works: Sequence[Work]) -> IntArray:
    none = len(prepared.faults)
    alike = np.append(cheapest_work(prepared.faults, works), none)
    in_play = np.append(_in_play(diagnosis), False)
    played = np.sort(np.where(in_play[members], alike[members], none), axis=1)
    # The same work twice is that work once.
    played[:, 1:][played[:, 1:] == played[:, :-1]] = none
    played.sort(axis=1)
    keys = played @ ((none + 1) ** np.arange(played.shape[1]))
    return np.unique(keys, return_inverse=True)[1]


def cheapest_work(faults: Sequence[str], works: Sequence[Work]) -> IntArray:
    """For each fault the first fault that the same work puts right most cheaply, come-backs counted."""
    first: dict[str, int] = {}
    alike = []
    for index, fault in enumerate(faults):
        cures = [work for work in works if fault in work.cures and not work.exchange]
        best = min(
            cures, key=lambda work: work.hours + work.parts_worth + work.come_back * work.hours, default=None
        )
        alike.append(index if best is None else first.setdefault(best.id, index))
    return np.array(alike, dtype=np.intp)


def _in_play(diagnosis: Diagnosis) -> NDArray[np.bool_]:
    """Causes believed enough to be worth telling apart, whether or not anything found has raised them."""
    return np.asarray(diagnosis.belief.marginals() >= IN_PLAY)


def _states(
    prepared: Prepared,
    finding: Finding,
    cumulative: FloatArray,
    rows: IntArray,
    place: IntArray,
    cars: FloatArray,
) -> FloatArray:
    """Chance of each state for each set, from the tables' cumulative chances and physics."""
    if finding.id in prepared.shown.chances:
        by_row = np.einsum("rc,rck->rk", cars, prepared.shown.chances[finding.id][rows])
        cumulative = cumulative * np.cumsum(by_row, axis=1)[place]
    chances = np.empty_like(cumulative)
    chances[:, 0] = cumulative[:, 0]
    np.subtract(cumulative[:, 1:], cumulative[:, :-1], out=chances[:, 1:])
    return np.maximum(0.0, chances, out=chances)


def _beside_first_look(
    prepared: Prepared, finding: Finding, chances: FloatArray, known: Mapping[str, Evidence]
) -> FloatArray:
    """A second look at one place repeats the answer of the first now and then."""
    if finding.repeats is None or finding.repeats not in known:
        return chances
    normal = answered_normal(prepared.catalogue.findings[finding.repeats], known[finding.repeats])
    mixed = (1.0 - COPIED) * chances
    mixed[:, :2] += COPIED * np.array([normal, 1.0 - normal])
    return mixed


def _cells(cells: NDArray[np.uint8], cars: FloatArray) -> FloatArray:
    """Chance that a reading falls into each of its cells, (rows, cells), on cars weighed (rows, cars)."""
    count = len(cells)
    flat = np.bincount(
        (np.arange(count)[:, None] * CELLS + cells).ravel(), cars.ravel(), minlength=count * CELLS
    )
    return np.asarray(flat.reshape(count, CELLS))
