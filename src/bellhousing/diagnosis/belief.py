"""Belief over sets of faults: exact up to three that the findings touch, extended beyond, the rest apart.

A fault is *touched* when something abnormal that was found bears on it, or when a measured reading does. A
normal finding multiplies the odds of each fault by the chance that the fault leaves it normal, whatever else
is wrong, so faults that are not touched stay independent of all others and need no sets at all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.fault_sets import holding
from bellhousing.diagnosis.likelihood import observe
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.diagnosis.terms import Terms, weigh_findings
from bellhousing.road.shown import Shown

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

FEWEST = 24
"""Faults taken into the sets at least, the commonest of the untouched ones included."""

PRUNED = 20.0
"""A set of three is left out when even its bound lies so far (natural log) below the best smaller set."""

TRIPLES = 60_000
"""Sets of three weighed at most, those with the highest bounds first."""

PARENTS = 1000
"""Leading sets of one size that are extended by one more fault."""

CHILDREN = 20000
"""Extended sets of one size weighed at most, those with the highest bounds first."""

LARGEST = 7
"""Faults in a set at most."""

NEGLECTED = 0.0005
"""Extension stops when the next size would hold less than this share of the belief."""

REFINED = 8
"""How many sets with more than two physical faults are simulated, the heaviest first."""

WORTH_SIMULATING = 2e-3
"""Least belief on such a set for it to be simulated."""


@dataclass(frozen=True)
class Belief:
    """The posterior: weighted sets of faults, and faults that are independent of them and of each other.

    `members` is (sets, size) fault indices padded with the number of faults; `rows` (sets,) the row of the
    physical table whose cars stand for the set; `weights` (sets,) sums to one. `alone` is (faults,): the
    chance of each fault outside the sets, zero for those inside. `car_weights` is (rows, cars).
    """

    members: IntArray
    rows: IntArray
    weights: FloatArray
    alone: FloatArray
    car_weights: FloatArray

    def marginals(self) -> FloatArray:
        """Chance of each fault, (faults,)."""
        return self.alone + marginals(self.members, self.weights, len(self.alone))

    def none_of(self, told: NDArray[np.bool_]) -> float:
        """Chance that no fault of a mask (faults,) is there."""
        clear = ~holding(np.append(told, False), self.members)
        return float(min(1.0, self.weights[clear].sum()) * np.prod(1.0 - self.alone[told]))


@dataclass(frozen=True)
class Weighed:
    """All sets with their unnormalised log weights, what expansion alone weighed, what was left out."""

    terms: Terms
    members: IntArray
    rows: IntArray
    ln_weights: FloatArray
    odds_alone: FloatArray  # (faults,)
    unexplored: float
    neglected: float


def marginals(members: IntArray, weights: FloatArray, count: int) -> FloatArray:
    """Sum of the weights of the sets that hold each fault, (count,)."""
    total = sum(np.bincount(column, weights, count + 1) for column in members.T)
    return np.asarray(total)[:count]


def normalised(ln_weights: FloatArray) -> FloatArray:
    """Weights that sum to one."""
    weights = np.exp(ln_weights - ln_weights.max())
    return np.asarray(weights / weights.sum())


def heaviest(ln_weights: FloatArray, count: int) -> IntArray:
    """Places of the `count` largest, largest first, the earlier one first where they are equal."""
    if len(ln_weights) <= count:
        return np.argsort(-ln_weights, kind="stable")
    near = np.flatnonzero(ln_weights >= np.partition(ln_weights, -count)[-count])
    return near[np.argsort(-ln_weights[near], kind="stable")][:count]


def believe(prepared: Prepared, evidence: Sequence[Evidence]) -> tuple[Weighed, Belief]:
    """Weigh every set of faults by its prior and by all that was found."""
    terms = weigh_findings(prepared, evidence)
    inside, odds_alone = _inside(terms)
    ladder = _Ladder(prepared, terms, inside)
    levels, weights, neglected = ladder.climb()
    members = _padded(levels, len(prepared.faults))
    rows = terms.rows(members)
    ln_weights = np.concatenate(weights)
    unexplored = _refine(prepared, evidence, terms, members, ln_weights)
    weighed = Weighed(terms, members, rows, ln_weights, odds_alone, unexplored, neglected)
    row_sums = terms.on_cars.sum(axis=1, keepdims=True)
    belief = Belief(
        members, rows, normalised(ln_weights), odds_alone / (1.0 + odds_alone), terms.on_cars / row_sums
    )
    return weighed, belief


def _inside(terms: Terms) -> tuple[IntArray, FloatArray]:
    """Faults that the sets are made of, and the odds of those left alone (faults,)."""
    touched = terms.touched.copy()
    odds = np.exp(terms.ln_alone + terms.expansion.alone)
    spare = FEWEST - int(touched.sum())
    if spare > 0:
        untouched = np.flatnonzero(~touched)
        touched[untouched[np.argsort(-odds[untouched], kind="stable")[:spare]]] = True
    return np.flatnonzero(touched), np.where(touched, 0.0, odds)


def _padded(levels: Sequence[IntArray], count: int) -> IntArray:
    width = max(3, *(level.shape[1] for level in levels))
    return np.concatenate(
        [np.pad(level, ((0, 0), (0, width - level.shape[1])), constant_values=count) for level in levels]
    )


@dataclass(frozen=True)
class _Ladder:
    """Sets by size: none, one, two, three, and then only the leading sets extended by one fault at a time."""

    prepared: Prepared
    terms: Terms
    inside: IntArray

    def climb(self) -> tuple[list[IntArray], list[FloatArray], float]:
        """Sets of each size, the log weight of each, and the share left out (an estimate)."""
        n = len(self.inside)
        empty = np.full((1, 1), len(self.prepared.faults), dtype=np.intp)
        first, second = np.triu_indices(n, 1)
        levels = [empty, self.inside[:, None], self.inside[np.stack([first, second], axis=1)]]
        tables = [self.terms.ln_tables(level) for level in levels]
        bounds = _Bounds.of(self, tables, first, second)
        weights = [t + self.terms.ln_physics(m) for m, t in zip(levels, tables, strict=True)]
        best = max(float(weight.max()) for weight in weights if len(weight))
        total = sum(_mass(weight, best) for weight in weights)
        local, lost = bounds.triples(best - PRUNED)
        left_out = float(np.exp(lost - best).sum())
        masses = [_mass(weights[2], best)]
        while len(local):
            members = self.inside[local]
            table = self.terms.ln_tables(members)
            weight = table + self.terms.ln_physics(members)
            levels.append(members)
            weights.append(weight)
            masses.append(_mass(weight, best))
            total += masses[-1]
            growth = masses[-1] / max(masses[-2], 1e-300)
            tail = masses[-1] * growth
            if tail < NEGLECTED * total or members.shape[1] >= LARGEST:
                return levels, weights, (left_out + tail) / (total + tail)
            local, lost, share = bounds.extend(local, weight, table, best)
            left_out += float(np.exp(lost - best).sum())
            left_out += tail * (1.0 - share)
        return levels, weights, left_out / (total + left_out)


def _mass(ln_weights: FloatArray, best: float) -> float:
    return float(np.exp(ln_weights - best).sum())


@dataclass(frozen=True)
class _Bounds:
    """Bounds on larger sets from pairs.

    The log of a noisy-max chance is submodular in the set, so that a fault adds to a set at most what it adds
    to any one of its members: T(z + f) <= T(z) + min over p in z of T(p, f) - T(p).
    """

    ladder: _Ladder
    gain: FloatArray  # (inside, inside): T(p, f) - T(p)
    pair: FloatArray  # (inside, inside): T(p, f)

    @classmethod
    def of(cls, ladder: _Ladder, tables: Sequence[FloatArray], first: IntArray, second: IntArray) -> _Bounds:
        n = len(ladder.inside)
        pair = np.full((n, n), -np.inf)
        pair[first, second] = pair[second, first] = tables[2]
        return cls(ladder, pair - tables[1][:, None], pair)

    def triples(self, floor: float) -> tuple[IntArray, FloatArray]:
        """Sets of three (places in `inside`) whose bound is above `floor`, and the bounds of the others."""
        a, b, c = _threes(len(self.ladder.inside))
        bound = self.pair[a, b] + np.minimum(self.gain[a, c], self.gain[b, c])
        np.minimum(bound, self.pair[a, c] + self.gain[c, b], out=bound)
        inside = self.ladder.inside
        bound += self.ladder.terms.expansion.of_columns((inside[a], inside[b], inside[c]))
        keep = bound > floor
        if keep.sum() > TRIPLES:
            keep &= bound >= np.partition(bound, -TRIPLES)[-TRIPLES]
        return np.stack([a[keep], b[keep], c[keep]], axis=1), bound[~keep]

    def extend(
        self, places: IntArray, ln_weights: FloatArray, tables: FloatArray, best: float
    ) -> tuple[IntArray, FloatArray, float]:
        """The leading sets with one more fault, bounds of those left out, and the share that was extended."""
        lead = heaviest(ln_weights, PARENTS)
        weight = np.exp(ln_weights - best)
        share = float(weight[lead].sum() / weight.sum())
        parents, n = places[lead], len(self.ladder.inside)
        bound = tables[lead][:, None] + self.gain[parents].min(axis=1)
        new = (parents[:, :, None] != np.arange(n)).all(axis=1)
        parent, fault = np.nonzero(new & np.isfinite(bound))
        children = np.sort(np.column_stack([parents[parent], fault]), axis=1)
        key = children @ (np.intp(n) ** np.arange(children.shape[1], dtype=np.intp))
        _, once = np.unique(key, return_index=True)
        children, bounds = children[once], bound[parent, fault][once]
        bounds = bounds + self.ladder.terms.ln_physics(self.ladder.inside[children])
        keep = bounds > best - PRUNED + 4.0
        if keep.sum() > CHILDREN:
            keep &= bounds >= np.partition(bounds, -CHILDREN)[-CHILDREN]
        return children[keep], bounds[~keep], share


def _threes(n: int) -> tuple[IntArray, IntArray, IntArray]:
    """Every a < b < c below n."""
    a, b = np.triu_indices(n, 1)
    count = n - 1 - b
    pair = np.repeat(np.arange(len(a)), count)
    start = np.cumsum(count) - count
    third = np.arange(int(count.sum())) - start[pair] + b[pair] + 1
    return a[pair], b[pair], third


def _refine(
    prepared: Prepared, evidence: Sequence[Evidence], terms: Terms, members: IntArray, ln_weights: FloatArray
) -> float:
    """Simulate the heaviest sets that expansion alone has weighed; the belief on the others of them."""
    physical = np.append(prepared.sets.is_physical, False)[members]
    many = np.flatnonzero(physical.sum(axis=1) > 2)
    if not len(many):
        return 0.0
    weights = normalised(ln_weights)
    many = many[terms.interacting(members[many])]
    heavy = many[weights[many] > WORTH_SIMULATING]
    heavy = heavy[np.argsort(-weights[heavy], kind="stable")[:REFINED]]
    if len(heavy):
        sets = [tuple(int(f) for f in members[z][physical[z]]) for z in heavy]
        exact = _simulated(prepared, evidence, sets)
        ln_weights[heavy] += np.log(np.maximum(exact, 1e-300)) - terms.ln_physics(members[heavy])
    rest = np.setdiff1d(many, heavy, assume_unique=True)
    return float(normalised(ln_weights)[rest].sum())


def _simulated(prepared: Prepared, evidence: Sequence[Evidence], rows: list[tuple[int, ...]]) -> FloatArray:
    """Mean likelihood on the cars of sets that the table does not hold, simulated now."""
    local = replace(prepared, shown=_with_rows(prepared.shown, prepared.model.simulate(rows)))
    product = np.ones((len(rows), len(prepared.model.cars)))
    for entry in evidence:
        seen = observe(local, entry, slice(1, None))
        if seen.on_cars is not None:
            product *= seen.on_cars
    return np.asarray(product.mean(axis=1))


def _with_rows(kept: Shown, new: Shown) -> Shown:
    """The sound row of the table followed by new rows, so that windows stay those of a sound car."""
    return Shown(
        {name: np.concatenate([kept.readings[name][:1], rows]) for name, rows in new.readings.items()},
        {name: np.concatenate([kept.chances[name][:1], rows]) for name, rows in new.chances.items()},
    )
