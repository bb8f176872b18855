"""What was found, turned into terms of a log likelihood that any set of faults can be put into."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.catalogue import Finding
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.fault_sets import holding, summed
from bellhousing.diagnosis.likelihood import Observation, observe, reported, simply_wrong, state_weights
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.diagnosis.tables import StateTable

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

IDLE = 0.02
"""Change of log likelihood below which a fault touches nothing that was found: a fiftieth of its odds."""

MOVES = 0.1
"""Change of log likelihood beside another fault above which three faults may do more than their pairs."""

SAME = 0.01
"""Difference of chances within which they count as the same."""

COPIED = 0.25
"""Share of second looks at the same place that repeat the first one's answer: common practice, no source."""

LEAST = 1e-12


@dataclass(frozen=True)
class Factor:
    """The chance of what one finding's table says was seen, for sets given by their members."""

    table: StateTable
    weights: FloatArray  # (states,)
    copied: float | None  # chance that a first look at the same place, repeated, says this
    physical: FloatArray | None  # (rows, states), cumulative, where physics bears on the finding too
    wrong: float = 0.0  # share of looks that say any state, where physics bears

    def of(self, members: IntArray, rows: IntArray) -> FloatArray:
        """Factor for each set, (sets,); beside physics it is relative to what physics alone gives."""
        if self.physical is not None:
            return self._beside_physics(members, rows)
        # Summed by parts, so that only the states where the weight changes cost a pass over the sets.
        steps = self.weights - np.append(self.weights[1:], 0.0)
        total = np.zeros(len(members))
        for k in np.flatnonzero(steps):
            total += steps[k] * (self.table.cumulative_at(members, int(k)) if k < len(steps) - 1 else 1.0)
        if self.copied is not None:
            total = (1.0 - COPIED) * total + COPIED * self.copied
        return np.maximum(total, LEAST)

    def _beside_physics(self, members: IntArray, rows: IntArray) -> FloatArray:
        assert self.physical is not None
        factor = np.ones(len(members))
        touched = np.flatnonzero(holding(np.append(self.table.bearing, False), members))
        if not len(touched):
            return factor
        own = self.physical[rows[touched]]
        both = reported(own * self.table.cumulative_of(members[touched]), self.weights, self.wrong)
        alone = reported(own * self.table.background, self.weights, self.wrong)
        factor[touched] = both / alone
        return factor


@dataclass(frozen=True)
class Terms:
    """Log likelihood of all findings: what each fault adds by itself, factors of tables, and physics."""

    prepared: Prepared
    observations: tuple[Observation, ...]
    normal: Mapping[int, FloatArray]  # finding -> (faults,), log chance that the fault leaves it normal
    normal_background: Mapping[int, float]
    factors: Mapping[int, Factor]
    ln_alone: FloatArray  # (faults,), log odds after all normal findings
    on_cars: FloatArray  # (rows, cars), product over the findings that physics bears on

    @cached_property
    def ln_rows(self) -> FloatArray:
        """Log of the mean likelihood over cars, (rows,)."""
        return ln_mean(self.on_cars)

    @cached_property
    def expansion(self) -> Expansion:
        """`ln_rows` carried on to any set of physical faults."""
        return Expansion.of(self.prepared, self.ln_rows)

    @cached_property
    def touched(self) -> NDArray[np.bool_]:
        """Faults that cannot be weighed by themselves, (faults,)."""
        touched = self.expansion.touched.copy()
        for factor in self.factors.values():
            touched |= factor.table.bearing
        return touched

    def ln_tables(self, members: IntArray) -> FloatArray:
        """Log prior and log factors of sets without physics, up to a constant, (sets,)."""
        total = summed(np.append(self.ln_alone, 0.0), members)
        rows = self.rows(members)
        product = np.ones(len(members))
        for number, factor in enumerate(self.factors.values(), start=1):
            product *= factor.of(members, rows)
            if number % 16 == 0:  # sixteen factors of at least 1e-12 stay within the range of a double
                total += np.log(product)
                product = np.ones(len(members))
        return np.asarray(total + np.log(product))

    def ln_physics(self, members: IntArray) -> FloatArray:
        """Log likelihood of what physics bears on, (sets,)."""
        return self.expansion.of_sets(members)

    def interacting(self, members: IntArray) -> NDArray[np.bool_]:
        """Sets with at least three faults none of which is idle beside the others, (sets,)."""
        return self.expansion.interacting(members)

    def rows(self, members: IntArray) -> IntArray:
        """Row of the physical table that stands for each set: its one or two (first) physical faults."""
        row_of = self.prepared.sets.row_of
        rows = row_of[members[:, 0], members[:, 0]]
        for first, second in combinations(range(members.shape[1]), 2):
            # Rows grow with the number of physical faults, so the largest holds the most of them.
            rows = np.maximum(rows, row_of[members[:, first], members[:, second]])
        return np.asarray(rows)


@dataclass(frozen=True)
class Expansion:
    """Log likelihood of sets of physical faults from those of none, one and two of them.

    Beyond two, a fault is taken to add what it adds beside one of the others, the one beside which it adds
    least: ln L(abc) = min over pairs of ln L(ab) + min(ln L(ac) - ln L(a), ln L(bc) - ln L(b)). Exact where a
    third fault touches nothing that was found, or acts beside one of the others only.
    """

    pair: FloatArray  # (faults + 1, faults + 1), ln L of two faults
    beside: (
        FloatArray  # (faults + 1, faults + 1), what the first adds beside the second; inf beside no physics
    )

    @classmethod
    def of(cls, prepared: Prepared, ln_rows: FloatArray) -> Expansion:
        """Take the log likelihoods of the physical table's rows, (rows,)."""
        row_of = prepared.sets.row_of
        pair = ln_rows[row_of]
        physical = np.append(prepared.sets.is_physical, False)
        beside = np.where(physical[None, :], pair - ln_rows[np.diagonal(row_of)][None, :], np.inf)
        beside[~physical] = 0.0
        return cls(pair, beside)

    @property
    def alone(self) -> FloatArray:
        """What each fault adds where nothing else is wrong, (faults,)."""
        return np.asarray(np.diagonal(self.pair)[:-1] - self.pair[-1, -1])

    @cached_property
    def touched(self) -> NDArray[np.bool_]:
        """Faults that change the likelihood alone or beside another, (faults,)."""
        change = np.abs(np.where(np.isfinite(self.beside), self.beside, 0.0))
        np.fill_diagonal(change, 0.0)
        return np.asarray((change[:-1].max(axis=1) > IDLE) | (np.abs(self.alone) > IDLE))

    def of_sets(self, members: IntArray) -> FloatArray:
        """Log likelihood of sets given by their members, padding last, (sets,)."""
        if members.shape[1] <= 3:
            return self.of_columns(tuple(members.T))
        size = (members < len(self.pair) - 1).sum(axis=1)
        total = np.empty(len(members))
        for count in np.unique(size):
            chosen = np.flatnonzero(size == count)
            total[chosen] = self.of_columns(tuple(members[chosen, : max(1, count)].T))
        return total

    def of_columns(self, columns: tuple[IntArray, ...]) -> FloatArray:
        """Log likelihood of sets given by one array (sets,) per member."""
        if len(columns) < 3:
            return np.asarray(self.pair[columns[0], columns[-1]])
        # Each pair of members is looked up once, in flat tables.
        width, every = len(self.pair), range(len(columns))
        pair, beside = self.pair.ravel(), self.beside.ravel()
        starts = [column * width for column in columns]
        own = {(a, b): beside.take(starts[a] + columns[b]) for a in every for b in every if a != b}
        least: FloatArray | None = None
        for first, second in combinations(every, 2):
            total = pair.take(starts[first] + columns[second])
            for other in every:
                if other not in (first, second):
                    total += np.minimum(own[other, first], own[other, second])
            least = total if least is None else np.minimum(least, total, out=least)
        assert least is not None
        return np.minimum(least, 0.0, out=least)

    def interacting(self, members: IntArray) -> NDArray[np.bool_]:
        """Sets in which at least three physical faults change the likelihood beside one of the others."""
        moving = np.zeros(len(members), dtype=np.intp)
        change = np.abs(np.where(np.isfinite(self.beside), self.beside, 0.0)) > MOVES
        for own in range(members.shape[1]):
            moves = np.zeros(len(members), dtype=bool)
            for other in range(members.shape[1]):
                if other != own:
                    moves |= change[members[:, own], members[:, other]]
            moving += moves
        return np.asarray(moving > 2)


def ln_mean(on_cars: FloatArray) -> FloatArray:
    """Log of the mean over the last axis, never minus infinity."""
    return np.asarray(np.log(np.maximum(on_cars.mean(axis=-1), 1e-300)))


def weigh_findings(prepared: Prepared, evidence: Sequence[Evidence]) -> Terms:
    """Split the findings into normal ones, factors of tables, and what physics bears on."""
    observations = tuple(observe(prepared, entry) for entry in evidence)
    product = np.ones((len(prepared.sets.physical_rows), len(prepared.model.cars)))
    for seen in observations:
        if seen.on_cars is not None:
            product *= seen.on_cars
    said = {entry.finding: entry for entry in evidence}
    normal: dict[int, FloatArray] = {}
    background: dict[int, float] = {}
    factors: dict[int, Factor] = {}
    for j, seen in enumerate(observations):
        if seen.state_weights is None or np.ptp(seen.state_weights) == 0.0:
            continue  # a reading, or an answer that any state may be
        table = prepared.tables[seen.finding]
        copied = _copied(prepared, seen, said)
        if seen.on_cars is not None:
            if table.bearing.any():
                wrong = simply_wrong(prepared, prepared.catalogue.findings[seen.finding])
                shown = _physical(prepared, seen, product)
                factors[j] = Factor(table, seen.state_weights, None, shown, wrong)
        elif copied is None and seen.state_weights[0] == 1.0 and not seen.state_weights[1:].any():
            normal[j] = np.log(table.by_fault[:, 0])
            background[j] = float(np.log(table.background[0]))
        else:
            apart, table = _set_apart(table, seen.state_weights) if copied is None else (None, table)
            if apart is not None:
                normal[j], background[j] = apart, 0.0
            factors[j] = Factor(table, seen.state_weights, copied, None)
    ln_alone = prepared.ln_odds + sum(normal.values(), np.zeros(len(prepared.faults)))
    return Terms(prepared, observations, normal, background, factors, ln_alone, product)


def _set_apart(table: StateTable, weights: FloatArray) -> tuple[FloatArray, StateTable]:
    """What faults multiply the chance of what was said by, whatever else is wrong; the table without them.

    A fault does so when it leaves the same chance below every state that what was said depends on.
    """
    matters = np.flatnonzero(weights[:-1] != weights[1:])
    below = table.by_fault[:, matters]
    same = np.ptp(below, axis=1) < SAME
    if weights[-1] != 0.0:  # what is never exceeded stands beside the others, so only 1 is the same
        same &= below.min(axis=1) > 1.0 - SAME
    by_fault = np.where(same[:, None], 1.0, table.by_fault)
    return np.where(same, np.log(below.mean(axis=1)), 0.0), StateTable(table.background, by_fault)


def _copied(prepared: Prepared, seen: Observation, said: Mapping[str, Evidence]) -> float | None:
    """Chance that a first look at the same place, its mistake repeated, says what the second look said."""
    first = prepared.catalogue.findings[seen.finding].repeats
    if first is None or first not in said or seen.state_weights is None:
        return None
    normal = answered_normal(prepared.catalogue.findings[first], said[first])
    return float(normal * seen.state_weights[0] + (1.0 - normal) * seen.state_weights[1:].max())


def answered_normal(finding: Finding, entry: Evidence) -> float:
    """How far an answer says that a finding is unremarkable, from 0 to 1."""
    answered = state_weights(finding, entry)
    return float(answered[0] / max(answered.sum(), LEAST))


def _physical(prepared: Prepared, seen: Observation, product: FloatArray) -> FloatArray:
    """Cumulative chances of a finding's states by physics, on the cars as the other findings weigh them."""
    assert seen.on_cars is not None
    weights = product / seen.on_cars
    chances = prepared.shown.chances[seen.finding]
    by_row = np.einsum("rc,rck->rk", weights / weights.sum(axis=1, keepdims=True), chances)
    return np.asarray(np.cumsum(by_row, axis=1))
