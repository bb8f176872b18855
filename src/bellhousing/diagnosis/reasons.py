"""Why: what each finding did to each cause, whether the findings contradict, how sure the numbers are."""

from __future__ import annotations

from dataclasses import dataclass
from math import prod

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.belief import Belief, Weighed, heaviest, marginals, normalised
from bellhousing.diagnosis.fault_sets import holding, summed
from bellhousing.diagnosis.likelihood import reported, simply_wrong
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.diagnosis.tables import differences
from bellhousing.diagnosis.terms import COPIED, Expansion, Terms, ln_mean

FloatArray = NDArray[np.float64]

CONFLICT = 3.0
"""Conflict measure (natural log) above which findings are said to contradict one another: common practice."""

CARRIED = 20_000
"""Sets that are weighed again without each finding, the heaviest first."""


FAR = 16.0
"""And none so far (natural log) below the heaviest; rows of physics twice as far down are left alone."""


@dataclass(frozen=True)
class Without:
    """What leaving out each finding does."""

    factors: FloatArray  # (findings, faults): odds of each cause with over without the finding
    ln_total: FloatArray  # (findings,): ln P(the other findings) - ln P(all findings)


def without_each(prepared: Prepared, weighed: Weighed) -> Without:
    """Weigh everything again without each finding in turn."""
    terms, count = weighed.terms, len(prepared.faults)
    kept = heaviest(weighed.ln_weights, CARRIED)
    kept = kept[weighed.ln_weights[kept] > weighed.ln_weights[kept[0]] - FAR]
    near = np.flatnonzero(terms.ln_rows > terms.ln_rows.max() - 2.0 * FAR)
    members, rows, ln_all = weighed.members[kept], weighed.rows[kept], weighed.ln_weights[kept]
    physics = terms.ln_physics(members)
    with_odds = _odds(_marginals(members, ln_all, weighed.odds_alone, count))
    with_total = _ln_total(ln_all) + float(np.log1p(weighed.odds_alone).sum())
    factors = np.ones((len(terms.observations), count))
    ln_total = np.zeros(len(terms.observations))
    for j, seen in enumerate(terms.observations):
        ln_without, alone, constant = ln_all.copy(), weighed.odds_alone, 0.0
        if j in terms.normal:
            ln_without -= summed(np.append(terms.normal[j], 0.0), members)
            alone = alone * np.exp(-terms.normal[j])
            constant = -terms.normal_background[j]
        if j in terms.factors:
            ln_without -= np.log(terms.factors[j].of(members, rows))
        if seen.on_cars is not None:
            ln_rows = terms.ln_rows.copy()
            ln_rows[near] = ln_mean(terms.on_cars[near] / seen.on_cars[near])
            ln_without += Expansion.of(prepared, ln_rows).of_sets(members) - physics
        ln_total[j] = _ln_total(ln_without) + float(np.log1p(alone).sum()) + constant - with_total
        factors[j] = with_odds / _odds(_marginals(members, ln_without, alone, count))
    return Without(factors, ln_total)


def _marginals(
    members: NDArray[np.intp], ln_weights: FloatArray, alone: FloatArray, count: int
) -> FloatArray:
    return np.asarray(marginals(members, normalised(ln_weights), count) + alone / (1.0 + alone))


def _ln_total(ln_weights: FloatArray) -> float:
    top = float(ln_weights.max())
    return top + float(np.log(np.exp(ln_weights - top).sum()))


def _odds(probability: FloatArray) -> FloatArray:
    clipped = np.clip(probability, 1e-9, 1.0 - 1e-9)
    return np.asarray(clipped / (1.0 - clipped))


def conflict(prepared: Prepared, weighed: Weighed, without: Without) -> tuple[float, int]:
    """Conflict measure, sum of ln P(finding) less ln P(all findings), and the finding to check first.

    Source: Jensen, Bayesian Networks and Decision Graphs, 2001. Under the prior all faults are independent,
    so that the chance of one finding is a product over faults and needs no sets.
    """
    terms = weighed.terms
    prior = 1.0 / (1.0 + np.exp(-prepared.ln_odds))
    row_prior = _prior_of_rows(prepared, prior)
    by_faults = prepared.stacked.background * prepared.stacked.cumulative_alone(prior)
    alone = np.array(
        [_ln_chance(prepared, terms, j, by_faults, row_prior) for j in range(len(terms.observations))]
    )
    ln_together = (
        _ln_total(weighed.ln_weights)
        + float(np.log1p(weighed.odds_alone).sum())
        - float(np.log1p(np.exp(prepared.ln_odds)).sum())
        + sum(terms.normal_background.values())
    )
    # The suspect is the finding that the others make most surprising compared with knowing nothing.
    return float(alone.sum() - ln_together), int(np.argmax(alone + without.ln_total))


def _prior_of_rows(prepared: Prepared, prior: FloatArray) -> FloatArray:
    """Prior chance of each physical set of up to two faults, made to sum to one."""
    odds = (prior / (1.0 - prior)).tolist()
    row = np.array([prod(odds[fault] for fault in faults) for faults in prepared.sets.physical_rows])
    return np.asarray(row / row.sum())


def _ln_chance(prepared: Prepared, terms: Terms, j: int, stacked: FloatArray, row_prior: FloatArray) -> float:
    """ln P(finding) before anything else is known."""
    seen = terms.observations[j]
    if seen.state_weights is None:
        assert seen.on_cars is not None
        return float(np.log(row_prior @ seen.on_cars.mean(axis=1)))
    by_faults = stacked[prepared.stacked.spans[seen.finding]]
    if seen.finding not in prepared.shown.chances:
        chance = float(differences(by_faults) @ seen.state_weights)
        factor = terms.factors.get(j)
        if factor is not None and factor.copied is not None:
            chance = (1.0 - COPIED) * chance + COPIED * factor.copied
        return float(np.log(max(chance, 1e-12)))
    physical = np.cumsum(prepared.shown.chances[seen.finding].mean(axis=1, dtype=np.float64), axis=1)
    wrong = simply_wrong(prepared, prepared.catalogue.findings[seen.finding])
    return float(np.log(row_prior @ reported(physical * by_faults, seen.state_weights, wrong)))


def monte_carlo_error(
    prepared: Prepared, weighed: Weighed, belief: Belief, told: NDArray[np.bool_]
) -> FloatArray:
    """Standard error from the number of cars of each fault's chance and, last, of `none_of(told)`.

    Infinitesimal jackknife (Efron, The jackknife, the bootstrap and other resampling plans, 1982).
    """
    on_cars, count = weighed.terms.on_cars, len(prepared.faults)
    row_weight = np.bincount(belief.rows, belief.weights, len(on_cars))
    kept = np.flatnonzero(row_weight > 1e-4)
    place = np.full(len(on_cars), -1)
    place[kept] = np.arange(len(kept))
    inside = place[belief.rows] >= 0
    column, weights, members = place[belief.rows[inside]], belief.weights[inside], belief.members[inside]
    share = np.zeros((count + 2) * len(kept))
    for own in members.T:
        share += np.bincount(own * len(kept) + column, weights, len(share))
    by_row = share.reshape(count + 2, len(kept))
    clear = ~holding(np.append(told, False), members)
    by_row[count] = np.bincount(column[clear], weights[clear], len(kept))
    by_row = by_row[: count + 1] - by_row[: count + 1].sum(axis=1, keepdims=True) * row_weight[kept]
    excess = on_cars[kept] / on_cars[kept].mean(axis=1, keepdims=True) - 1.0
    return np.asarray((by_row @ excess).std(axis=1) / np.sqrt(on_cars.shape[1]))
