"""The diagnosis: every cause with its probability, error and reasons, after all that was found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.belief import Belief, Weighed, believe
from bellhousing.diagnosis.evidence import Evidence, check_evidence
from bellhousing.diagnosis.instruments import sharing
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.diagnosis.reasons import CONFLICT, Without, conflict, monte_carlo_error, without_each

FloatArray = NDArray[np.float64]

SOUND = "sound"
SOUND_NAME = "Nothing wrong in what was looked at"


class Influence(NamedTuple):
    """How many times likelier (below 1: less likely) one finding made a cause; `evidence` is its index."""

    evidence: int
    factor: float


@dataclass(frozen=True)
class Cause:
    """A fault believed on this job, with the standard error that the finite number of cars leaves."""

    id: str
    name: str
    probability: float
    error: float
    why: tuple[Influence, ...]


@dataclass(frozen=True)
class Conflict:
    """The findings explain each other badly under every hypothesis; `suspect` is the one to check first."""

    measure: float
    suspect: int
    text: str


@dataclass(frozen=True)
class Diagnosis:
    """What is believed after all evidence; causes are marginal, so several can be true at once.

    `unexplored_mass` is the belief on sets weighed by expansion and not simulated; `neglected_mass` estimates
    the belief on larger sets that were left out.
    """

    causes: tuple[Cause, ...]
    not_looked_at: tuple[str, ...]
    conflict: Conflict | None
    unexplored_mass: float
    neglected_mass: float
    belief: Belief

    def cause(self, name: str) -> Cause:
        """The cause with this slug ("sound" among them)."""
        return next(cause for cause in self.causes if cause.id == name)


def diagnose(prepared: Prepared, evidence: Sequence[Evidence], *, reasons: bool = True) -> Diagnosis:
    """Posterior after `evidence`; of several entries for one finding the last counts.

    P(set | findings) is proportional to the prior of the set, times the mean over plausible cars of the
    likelihoods of what the physics bears on, times the chances of the findings with states only. `reasons`
    asks for what each finding did to each cause and for the conflict, which weigh everything again without
    each finding.

    Raises
    ------
    FindingError : an impossible finding, or one about a part this box does not have.
    """
    for entry in evidence:
        check_evidence(entry, prepared.catalogue, prepared.box)
    index = sorted({entry.finding: place for place, entry in enumerate(evidence)}.values())
    used = sharing([evidence[place] for place in index])
    weighed, belief = believe(prepared, used)
    # With nothing looked at, `sound` means no fault at all.
    told = _bearing(prepared, used) if used else np.ones(len(prepared.faults), dtype=bool)
    chance = np.minimum(1.0, belief.marginals())
    error = monte_carlo_error(prepared, weighed, belief, told)
    without = without_each(prepared, weighed) if reasons else None
    causes = [
        Cause(fault, prepared.catalogue.faults[fault].name, float(chance[f]), float(error[f]), why)
        for f, fault in enumerate(prepared.faults)
        for why in (_influences(without, index, f),)
    ]
    causes.append(Cause(SOUND, SOUND_NAME, belief.none_of(told), float(error[-1]), ()))
    causes.sort(key=lambda cause: -cause.probability)
    return Diagnosis(
        causes=tuple(causes),
        not_looked_at=_not_looked_at(prepared, used),
        conflict=_conflict(prepared, weighed, without, index),
        unexplored_mass=weighed.unexplored,
        neglected_mass=weighed.neglected,
        belief=belief,
    )


def _influences(without: Without | None, index: Sequence[int], fault: int) -> tuple[Influence, ...]:
    if without is None:
        return ()
    return tuple(map(Influence, index, without.factors[:, fault].tolist()))


def _bearing(prepared: Prepared, evidence: Sequence[Evidence]) -> NDArray[np.bool_]:
    told = np.zeros(len(prepared.faults), dtype=bool)
    for entry in evidence:
        told |= prepared.bears[entry.finding]
    return told


def _not_looked_at(prepared: Prepared, evidence: Sequence[Evidence]) -> tuple[str, ...]:
    areas = prepared.catalogue.areas
    told = _bearing(
        prepared,
        [
            entry
            for entry in evidence
            if prepared.catalogue.finding(entry.finding).stage != "talk" and not entry.hearsay
        ],
    )
    looked = {prepared.catalogue.faults[fault].area for f, fault in enumerate(prepared.faults) if told[f]}
    return tuple(name for area, name in areas.items() if area not in looked)


def _conflict(
    prepared: Prepared, weighed: Weighed, without: Without | None, index: Sequence[int]
) -> Conflict | None:
    if without is None or len(index) < 2:
        return None
    measure, suspect = conflict(prepared, weighed, without)
    if measure < CONFLICT:
        return None
    name = prepared.catalogue.finding(weighed.terms.observations[suspect].finding).name
    text = f"Nothing here explains all of this well; check this finding first: {name}"
    return Conflict(measure, index[suspect], text)
