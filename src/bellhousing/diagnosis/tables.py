"""Findings with states: what each fault alone would show, combined by the most conspicuous cause."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.catalogue import Catalogue, Finding
from bellhousing.diagnosis.fault_sets import IntArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class StateTable:
    """Cumulative chances of a finding's states, from the least to the most conspicuous.

    With several causes each brings its own state and the most conspicuous is seen, so that
    P(state <= k | set) = background(k) * product over the set of fault(k): noisy-max, which for two states is
    noisy-OR (Pearl, Probabilistic Reasoning in Intelligent Systems, 1988, section 4.3; Diez 1993).
    """

    background: FloatArray  # (states,)
    by_fault: FloatArray  # (faults, states)

    @property
    def bearing(self) -> NDArray[np.bool_]:
        """Faults that show anything at all here, (faults,)."""
        return np.asarray((self.by_fault < 1.0).any(axis=1))

    @cached_property
    def padded(self) -> FloatArray:
        """`by_fault` with a last row of ones for 'no fault', (faults + 1, states)."""
        return np.vstack([self.by_fault, np.ones(len(self.background))])

    def cumulative_at(self, members: IntArray, state: int) -> FloatArray:
        """P(state <= k | set) for sets given by their padded members, (sets,)."""
        return _product(self.padded[:, state], members, self.background[state])

    def cumulative_of(self, members: IntArray) -> FloatArray:
        """P(state <= k | set) for sets given by their padded members, (sets, states)."""
        return _product(self.padded, members, self.background)


def _product(per_fault: FloatArray, members: IntArray, start: FloatArray | float) -> FloatArray:
    """`start` times the product over the members of each set of what each fault brings."""
    total = per_fault[members[:, 0]] * start
    for column in members.T[1:]:
        total *= per_fault[column]
    return total


@dataclass(frozen=True)
class StackedTables:
    """All tables side by side, so that chosen sets are looked up in all of them at once."""

    spans: Mapping[str, slice]
    background: FloatArray  # (states of all findings,)
    padded: FloatArray  # (faults + 1, states of all findings)

    def cumulative_of(self, members: IntArray) -> FloatArray:
        """P(state <= k | set) of sets given by their padded members, (sets, states of all findings)."""
        return _product(self.padded, members, self.background)

    def cumulative_alone(self, chances: FloatArray) -> FloatArray:
        """What independent faults with these chances (faults,) multiply every cumulative chance by.

        The mean of a product over independent faults is the product of 1 - p + p * (what the fault brings).
        """
        held = np.flatnonzero(chances)
        brought = 1.0 - chances[held, None] * (1.0 - self.padded[held])
        return np.asarray(brought.prod(axis=0))


def stack(tables: Mapping[str, StateTable]) -> StackedTables:
    """Put tables of the same faults side by side."""
    spans, start = {}, 0
    for name, table in tables.items():
        spans[name] = slice(start, start + len(table.background))
        start += len(table.background)
    by_fault = np.concatenate([table.by_fault for table in tables.values()], axis=1)
    return StackedTables(
        spans,
        np.concatenate([table.background for table in tables.values()]),
        np.vstack([by_fault, np.ones(by_fault.shape[1])]),
    )


MISSEEN = 0.03
"""Share of looks at what physics decides that may say any state, the model's own errors among them: common
practice, no source."""

MISNOTED = 0.004
"""The same where a table decides, whose strengths hold the looker's own errors already."""


IN_THE_HAND = 0.01
"""A look that raises fewer false alarms than this is at a thing held in the hand."""

HELD = 0.1
"""Such a look is simply wrong so much more rarely: common practice, no source."""


def carelessness(finding: Finding) -> float:
    """How often a look is simply wrong, relative to the usual look."""
    return HELD if sum(finding.background.values()) < IN_THE_HAND else 1.0


def state_tables(
    catalogue: Catalogue,
    faults: Sequence[str],
    *,
    familiarity: float,
    misseen: float = MISNOTED,
    physical: Collection[str] = (),
) -> dict[str, StateTable]:
    """Tables of every finding with states; `familiarity` draws strengths towards the background.

    A share `misseen` of the looks says any state: it lies beside the background and weakens every strength,
    so that no single look is worth more than the care it is made with; less where the thing is in the hand,
    which shows in a background under `IN_THE_HAND`. For `physical` findings the likelihood
    of what the model shows counts them.
    """
    return {
        name: _table(
            finding, faults, familiarity, 0.0 if name in physical else misseen * carelessness(finding)
        )
        for name, finding in catalogue.findings.items()
        if finding.kind == "states"
    }


def _cumulative(states: Sequence[str], chances: Mapping[str, float]) -> FloatArray:
    each = np.array([chances.get(state, 0.0) for state in states])
    each[0] = 1.0 - each[1:].sum()
    return np.asarray(np.minimum(1.0, np.cumsum(each)))


def _table(finding: Finding, faults: Sequence[str], familiarity: float, misseen: float) -> StateTable:
    by_fault = np.ones((len(faults), len(finding.states)))
    for row, fault in enumerate(faults):
        if fault in finding.strengths:
            kept = familiarity * (1.0 - misseen)
            weakened = {state: kept * chance for state, chance in finding.strengths[fault].items()}
            by_fault[row] = _cumulative(finding.states, weakened)
    wrong = misseen / len(finding.states)
    background = {
        state: (1.0 - misseen) * finding.background.get(state, 0.0) + wrong for state in finding.states[1:]
    }
    return StateTable(_cumulative(finding.states, background), by_fault)


def differences(cumulative: FloatArray) -> FloatArray:
    """Chance of each state from the cumulative chances along the last axis."""
    return np.diff(cumulative, axis=-1, prepend=0.0)
