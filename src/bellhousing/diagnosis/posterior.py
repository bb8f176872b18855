"""Posterior over every set of up to three faults, with its Monte Carlo error, reasons and conflict."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.evidence import Evidence, check_evidence
from bellhousing.diagnosis.likelihood import Observation, observe, reported
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.diagnosis.tables import differences
from bellhousing.road.shown import Shown

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

SOUND = "sound"
SOUND_NAME = "Nothing wrong in what was looked at"

REFINED = 8
"""How many sets of three physical faults are simulated, the heaviest first."""

WORTH_SIMULATING = 2e-3
"""Least belief on such a set for it to be simulated."""

IDLE = 1e-3
"""Change of log likelihood below which a fault touches nothing that was found."""

CONFLICT = 3.0
"""Conflict measure (natural log) above which findings are said to contradict one another: common practice."""


@dataclass(frozen=True)
class Influence:
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
class Belief:
    """The posterior over fault sets as the next test needs it."""

    weights: FloatArray  # (sets,), sums to one
    car_weights: FloatArray  # (physical rows, cars), each row sums to one


@dataclass(frozen=True)
class Diagnosis:
    """What is believed after all evidence; causes are marginal, so several can be true at once."""

    causes: tuple[Cause, ...]
    not_looked_at: tuple[str, ...]
    conflict: Conflict | None
    unexplored_mass: float
    belief: Belief

    def cause(self, name: str) -> Cause:
        """The cause with this slug ("sound" among them)."""
        return next(cause for cause in self.causes if cause.id == name)


@dataclass(frozen=True)
class _Terms:
    """Parts of the likelihood: one product over cars, and a factor per set for each finding with a table."""

    observations: tuple[Observation, ...]
    on_cars: FloatArray  # (rows, cars), product over findings the physics bears on
    of_sets: Mapping[int, FloatArray]  # index of evidence -> (sets,)
    ln_prior: FloatArray


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
    last = {entry.finding: index for index, entry in enumerate(evidence)}
    index = sorted(last.values())
    used = [evidence[i] for i in index]
    terms = _terms(prepared, used)
    ln_weights, unexplored = _weigh(prepared, used, terms)
    weights = _normalised(ln_weights)
    marginal = prepared.sets.marginals(weights)
    row_mean = terms.on_cars.mean(axis=1)
    error = _monte_carlo_error(prepared, terms, weights, marginal, row_mean)
    factors, ln_without = (
        _influences(prepared, terms, ln_weights, marginal)
        if reasons
        else (np.ones((0, len(marginal))), np.zeros(0))
    )
    causes = [
        Cause(
            fault,
            prepared.catalogue.faults[fault].name,
            float(min(1.0, marginal[f])),
            float(error[f]),
            tuple(Influence(index[j], float(factors[j, f])) for j in range(len(factors))),
        )
        for f, fault in enumerate(prepared.faults)
    ]
    causes.append(_sound(prepared, used, weights, index, error))
    causes.sort(key=lambda cause: -cause.probability)
    return Diagnosis(
        causes=tuple(causes),
        not_looked_at=_not_looked_at(prepared, used),
        conflict=_conflict(prepared, terms, ln_weights, ln_without, index) if reasons else None,
        unexplored_mass=unexplored,
        belief=Belief(weights, terms.on_cars / (row_mean[:, None] * terms.on_cars.shape[1])),
    )


def _terms(prepared: Prepared, evidence: Sequence[Evidence]) -> _Terms:
    sets = prepared.sets
    observations = tuple(observe(prepared, entry) for entry in evidence)
    rows, cars = len(sets.physical_rows), len(prepared.model.cars)
    product = np.ones((rows, cars))
    for seen in observations:
        if seen.on_cars is not None:
            product *= seen.on_cars
    of_sets = {}
    for j, seen in enumerate(observations):
        if seen.state_weights is None:
            continue
        if seen.on_cars is None:
            of_sets[j] = _table_factor(prepared, seen)
        elif prepared.tables[seen.finding].bearing.any():
            of_sets[j] = _mixed_factor(prepared, seen, product / seen.on_cars)
    return _Terms(observations, product, of_sets, sets.ln_prior(prepared.ln_odds))


def _table_factor(prepared: Prepared, seen: Observation) -> FloatArray:
    """Chance of the observed states for every set: sum over states of weight * (F(k) - F(k-1))."""
    assert seen.state_weights is not None
    table, sets = prepared.tables[seen.finding], prepared.sets
    # Summed by parts, so that only the states where the weight changes cost a pass over the sets.
    steps = seen.state_weights - np.append(seen.state_weights[1:], 0.0)
    total = np.zeros(len(sets.members))
    for k in np.flatnonzero(steps):
        total += steps[k] * (table.cumulative(sets, int(k)) if k < len(steps) - 1 else 1.0)
    return np.maximum(total, 1e-12)


def _mixed_factor(prepared: Prepared, seen: Observation, weights: FloatArray) -> FloatArray:
    """What faults without physics add to a finding that physics explains too, relative to physics alone."""
    assert seen.state_weights is not None
    table, sets = prepared.tables[seen.finding], prepared.sets
    chances = prepared.shown.chances[seen.finding]
    by_row = np.einsum("rc,rck->rk", weights / weights.sum(axis=1, keepdims=True), chances)
    physical = np.cumsum(by_row, axis=1)
    alone = reported(differences(physical * table.background), seen.state_weights)
    factor = np.ones(len(sets.members))
    touched = np.flatnonzero(np.append(table.bearing, False)[sets.members].any(axis=1))
    rows = sets.physical_set[touched]
    both = reported(
        differences(physical[rows] * table.cumulative_of(sets.members[touched])), seen.state_weights
    )
    factor[touched] = both / alone[rows]
    return factor


def _weigh(prepared: Prepared, evidence: Sequence[Evidence], terms: _Terms) -> tuple[FloatArray, float]:
    """Unnormalised log weights of all sets, and the belief on sets of three weighed by expansion only.

    The table of physics ends at two faults. The log likelihood of three is expanded to second order about
    none, ln L(abc) = ln L(ab) + ln L(ac) + ln L(bc) - ln L(a) - ln L(b) - ln L(c) + ln L(none), which is
    exact where one of them touches nothing that was found; the heaviest of the others are simulated.
    """
    sets = prepared.sets
    ln_rows = np.log(np.maximum(terms.on_cars.mean(axis=1), 1e-300))
    ln_weights = terms.ln_prior + ln_rows[sets.physical_set]
    for factor in terms.of_sets.values():
        ln_weights += np.log(factor)
    triples = sets.triples
    if not len(triples):
        return ln_weights, 0.0
    single = np.append(np.zeros(len(prepared.faults)), 0.0)
    single[list(sets.physical)] = ln_rows[1 : 1 + len(sets.physical)]
    alone = single[sets.members[triples]]  # a, b, c
    pair = ln_rows[sets.pair_rows[triples]]  # ab, ac, bc
    expanded = np.minimum(pair.sum(axis=1) - alone.sum(axis=1) + ln_rows[0], 0.0)
    ln_weights[triples] += expanded - ln_rows[sets.physical_set[triples]]
    # A third fault is idle where it changes neither of the other two's likelihood.
    idle = np.zeros(len(triples), dtype=bool)
    for (with_first, with_second), (first, second) in (
        ((0, 1), (1, 2)),
        ((0, 2), (0, 2)),
        ((1, 2), (0, 1)),
    ):
        idle |= (np.abs(pair[:, with_first] - alone[:, first]) < IDLE) & (
            np.abs(pair[:, with_second] - alone[:, second]) < IDLE
        )
    open_triples = triples[~idle]
    weights = _normalised(ln_weights)
    heavy = np.flatnonzero(weights[triples] * ~idle > WORTH_SIMULATING)
    heavy = heavy[np.argsort(-weights[triples[heavy]])[:REFINED]]
    if len(heavy):
        exact = _exact_rows(
            prepared, evidence, [tuple(int(f) for f in sets.members[z]) for z in triples[heavy]]
        )
        ln_weights[triples[heavy]] += np.log(np.maximum(exact, 1e-300)) - expanded[heavy]
    rest = np.setdiff1d(open_triples, triples[heavy], assume_unique=True)
    return ln_weights, float(_normalised(ln_weights)[rest].sum())


def _exact_rows(prepared: Prepared, evidence: Sequence[Evidence], rows: list[tuple[int, ...]]) -> FloatArray:
    """Mean likelihood on the cars of sets that the table does not hold, simulated now."""
    shown: Shown = prepared.model.simulate(rows)
    local = replace(prepared, shown=_with_rows(prepared.shown, shown))
    product = np.ones((len(rows), len(prepared.model.cars)))
    span = slice(1, None)
    for entry in evidence:
        seen = observe(local, entry, span)
        if seen.on_cars is not None:
            product *= seen.on_cars
    return np.asarray(product.mean(axis=1))


def _with_rows(kept: Shown, new: Shown) -> Shown:
    """The sound row of the table followed by new rows, so that windows stay those of a sound car."""
    return Shown(
        {name: np.concatenate([kept.readings[name][:1], rows]) for name, rows in new.readings.items()},
        {name: np.concatenate([kept.chances[name][:1], rows]) for name, rows in new.chances.items()},
    )


def _normalised(ln_weights: FloatArray) -> FloatArray:
    weights = np.exp(ln_weights - ln_weights.max())
    return np.asarray(weights / weights.sum())


def _monte_carlo_error(
    prepared: Prepared, terms: _Terms, weights: FloatArray, marginal: FloatArray, row_mean: FloatArray
) -> FloatArray:
    """Standard error of each marginal from the number of cars (infinitesimal jackknife, Efron 1982)."""
    sets, cars = prepared.sets, terms.on_cars.shape[1]
    rows = len(row_mean)
    row_weight = np.bincount(sets.physical_set, weights, rows)
    kept = np.flatnonzero(row_weight > 1e-5)
    place = np.full(rows, -1)
    place[kept] = np.arange(len(kept))
    inside = place[sets.physical_set] >= 0
    column = place[sets.physical_set[inside]]
    count = len(prepared.faults)
    share = np.zeros((count + 1) * len(kept))
    for k in range(3):
        flat = sets.members[inside, k] * len(kept) + column
        share += np.bincount(flat, weights[inside], len(share))
    share_by_row = share.reshape(count + 1, len(kept))[:count] - marginal[:, None] * row_weight[kept]
    excess = terms.on_cars[kept] / row_mean[kept, None] - 1.0
    influence = share_by_row @ excess
    return np.asarray(influence.std(axis=1) / np.sqrt(cars))


def _influences(
    prepared: Prepared, terms: _Terms, ln_weights: FloatArray, marginal: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Odds of each cause with over without each finding, (findings, faults), and ln P(rest) - ln P(all)."""
    sets = prepared.sets
    factors = np.ones((len(terms.observations), len(marginal)))
    ln_without = np.zeros(len(terms.observations))
    with_odds = _odds(marginal)
    ln_all = _ln_total(ln_weights)
    ln_rows = np.log(np.maximum(terms.on_cars.mean(axis=1), 1e-300))
    for j, seen in enumerate(terms.observations):
        without = ln_weights.copy()
        if j in terms.of_sets:
            without -= np.log(terms.of_sets[j])
        if seen.on_cars is not None:
            rest = np.log(np.maximum((terms.on_cars / seen.on_cars).mean(axis=1), 1e-300))
            without += (rest - ln_rows)[sets.physical_set]
        ln_without[j] = _ln_total(without) - ln_all
        factors[j] = with_odds / _odds(sets.marginals(_normalised(without)))
    return factors, ln_without


def _ln_total(ln_weights: FloatArray) -> float:
    top = float(ln_weights.max())
    return top + float(np.log(np.exp(ln_weights - top).sum()))


def _odds(probability: FloatArray) -> FloatArray:
    clipped = np.clip(probability, 1e-9, 1.0 - 1e-9)
    return clipped / (1.0 - clipped)


def _bearing(prepared: Prepared, evidence: Sequence[Evidence]) -> NDArray[np.bool_]:
    told = np.zeros(len(prepared.faults), dtype=bool)
    for entry in evidence:
        told |= prepared.bears[entry.finding]
    return told


def _sound(
    prepared: Prepared,
    evidence: Sequence[Evidence],
    weights: FloatArray,
    index: Sequence[int],
    error: FloatArray,
) -> Cause:
    """`sound`: no fault that bears on anything looked at (with nothing looked at: no fault at all)."""
    told = _bearing(prepared, evidence) if evidence else np.ones(len(prepared.faults), dtype=bool)
    clear = ~np.append(told, False)[prepared.sets.members].any(axis=1)
    probability = float(min(1.0, weights[clear].sum()))
    return Cause(SOUND, SOUND_NAME, probability, float(error[told].max(initial=0.0)), ())


def _not_looked_at(prepared: Prepared, evidence: Sequence[Evidence]) -> tuple[str, ...]:
    areas = prepared.catalogue.areas
    told = _bearing(
        prepared, [entry for entry in evidence if prepared.catalogue.finding(entry.finding).stage != "talk"]
    )
    looked = {prepared.catalogue.faults[fault].area for f, fault in enumerate(prepared.faults) if told[f]}
    return tuple(name for area, name in areas.items() if area not in looked)


def _conflict(
    prepared: Prepared,
    terms: _Terms,
    ln_weights: FloatArray,
    ln_without: FloatArray,
    index: Sequence[int],
) -> Conflict | None:
    """Conflict measure, sum of ln P(finding) less ln P(all findings).

    Source: Jensen, Bayesian Networks and Decision Graphs, 2001.
    """
    if len(terms.observations) < 2:
        return None
    prior = _normalised(terms.ln_prior)
    row_prior = np.bincount(prepared.sets.physical_set, prior, len(terms.on_cars))
    alone = np.empty(len(terms.observations))
    for j, seen in enumerate(terms.observations):
        by_row = 1.0 if seen.on_cars is None else seen.on_cars.mean(axis=1)
        if j in terms.of_sets:
            by_set = by_row if seen.on_cars is None else np.asarray(by_row)[prepared.sets.physical_set]
            alone[j] = np.log(float((prior * terms.of_sets[j] * by_set).sum()))
        else:
            alone[j] = np.log(float((row_prior * by_row).sum()))
    measure = float(alone.sum() - (_ln_total(ln_weights) - _ln_total(terms.ln_prior)))
    if measure < CONFLICT:
        return None
    # The suspect is the finding that the others make most surprising compared with knowing nothing.
    suspect = int(np.argmax(alone + ln_without))
    name = prepared.catalogue.finding(terms.observations[suspect].finding).name
    text = f"Nothing here explains all of this well; check this finding first: {name}"
    return Conflict(measure, index[suspect], text)
