"""What closed jobs teach: conjugate counts on top of the catalogue's figures, which stay what they were.

The catalogue's figures count as if so many cars had been seen; each closed job adds one. Causes: a Dirichlet
distribution over the faults of the kind. What a finding shows: a Dirichlet (for two states a beta)
distribution over its states, for every fault that bears on it and for the background. Gelman et al., Bayesian
Data Analysis, 3rd edition, 2014, sections 2.4 and 3.4.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.catalogue import Catalogue, Finding
from bellhousing.diagnosis.tally import Counts

FloatArray = NDArray[np.float64]

CAUSE_CARS, STRENGTH_CARS, BACKGROUND_CARS = 200.0, 30.0, 200.0
"""Cars that the catalogue's figures count for: its causes, a strength, a background rate. Common practice,
no source: a shop's own records should outweigh figures from elsewhere after a few years."""

HIGHEST = 0.97
"""Most that any finding tells of a fault, as in the catalogue."""

MOST_WEIGHT = 900.0

Kind = Literal["cause", "strength", "background"]


@dataclass(frozen=True)
class Moved:
    """One figure before and after: chances, the standard deviation left, and the counts behind it.

    A cause: how many cars in all have it. A strength: how often the fault shows the state. A background: how
    often the state is seen without any fault that bears on it.
    """

    kind: Kind
    fault: str | None
    finding: str | None
    state: str | None
    before: float
    after: float
    spread: float
    counted: int
    of: int


def dirichlet_mean(
    prior: Sequence[float] | FloatArray, cars: float, counts: Sequence[int] | FloatArray
) -> FloatArray:
    """Posterior mean (cars * prior + counts) / (cars + sum of counts), (states,) [-].

    Gelman et al., Bayesian Data Analysis, 3rd edition, 2014, section 3.4; for two states section 2.4.
    """
    seen = np.asarray(counts, dtype=np.float64)
    return np.asarray((cars * np.asarray(prior, dtype=np.float64) + seen) / (cars + seen.sum()))


def beta_spread(mean: float, cars: float) -> float:
    """Standard deviation of a beta distribution by its mean and its sum of parameters, [-].

    sqrt(m (1 - m) / (cars + 1)), the same source, appendix A.
    """
    return math.sqrt(max(mean * (1.0 - mean), 0.0) / (cars + 1.0))


def learnt(catalogue: Catalogue, counts: Counts, kind: str) -> tuple[Catalogue, tuple[Moved, ...]]:
    """The part of a catalogue for one kind of box with learnt figures, and what moved, the most first.

    It is a new catalogue with a digest of its own; where nothing was counted it is the old part unchanged.
    """
    own = catalogue.of_family(kind)
    if not counts.cars:
        return own, ()
    moved: list[Moved] = []
    weights = _causes(own, counts, moved)
    faults = {name: replace(fault, weight=weights[name]) for name, fault in own.faults.items()}
    findings = {
        name: _finding(finding, counts, moved) if finding.kind == "states" else finding
        for name, finding in own.findings.items()
    }
    moved.sort(key=lambda entry: (-abs(_log_odds(entry.after) - _log_odds(entry.before)), entry.counted == 0))
    digest = hashlib.sha256(
        json.dumps(
            [catalogue.digest, kind, CAUSE_CARS, STRENGTH_CARS, BACKGROUND_CARS, counts.plain()],
            sort_keys=True,
        ).encode()
    ).hexdigest()
    return replace(own, faults=faults, findings=findings, digest=digest), tuple(moved)


def _log_odds(chance: float) -> float:
    bounded = min(max(chance, 1e-9), 1.0 - 1e-9)
    return math.log(bounded / (1.0 - bounded))


def _causes(own: Catalogue, counts: Counts, moved: list[Moved]) -> dict[str, float]:
    """Weights per thousand cars: shares by Dirichlet, the mean number of faults a car has kept as it was."""
    names = list(own.faults)
    before = np.array([own.faults[name].weight for name in names])
    total = before.sum()
    seen = np.array([counts.faults.get(name, 0) for name in names])
    if not seen.any():
        return dict(zip(names, before.tolist(), strict=True))
    shares = dirichlet_mean(before / total, CAUSE_CARS, seen)
    after = np.minimum(total * shares, MOST_WEIGHT)
    for place, name in enumerate(names):
        share = float(shares[place])
        spread = beta_spread(share, CAUSE_CARS + float(seen.sum())) * float(total) / 1000.0
        moved.append(
            Moved(
                "cause", name, None, None,
                float(before[place]) / 1000.0, float(after[place]) / 1000.0, spread,
                int(seen[place]), int(seen.sum()),
            )
        )  # fmt: skip
    return dict(zip(names, after.tolist(), strict=True))


def _finding(finding: Finding, counts: Counts, moved: list[Moved]) -> Finding:
    background = _background(finding, counts, moved)
    base = np.cumsum(_row(finding, background))
    strengths = {
        fault: _strength(finding, fault, chances, base, counts.seen.get(fault, {}).get(finding.id, {}), moved)
        for fault, chances in finding.strengths.items()
    }
    return replace(finding, background=background, strengths=strengths)


def _row(finding: Finding, chances: Mapping[str, float]) -> FloatArray:
    """Chances of all states, the first taking what the others leave."""
    row = np.array([chances.get(state, 0.0) for state in finding.states])
    row[0] = 1.0 - row[1:].sum()
    return row


def _background(finding: Finding, counts: Counts, moved: list[Moved]) -> Mapping[str, float]:
    row = counts.background.get(finding.id, {})
    if not any(row.values()):
        return finding.background
    seen = np.array([row.get(state, 0) for state in finding.states])
    before = _row(finding, finding.background)
    after = dirichlet_mean(before, BACKGROUND_CARS, seen)
    for place, state in enumerate(finding.states[1:], start=1):
        mean = float(after[place])
        spread = beta_spread(mean, BACKGROUND_CARS + float(seen.sum()))
        moved.append(
            Moved(
                "background", None, finding.id, state,
                float(before[place]), mean, spread, int(seen[place]), int(seen.sum()),
            )
        )  # fmt: skip
    return {state: float(after[place]) for place, state in enumerate(finding.states) if place}


def _strength(
    finding: Finding,
    fault: str,
    chances: Mapping[str, float],
    base: FloatArray,
    row: Mapping[str, int],
    moved: list[Moved],
) -> Mapping[str, float]:
    """What the fault alone shows: what is seen on cars with it, with the background divided out.

    P(state <= k | fault) = background(k) * fault(k); the left side is counted, so its posterior mean over the
    background is the fault's own.
    """
    if not any(row.values()):
        return chances
    seen = np.array([row.get(state, 0) for state in finding.states])
    own = _row(finding, chances)
    with_fault = np.diff(base * np.cumsum(own), prepend=0.0)
    after = np.cumsum(dirichlet_mean(with_fault, STRENGTH_CARS, seen))
    cumulative = np.minimum(1.0, after / np.maximum(base, 1e-9))
    cumulative[-1] = 1.0
    cumulative = np.minimum.accumulate(cumulative[::-1])[::-1]
    learnt_row = np.diff(cumulative, prepend=0.0)
    told = learnt_row[1:].sum()
    if told > HIGHEST:
        learnt_row[1:] *= HIGHEST / told
    for place, state in enumerate(finding.states[1:], start=1):
        mean = float(learnt_row[place])
        spread = beta_spread(mean, STRENGTH_CARS + float(seen.sum()))
        moved.append(
            Moved(
                "strength", fault, finding.id, state,
                float(own[place]), mean, spread, int(seen[place]), int(seen.sum()),
            )
        )  # fmt: skip
    return {state: float(learnt_row[place]) for place, state in enumerate(finding.states) if place}
