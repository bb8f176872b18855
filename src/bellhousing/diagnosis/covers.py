"""What would have to be done for each set of faults that may be there, and how likely each bill is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bellhousing.diagnosis.repair_costs import Repair, come_back_costs, hours_together
from bellhousing.diagnosis.works import BOX_OUT, Work

LIKELY = 0.97
"""Share of belief whose sets are each priced; the rest is told as something else."""

MOST_SETS = 160
"""At most so many sets are priced, the heaviest first."""


@dataclass(frozen=True)
class Bill:
    """Works that some sets of faults call for alike: indices, chance, and range of hours and parts [h].

    `works` is empty for what is left over: nothing of what was found, or sets too rare to be priced.
    """

    works: tuple[int, ...]
    chance: float
    hours: tuple[float, float]
    parts: tuple[float, float]


def least_cover(works: Sequence[Work], options: Sequence[Sequence[int]], extra: Sequence[float]) -> list[int]:
    """The works of least hours, parts and come-backs that put all faults right, none needless; exact.

    `options` holds for each fault the works that cure it, `extra` the expected come-backs of each work [h].
    """
    best: tuple[float, list[int]] = (float("inf"), [])

    def cost(chosen: list[int]) -> float:
        picked = [works[index] for index in chosen]
        return hours_together(picked) + sum(works[i].parts_worth + extra[i] for i in chosen)

    def least(chosen: list[int]) -> float:
        # Once the box is out every work takes its shared hours, and no further one makes it cheaper.
        way = max((works[i].opening for i in chosen if works[i].depth == BOX_OUT), default=0.0)
        return way + sum(works[i].shared + works[i].parts_worth + extra[i] for i in chosen)

    def extend(chosen: list[int], left: list[Sequence[int]]) -> None:
        nonlocal best
        left = [option for option in left if not set(option) & set(chosen)]
        if least(chosen) >= best[0]:
            return
        if not left:
            best = min(best, (cost(chosen), sorted(chosen)))
            return
        for index in min(left, key=len):
            extend([*chosen, index], left)

    extend([], list(options))
    return best[1]


def covers(
    repair: Repair, usable: Sequence[int], most: int = MOST_SETS
) -> list[tuple[tuple[int, ...], float]]:
    """The least works for each of the heaviest sets of faults, with the belief on it."""
    extra = come_back_costs(repair.works, repair.charges).tolist()
    options = [[i for i in usable if repair.cures[i, c]] for c in range(repair.cures.shape[1])]
    order = np.argsort(-repair.weights, kind="stable")
    total, found = 0.0, []
    for z in order[:most]:
        needs = [options[c] for c in np.flatnonzero(repair.open_sets[z])]
        found.append((tuple(least_cover(repair.works, needs, extra)), float(repair.weights[z])))
        total += found[-1][1]
        if total >= LIKELY:
            break
    return found


def bills(repair: Repair, usable: Sequence[int], least: float = 0.04) -> tuple[Bill, ...]:
    """What the job may come to, likeliest first; bills that differ only by small work beside are one.

    With the box out it is the works that need it out which name the bill, else all of them.
    """
    named: dict[tuple[int, ...], list[tuple[tuple[int, ...], float]]] = {}
    for cover, weight in covers(repair, usable):
        deep = tuple(index for index in cover if repair.works[index].depth == BOX_OUT)
        named.setdefault(deep or cover, []).append((cover, weight))
    kept = [
        Bill(
            key,
            sum(weight for _, weight in rows),
            _range([repair.work_hours(cover) for cover, _ in rows]),
            _range([repair.parts(cover) for cover, _ in rows]),
        )
        for key, rows in named.items()
        if key
    ]
    kept = sorted((bill for bill in kept if bill.chance >= least), key=lambda bill: -bill.chance)
    rest = max(0.0, 1.0 - sum(bill.chance for bill in kept))
    return (*kept, Bill((), rest, (0.0, 0.0), (0.0, 0.0)))


def _range(values: Sequence[float]) -> tuple[float, float]:
    return min(values), max(values)
