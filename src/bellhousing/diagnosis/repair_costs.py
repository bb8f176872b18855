"""What a choice of works costs on average, for a belief over sets of faults, in hours of labour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.works import BOX_OUT, IN_CAR, PAN_OFF, Work
from bellhousing.errors import CatalogueError

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

MASS = 0.9995
"""Share of belief whose sets are carried into the decision."""

CARRIED = 2000
"""At most so many sets, the heaviest first."""

UNSEEN = 1e-8
"""Belief on a set of faults below which it is not looked at."""

FAINT = 1e-4
"""Chance of an independent fault below which it is left out."""


@dataclass(frozen=True)
class Charges:
    """What a wrong decision costs beside the work, in hours of labour [h]: common practice, no source.

    `return_visit`: a car that comes back uncured is collected, driven and diagnosed again, and trust is lost.
    `missed`: what a fault that was missed costs beyond its remedy, as a share of it: work in vain before it
    is found, wear meanwhile, the car off the road. `needless_removal`: a box taken out for nothing, beside
    the hours of doing so. `road_test`: the drive that shows whether a work has cured it.
    """

    return_visit: float = 4.0
    missed: float = 1.0
    needless_removal: float = 6.0
    road_test: float = 0.5


@dataclass(frozen=True)
class Repair:
    """A belief and the works that may answer it, as arrays.

    Faults that the same works put right are one class. `open_sets` is (sets, classes): which classes a set of
    faults holds; `weights` is (sets,) and sums to one; `cures` is (works, classes). `second_own` and
    `second_way` are (classes,): what the remedy of a missed class costs on a second visit, by itself and to
    get at it [h]. `deep_only` marks the classes that nothing but a work with the box out puts right.
    `neglected` is the belief on sets left out. `class_of` is (faults + 1,), the last for the padding.
    """

    works: tuple[Work, ...]
    charges: Charges
    class_of: IntArray
    open_sets: BoolArray
    weights: FloatArray
    cures: BoolArray
    second_own: FloatArray
    second_way: FloatArray
    deep_only: BoolArray
    neglected: float

    @cached_property
    def incidence(self) -> NDArray[np.float32]:
        """`open_sets` as ones and zeros, for products with matrices."""
        return np.asarray(self.open_sets.astype(np.float32))

    @cached_property
    def class_weights(self) -> FloatArray:
        """Chance that a set holds each class, (classes,)."""
        return np.asarray(self.weights @ self.open_sets)

    @cached_property
    def come_back(self) -> FloatArray:
        """Cost of the come-backs to be expected of each work that puts something right (works,) [h]."""
        return come_back_costs(self.works, self.charges)

    @cached_property
    def deep(self) -> BoolArray:
        """Which works need the box out, (works,)."""
        return np.array([work.depth == BOX_OUT for work in self.works], dtype=bool)

    @cached_property
    def calls_for_removal(self) -> BoolArray:
        """Sets with a fault that nothing but a work with the box out puts right, (sets,)."""
        return np.asarray((self.open_sets & self.deep_only).any(axis=1))

    @cached_property
    def needless(self) -> float:
        """Charge to be expected for a removal that no fault calls for [h]."""
        return self.charges.needless_removal * float(self.weights @ ~self.calls_for_removal)

    def second_visit(self, uncured: BoolArray) -> FloatArray:
        """Cost of a second visit for the classes left in each set (sets,) [h].

        The visit, each remedy, and the longest of the ways; zero for a set with nothing left. As a function
        of what is left it never falls, and what a class adds never grows with the others.
        """
        way = np.where(uncured, self.second_way, 0.0).max(axis=-1, initial=0.0)
        return np.asarray(uncured @ self.second_own + way + self.charges.return_visit * uncured.any(axis=-1))

    def work_hours(self, chosen: Sequence[int]) -> float:
        """Hours of some works done together, the way to them paid once [h]."""
        return hours_together([self.works[index] for index in chosen])

    def parts(self, chosen: Sequence[int]) -> float:
        """Parts of some works, in hours of labour [h]."""
        return float(sum(self.works[index].parts_worth for index in chosen))

    def cured(self, chosen: Sequence[int]) -> BoolArray:
        """Which classes some works put right, (classes,)."""
        return np.asarray(self.cures[list(chosen)].any(axis=0))

    def by_set(self, chosen: Sequence[int], open_sets: BoolArray | None = None) -> FloatArray:
        """Cost of a choice of works for each set of faults that may be there (sets,) [h].

        `open_sets` stands in for the belief's own sets.

        C(D, z) = hours and parts of D + second visit for what D leaves of z + come-backs of what D puts right
        + the charge for a removal that z does not call for.
        """
        picked = list(chosen)
        sets = self.open_sets if open_sets is None else open_sets
        cured = self.cured(picked)
        cost = self.second_visit(sets & ~cured)
        cost += self.work_hours(picked) + self.parts(picked)
        if picked:
            best = np.where(self.cures[picked], self.come_back[picked][:, None], np.inf).min(axis=0)
            cost += sets @ np.where(cured, best, 0.0)
            if self.deep[picked].any():
                cost += self.charges.needless_removal * ~(sets & self.deep_only).any(axis=1)
        return cost

    def expected(self, chosen: Sequence[int]) -> float:
        """Expected cost of a choice of works, sum over z of P(z) C(D, z) [h]."""
        return float(self.weights @ self.by_set(chosen))

    def chance_right(self, chosen: Sequence[int]) -> float:
        """Chance that the works put every fault right and no box comes out that no fault calls for [1]."""
        right = ~(self.open_sets & ~self.cured(chosen)).any(axis=1)
        if self.deep[list(chosen)].any():
            right &= self.calls_for_removal
        return float(self.weights @ right)


def hours_together(works: Sequence[Work]) -> float:
    """Hours of some works done together, the way to them paid once [h]."""
    depth = max((work.depth for work in works), default=IN_CAR)
    way = max((work.opening for work in works if work.depth == depth), default=0.0)
    return way + sum(work.hours_at(depth) for work in works)


def come_back_costs(works: Sequence[Work], charges: Charges) -> FloatArray:
    """Chance of a come-back times the visit and the work with its parts once more (works,) [h]."""
    return np.array([w.come_back * (w.hours + w.parts_worth + charges.return_visit) for w in works])


def repair(
    faults: Sequence[str],
    members: IntArray,
    weights: FloatArray,
    works: Sequence[Work],
    *,
    alone: FloatArray | None = None,
    charges: Charges | None = None,
    whole: bool = False,
) -> Repair:
    """The decision's arrays from a belief: `members` is (sets, k), padded with the number of faults.

    `alone` is (faults,): the chance of each fault that is independent of the sets and of the others. Works
    that cannot pay whatever else is done are left out, and so are differences between faults that no other
    work tells apart: a class then costs the mean over its faults. `whole` keeps all of them.

    Raises
    ------
    CatalogueError : a fault that none of the works puts right.
    """
    charges = charges or Charges()
    members, weights = np.asarray(members), np.asarray(weights, dtype=np.float64)
    weights = weights / weights.sum()
    apart = np.zeros(len(faults)) if alone is None else np.minimum(alone, 1.0 - 1e-12)
    table = np.array([[fault in work.cures for fault in faults] for work in works], dtype=bool)
    table = table.reshape(len(works), len(faults))
    orphans = [faults[int(index)] for index in np.flatnonzero(~np.asarray(table.any(axis=0)))]
    if orphans:
        raise CatalogueError(f"no work puts right: {', '.join(orphans)}")
    own, way = _second_visits(works, table, charges)
    held = apart + sum(np.bincount(column, weights, len(faults) + 1)[:-1] for column in members.T)
    kept = np.ones(len(works), dtype=bool) if whole else _may_pay(works, table, held, own + way, charges)
    deep = np.array([work.depth == BOX_OUT for work in works], dtype=bool)
    deep_only = ~table[~deep].any(axis=0)
    telling = np.vstack([table[kept], deep_only, ~table[kept].any(axis=0)])
    signatures, class_of = np.unique(telling, axis=1, return_inverse=True)
    class_of, classes = class_of.reshape(-1), signatures.shape[1]
    mean = np.bincount(class_of, held, classes) + 1e-300
    padded = np.append(class_of, classes)
    open_sets, weights, lost = _classed(padded, members, weights)
    clear = np.bincount(class_of, np.log1p(-apart), classes)
    open_sets, weights, more = _joined(open_sets, weights, -np.expm1(clear))
    return Repair(
        works=tuple(work for work, keep in zip(works, kept, strict=True) if keep),
        charges=charges,
        class_of=padded,
        open_sets=open_sets,
        weights=weights,
        cures=signatures[:-2],
        second_own=np.bincount(class_of, (held + 1e-300 / classes) * own, classes) / mean,
        second_way=np.bincount(class_of, (held + 1e-300 / classes) * way, classes) / mean,
        deep_only=signatures[-2],
        neglected=min(1.0, lost + more),
    )


def _second_visits(
    works: Sequence[Work], table: BoolArray, charges: Charges
) -> tuple[FloatArray, FloatArray]:
    """Cost of each fault's cheapest remedy on a second visit: the work, and the way (faults,) [h]."""
    own = np.array([work.hours_at(work.depth) + work.parts_worth for work in works])
    own = own + come_back_costs(works, charges)
    way = np.array([work.opening for work in works])
    remedy = np.argmin(np.where(table, (own + way)[:, None], np.inf), axis=0)
    dearer = 1.0 + charges.missed
    return dearer * own[remedy], dearer * way[remedy]


def _may_pay(
    works: Sequence[Work], table: BoolArray, held: FloatArray, second: FloatArray, charges: Charges
) -> BoolArray:
    """Works that could save more than they cost where all else that helps is done, (works,)."""
    # With the box out the work in the car is nearer and the pan needs no way of its own, so that the first
    # work to take it out may cost less than it does alone.
    nearer = sum(work.hours - work.shared for work in works if work.depth == IN_CAR)
    nearer += max((work.opening for work in works if work.depth == PAN_OFF), default=0.0)
    least = np.array(
        [
            work.parts_worth
            + (min(work.shared, work.hours - nearer) if work.depth == BOX_OUT else work.shared)
            for work in works
        ]
    )
    back = come_back_costs(works, charges)
    worst = np.where(table, back[:, None], 0.0).max(axis=0)
    saved = np.maximum(second + charges.return_visit, worst) - back[:, None]
    return np.asarray((table * held * np.maximum(saved, 0.0)).sum(axis=1) > least)


def opened(class_of: IntArray, members: IntArray) -> BoolArray:
    """Which classes each set of faults holds, (sets, classes)."""
    open_sets = np.zeros((len(members), int(class_of[-1]) + 1), dtype=bool)
    every = np.arange(len(members))
    for column in members.T:
        open_sets[every, class_of[column]] = True
    return open_sets[:, :-1]


def _classed(
    class_of: IntArray, members: IntArray, weights: FloatArray
) -> tuple[BoolArray, FloatArray, float]:
    """Sets of faults as sets of classes, the heaviest of them, and the belief on the others."""
    seen = weights > UNSEEN
    lost = float(weights[~seen].sum())
    members, weights = members[seen], weights[seen]
    merged, weights = _merged(opened(class_of, members), weights)
    heavy, weights, more = _heaviest(merged, weights)
    return heavy, weights, lost + more


def _heaviest(open_sets: BoolArray, weights: FloatArray) -> tuple[BoolArray, FloatArray, float]:
    """The sets that carry the belief, renormalised, and the belief on the others."""
    weights = weights / weights.sum()
    kept = np.arange(len(weights))
    if len(weights) > CARRIED:
        kept = np.argpartition(weights, -CARRIED)[-CARRIED:]
    kept = kept[np.argsort(-weights[kept], kind="stable")]
    kept = kept[: 1 + int(np.searchsorted(np.cumsum(weights[kept]), MASS))]
    mass = float(weights[kept].sum())
    return open_sets[kept], weights[kept] / mass, max(0.0, 1.0 - mass)


def _joined(
    open_sets: BoolArray, weights: FloatArray, alone: FloatArray
) -> tuple[BoolArray, FloatArray, float]:
    """The sets joined by classes that are there independently of them, the likeliest first."""
    lost = 0.0
    for index in np.argsort(-alone, kind="stable"):
        if alone[index] < FAINT:
            break
        heavy = weights * alone[index] > FAINT / len(weights)
        joined = open_sets[heavy].copy()
        joined[:, index] = True
        weights = np.concatenate([weights * (1.0 - alone[index]), weights[heavy] * alone[index]])
        open_sets = np.concatenate([open_sets, joined])
        if len(weights) > 2 * CARRIED:
            open_sets, weights, more = _heaviest(open_sets, weights)
            lost += more
    open_sets, weights = _merged(open_sets, weights)
    open_sets, weights, more = _heaviest(open_sets, weights)
    return open_sets, weights, lost + more


def _merged(open_sets: BoolArray, weights: FloatArray) -> tuple[BoolArray, FloatArray]:
    """Sets that hold the same classes as one."""
    packed = np.packbits(open_sets, axis=1)
    wide = np.zeros((len(packed), 8 * (1 + (packed.shape[1] - 1) // 8)), dtype=np.uint8)
    wide[:, : packed.shape[1]] = packed
    keys = wide.view(np.uint64)
    key = keys[:, 0] if keys.shape[1] == 1 else _numbered(keys)
    _, first, place = np.unique(key, return_index=True, return_inverse=True)
    return open_sets[first], np.asarray(np.bincount(place.reshape(-1), weights, len(first)))


def _numbered(keys: NDArray[np.uint64]) -> IntArray:
    """The number of each row among the different rows."""
    return np.asarray(np.unique(keys, axis=0, return_inverse=True)[1].reshape(-1))
