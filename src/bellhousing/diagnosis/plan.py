"""What to do: the works that cost least on average, in which order, and what else the owner may choose."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from bellhousing.diagnosis.best_works import best_works
from bellhousing.diagnosis.covers import Bill, bills
from bellhousing.diagnosis.repair_costs import (
    BoolArray,
    Charges,
    FloatArray,
    IntArray,
    Repair,
    come_back_costs,
    repair,
)
from bellhousing.diagnosis.repair_order import chance_uncured, cheapest_order
from bellhousing.diagnosis.waiting import Outlook, Waiting, outlook
from bellhousing.diagnosis.works import BOX_OUT, IN_CAR, Work

RAISED = 1.2
"""A fault is spoken for when the findings have raised it by this factor over its prior."""

SPOKEN_FOR = 0.01
"""And when it is believed at least this much."""

TRIED = 6
"""Works that are put in order at most."""

WORTH_TRYING = 0.03
"""Least chance that a work beyond the best ones puts something right for it to be tried."""

SMALL = 0.6
"""Share of a work's own hours that it may still take in passing to be offered while the way is open."""

MOST_EXTRAS = 5
"""Works offered in passing at most."""


@dataclass(frozen=True)
class Option:
    """One thing that can be done: its hours and parts, what it comes to on average, whether it is right.

    `expected` [h] holds second visits, come-backs and the charge for a needless removal, too, for what the
    findings speak for. `cures` is the
    chance that nothing the findings speak for is left, `needless` that the box comes out for nothing.
    """

    works: tuple[Work, ...]
    hours: float
    parts: float
    expected: float
    cures: float
    needless: float


@dataclass(frozen=True)
class Step:
    """Works done before the car is driven again, their price [h], and the chance that it comes to them."""

    works: tuple[Work, ...]
    hours: float
    parts: float
    needed: float


@dataclass(frozen=True)
class InPassing:
    """A work that is cheap while the way is open: hours now and by itself [h], the chance that it is due."""

    work: Work
    now: float
    later: float
    chance: float


@dataclass(frozen=True)
class Plan:
    """The decision on one belief, all times and prices in hours of labour [h].

    `removal` is the chance that something calls for the box to come out, `pan_off` that something calls for
    the pan to come off and nothing for more, `bills` what the job may come to. `found` is the belief on what
    the findings speak for, on which all chances shown are reckoned.
    """

    best: Option
    in_car: Option
    box_out: Option | None
    exchange: Option | None
    leave: Option
    removal: float
    pan_off: float
    steps: tuple[Step, ...]
    in_passing: tuple[InPassing, ...]
    waiting: Outlook
    bills: tuple[Bill, ...]
    found: Repair
    proved: bool

    @property
    def options(self) -> tuple[Option, ...]:
        """The best, and the best with the box in and out, without repetition."""
        options = [self.best, self.in_car, *([] if self.box_out is None else [self.box_out])]
        return tuple({option.works: option for option in options}.values())

    @property
    def takes_box_out(self) -> bool:
        """Whether the best works need the box out."""
        return any(work.depth == BOX_OUT for work in self.best.works)


def make_plan(
    everything: Sequence[Work],
    waiting: Mapping[str, Waiting],
    faults: Sequence[str],
    members: IntArray,
    weights: FloatArray,
    *,
    alone: FloatArray | None = None,
    prior: FloatArray | None = None,
    charges: Charges | None = None,
) -> Plan:
    """The plan for a belief: `members` is (sets, k) indices of faults, padded with their number.

    `everything` are the works of the family, the exchange of the whole box among them.
    `alone` is the chance of each fault that is independent of the sets, `prior` what each was believed before
    anything was found, both (faults,). Decided is on everything that may be there; shown is what the findings
    speak for.

    Raises
    ------
    CatalogueError : a fault that no work puts right.
    """
    charges = charges or Charges()
    members, weights = np.asarray(members), np.asarray(weights, dtype=np.float64)
    works = [work for work in everything if not work.exchange]
    decided = repair(faults, members, weights, works, alone=alone, charges=charges)
    choice = best_works(decided)
    spoken = spoken_for(faults, members, weights, alone, prior)
    shown = np.where(np.append(spoken, False)[members], members, len(faults))
    found = repair(faults, shown, weights, everything, charges=charges, whole=True)
    whole = repair(faults, members, weights, everything, alone=alone, charges=charges, whole=True)
    place = {work.id: index for index, work in enumerate(everything)}

    def option(chosen: Sequence[Work]) -> Option:
        return _option(found, whole, [place[work.id] for work in chosen])

    def picked(chosen: tuple[int, ...]) -> Option:
        return option([decided.works[index] for index in chosen])

    best = picked(choice.best.chosen)
    usable = [index for index, work in enumerate(everything) if not work.exchange]
    removal = float(found.weights @ found.calls_for_removal)
    return Plan(
        best=best,
        in_car=picked(choice.in_car.chosen),
        box_out=None if choice.box_out is None else picked(choice.box_out.chosen),
        exchange=next((option([work]) for work in everything if work.exchange), None),
        leave=option([]),
        removal=removal,
        pan_off=max(0.0, _called_for(found, usable) - removal),
        steps=_steps(found, [place[work.id] for work in best.works], usable),
        in_passing=_in_passing(whole, best.works, usable),
        waiting=outlook([waiting[fault] for fault in faults], shown, weights),
        bills=bills(found, usable),
        found=found,
        proved=choice.proved,
    )


def _called_for(found: Repair, usable: Sequence[int]) -> float:
    """Chance of a fault that no work in the car puts right."""
    in_car = [index for index in usable if found.works[index].depth == IN_CAR]
    beyond = ~found.cured(in_car)
    return float(found.weights @ (found.open_sets & beyond).any(axis=1))


def spoken_for(
    faults: Sequence[str],
    members: IntArray,
    weights: FloatArray,
    alone: FloatArray | None,
    prior: FloatArray | None,
) -> BoolArray:
    """The faults that the findings have raised; all that are likely enough where no prior is known."""
    held = np.zeros(len(faults)) if alone is None else np.asarray(alone, dtype=np.float64)
    held = held + sum(np.bincount(column, weights, len(faults) + 1)[:-1] for column in members.T)
    likely = held >= SPOKEN_FOR
    return np.asarray(likely if prior is None else likely & (held > RAISED * prior))


def _option(found: Repair, whole: Repair, chosen: list[int]) -> Option:
    left = (found.open_sets & ~found.cured(chosen)).any(axis=1)
    deep = bool(found.deep[chosen].any())
    return Option(
        works=tuple(whole.works[index] for index in chosen),
        hours=whole.work_hours(chosen),
        parts=whole.parts(chosen),
        expected=found.expected(chosen),
        cures=float(found.weights @ ~left),
        needless=float(found.weights @ ~found.calls_for_removal) if deep else 0.0,
    )


def _steps(found: Repair, best: list[int], usable: Sequence[int]) -> tuple[Step, ...]:
    """The order of least expected cost of the best works and the likeliest others, if together they cure."""
    hit = found.weights @ ((found.incidence @ found.cures.T.astype(np.float32)) > 0.0)
    price = np.array([work.hours + work.parts_worth for work in found.works])
    tried = sorted(best, key=lambda index: -hit[index])[:TRIED]
    others = [index for index in usable if index not in tried and hit[index] >= WORTH_TRYING]
    for index in sorted(others, key=lambda index: -hit[index] / price[index]):
        if len(tried) < TRIED and _adds(found, tried, index):
            tried.append(index)
    reached = found.cured(tried)
    sets = found.open_sets & reached
    inside = sets.any(axis=1) & ~(found.open_sets & ~reached).any(axis=1)
    if not tried or not inside.any():
        return ()
    weights = found.weights[inside] / found.weights[inside].sum()
    order = cheapest_order(*_order_arrays(found, tried, sets[inside], weights))
    return tuple(
        Step(
            works=tuple(found.works[tried[index]] for index in step),
            hours=found.work_hours([tried[index] for index in step]),
            parts=found.parts([tried[index] for index in step]),
            needed=needed,
        )
        for step, needed in zip(order.steps, order.needed, strict=True)
    )


def _adds(found: Repair, tried: list[int], index: int) -> bool:
    """Whether a work puts something right that those tried do not."""
    new = found.cures[index] & ~found.cured(tried)
    return float(found.weights @ (found.open_sets & new).any(axis=1)) >= WORTH_TRYING


def _order_arrays(
    found: Repair, tried: list[int], sets: BoolArray, weights: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Chance uncured, cost of a step, cost of stopping and come-backs for each set of the works tried."""
    uncured = chance_uncured(found.cures[tried].astype(np.float64), sets, weights)
    size, held = 2 ** len(tried), weights @ sets
    step, stop, late = np.zeros(size), np.zeros(size), np.zeros(size)
    back = come_back_costs([found.works[index] for index in tried], found.charges)[:, None]
    for place in range(size):
        chosen = [index for bit, index in enumerate(tried) if place >> bit & 1]
        bits = [bit for bit in range(len(tried)) if place >> bit & 1]
        step[place] = found.work_hours(chosen) + found.parts(chosen) + found.charges.road_test
        if any(found.deep[index] for index in chosen):
            idle = ~(sets & found.deep_only).any(axis=1)
            step[place] += found.charges.needless_removal * float(weights @ idle)
        stop[place] = weights @ found.second_visit(sets & ~found.cured(chosen))
        least = np.where(found.cures[chosen], back[bits], np.inf).min(axis=0, initial=np.inf)
        late[place] = float(held @ np.where(np.isfinite(least), least, 0.0))
    return uncured, step, stop, late


def _in_passing(whole: Repair, best: tuple[Work, ...], usable: Sequence[int]) -> tuple[InPassing, ...]:
    """Works that are cheap while the way is open, and have a reason, the greatest saving first."""
    depth = max((work.depth for work in best), default=0)
    if depth == 0:
        return ()
    names = {work.id for work in best}
    chosen = [index for index in usable if whole.works[index].id in names]
    cured = whole.cured(chosen)
    found = []
    for index in usable:
        work, new = whole.works[index], whole.cures[index] & ~cured
        now = whole.work_hours([*chosen, index]) - whole.work_hours(chosen)
        if work.id in names or not work.while_open or work.depth > depth or not new.any():
            continue
        if now <= SMALL * work.hours:
            chance = float(whole.weights @ (whole.open_sets & new).any(axis=1))
            found.append(InPassing(work, now, work.hours, chance))
    found.sort(key=lambda extra: (-(extra.later - extra.now) * (0.05 + extra.chance), extra.work.id))
    return tuple(found[:MOST_EXTRAS])
