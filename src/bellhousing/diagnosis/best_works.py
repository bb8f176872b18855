"""The set of works that costs least on average, found by exact branch and bound with shared access."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.repair_costs import BoolArray, FloatArray, Repair
from bellhousing.diagnosis.works import BOX_OUT, IN_CAR, PAN_OFF

MOST_NODES = 4000
"""Nodes after which the search ends with the best found, saying so."""

SLACK = 1e-9
"""Hours by which a bound must win [h]."""


@dataclass(frozen=True)
class Choice:
    """A set of works (indices into the repair's), its expected cost [h] and the chance that it is right."""

    chosen: tuple[int, ...]
    expected: float
    right: float


@dataclass(frozen=True)
class BestWorks:
    """The works that cost least on average, and the best with the box in and with the box out.

    `proved` is false where the search ended before it had looked at everything.
    """

    best: Choice
    in_car: Choice
    box_out: Choice | None
    proved: bool
    nodes: int


@dataclass
class _Search:
    """The best found so far among the choices of one kind, and how many nodes were looked at."""

    repair: Repair
    chosen: tuple[int, ...] = ()
    expected: float = float("inf")
    nodes: int = 0
    tried: set[tuple[int, ...]] = field(default_factory=set)

    def offer(self, chosen: tuple[int, ...]) -> float:
        """Take a choice if it is better than the best."""
        chosen = tuple(sorted(chosen))
        expected = self.repair.expected(chosen)
        if expected < self.expected - SLACK:
            self.chosen, self.expected = chosen, expected
        return expected


@dataclass(frozen=True)
class _Base:
    """How far the car is taken apart: the works that are done anyway, those that may be added, their hours.

    With the way paid for, every further work adds its own hours and parts only: `own` is (works,) [h].
    """

    done: tuple[int, ...]
    free: tuple[int, ...]
    own: FloatArray
    paid: float


def best_works(repair: Repair) -> BestWorks:
    """The works of least expected cost, exact over every combination of them.

    For each way into the box (in the car, pan off, each set of works with the box out) the rest are added or
    left by bounds on what a work can still gain: with d(D, w) the fall of the expected cost when w joins D,
    upper(w) >= d(D, w) >= lower(w) for every D still open, so that w stays out if upper(w) <= 0, goes in if
    lower(w) > 0, and the cost of any D that adds works to I is at least E(I) - sum max(0, upper).

    Reference: branch and bound, A. Land and A. Doig, Econometrica 28, 1960; fixing by extreme marginal gains
    as in B. Goldengorin et al., Management Science 45, 1999 (both from memory).
    """
    car, out = _Search(repair), _Search(repair)
    car.offer(())
    for base in _bases(repair):
        search = out if repair.deep[list(base.done)].any() else car
        _branch(search, base, base.done, base.free)
    in_car = _choice(repair, car.chosen)
    box_out = _choice(repair, out.chosen) if out.chosen else None
    best = in_car if box_out is None or in_car.expected <= box_out.expected else box_out
    nodes = car.nodes + out.nodes
    return BestWorks(best, in_car, box_out, max(car.nodes, out.nodes) < MOST_NODES, nodes)


def _choice(repair: Repair, chosen: tuple[int, ...]) -> Choice:
    return Choice(chosen, repair.expected(chosen), repair.chance_right(chosen))


def _bases(repair: Repair) -> Iterator[_Base]:
    """Every way into the box, the shallow ones first; with the box out, by the first work that needs it."""
    works = repair.works
    shallow = [index for index, work in enumerate(works) if work.depth == IN_CAR]
    pan = [index for index, work in enumerate(works) if work.depth == PAN_OFF]
    deep = [index for index, work in enumerate(works) if work.depth == BOX_OUT]
    own = [
        np.array([work.hours_at(max(depth, work.depth)) + work.parts_worth for work in works])
        for depth in (IN_CAR, PAN_OFF, BOX_OUT)
    ]
    yield _Base((), tuple(shallow), own[IN_CAR], 0.0)
    for way in sorted({works[index].opening for index in pan}):
        reached = [index for index in pan if works[index].opening <= way]
        yield _Base((), tuple(shallow + reached), own[PAN_OFF], way)
    deep.sort(key=lambda index: works[index].hours)
    for place, first in enumerate(deep):
        later = deep[place + 1 :]
        for way in sorted({works[index].opening for index in (first, *later)}):
            if works[first].opening <= way:
                reached = [index for index in later if works[index].opening <= way]
                yield _Base((first,), tuple(shallow + pan + reached), own[BOX_OUT], way + repair.needless)


def _branch(search: _Search, base: _Base, taken: tuple[int, ...], free: tuple[int, ...]) -> None:
    """Settle what bounds settle, then split on the work that is most in doubt."""
    repair = search.repair
    if _charged(base, taken) >= search.expected or search.nodes >= MOST_NODES:
        return
    while True:
        search.nodes += 1
        bounds = _bounds(repair, base, taken, free)
        added = tuple(index for index, low in zip(free, bounds.lower, strict=True) if low > SLACK)
        left = tuple(
            index
            for index, low, high in zip(free, bounds.lower, bounds.upper, strict=True)
            if low <= SLACK < high
        )
        taken = taken + added
        if (not added and len(left) == len(free)) or not left:
            free = left
            break
        free = left
    if not free:
        search.offer(taken)
        return
    expected = search.offer(taken) + _surplus(repair, base, taken)
    most = min(np.maximum(bounds.upper, 0.0).sum(), np.maximum(bounds.shared, 0.0).sum())
    if expected - float(most) >= search.expected - SLACK:
        return
    doubt = np.minimum(bounds.upper, -bounds.lower)
    split = int(np.argmax(doubt))
    rest = free[:split] + free[split + 1 :]
    first_in = bounds.upper[split] > -bounds.lower[split]
    for inside in (first_in, not first_in):
        _branch(search, base, (*taken, free[split]) if inside else taken, rest)


def _charged(base: _Base, taken: tuple[int, ...]) -> float:
    return base.paid + sum(float(base.own[index]) for index in taken)


def _surplus(repair: Repair, base: _Base, taken: tuple[int, ...]) -> float:
    """What the base charges beyond the true cost of what is taken so far [h]."""
    true = repair.work_hours(taken) + repair.parts(taken)
    if repair.deep[list(taken)].any():
        true += repair.needless
    return _charged(base, taken) - true


@dataclass(frozen=True)
class _Bounds:
    """Of each free work: least and greatest fall of the expected cost when it joins, and a fair share of it.

    The fall that any free works bring together is at most the sum of their shares.
    """

    lower: FloatArray
    upper: FloatArray
    shared: FloatArray


def _bounds(repair: Repair, base: _Base, taken: tuple[int, ...], free: tuple[int, ...]) -> _Bounds:
    """Bounds on what each free work saves when it joins any choice still open [h]."""
    picked, others = list(taken), list(free)
    cured = repair.cured(picked)
    reach = repair.cures[others]
    new = reach & ~cured  # (free, classes)
    held, visit = repair.class_weights, repair.charges.return_visit
    back = repair.come_back[others][:, None]
    sole = new & (reach.sum(axis=0) == 1)
    fixed = -base.own[others] - (sole * held * back).sum(axis=1)
    # Come-backs: what w puts right newly may come back; what another puts right may come back less.
    lower = sole @ (held * repair.second_own) - base.own[others] - (new * held * back).sum(axis=1)
    better = np.maximum(0.0, _worst_come_back(repair, picked, others, cured) - back) * (reach & ~sole)
    upper = fixed + (better * held).sum(axis=1) + new @ (held * repair.second_own)
    way = np.where(new, repair.second_way, 0.0).max(axis=1, initial=0.0)
    rest = repair.incidence * ~cured
    left = rest.sum(axis=1)
    # A visit is saved only in sets that what is free can still put right altogether.
    beyond = ~cured & ~reach.any(axis=0)
    saved = repair.weights * ((left > 0.0) & ~(rest[:, beyond] > 0.0).any(axis=1))
    shared = upper + new @ _fair_shares(repair, rest, left, saved)
    doubtful = np.flatnonzero((upper + (way + visit) * (new @ held) > 0.0) & (lower <= SLACK))
    meets = rest @ new[doubtful].T.astype(np.float32) > 0.0
    loose = (way + visit) * np.minimum(1.0, new @ held)
    loose[doubtful] = way[doubtful] * (repair.weights @ meets) + visit * (saved @ meets)
    upper += loose
    settled = rest @ sole[doubtful].T.astype(np.float32) == left[:, None]
    lower[doubtful] += visit * (saved @ settled)
    return _Bounds(lower, upper, shared)


def _fair_shares(
    repair: Repair, rest: NDArray[np.float32], left: NDArray[np.float32], saved: FloatArray
) -> FloatArray:
    """The visit and the way of each set shared among the classes open in it (classes,) [h].

    A visit is saved when all of them are put right, so each may claim its part; a way at most by that class
    whose way is the longest.
    """
    visit = (saved / np.maximum(left, 1.0)) @ rest * repair.charges.return_visit
    ways = rest * repair.second_way.astype(np.float32)
    longest = ways.argmax(axis=1)
    way = np.bincount(longest, repair.weights * ways[np.arange(len(ways)), longest], rest.shape[1])
    return np.asarray(visit + way)


def _worst_come_back(repair: Repair, picked: list[int], others: list[int], cured: BoolArray) -> FloatArray:
    """The dearest come-back that a class can have before one more work reaches it (classes,) [h]."""
    open_ones = np.where(repair.cures[others], repair.come_back[others][:, None], 0.0)
    worst = open_ones.max(axis=0, initial=0.0)
    if picked:
        kept = np.where(repair.cures[picked], repair.come_back[picked][:, None], np.inf).min(axis=0)
        worst = np.where(cured, kept, worst)
    return np.asarray(worst)
