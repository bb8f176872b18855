"""What was decided against what was wrong: right work, needless removals, and what the cure comes to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from bellhousing.diagnosis.best_works import best_works
from bellhousing.diagnosis.catalogue import load_catalogue
from bellhousing.diagnosis.covers import least_cover
from bellhousing.diagnosis.repair_costs import Charges, FloatArray, IntArray, Repair, come_back_costs, repair
from bellhousing.diagnosis.works import BOX_OUT, Work, load_works, works_of

Works = frozenset[str]


@dataclass(frozen=True)
class Verdict:
    """How a decision fared on one car, prices in hours of labour [h].

    Right is a decision that puts every fault right and does not take the box out for nothing; exact is one
    that is right and holds no work that puts nothing right.
    """

    right: bool
    exact: bool
    cured: bool
    needless_removal: bool
    wrong_removal: bool
    missed_removal: bool
    price: float
    best_price: float


@dataclass(frozen=True)
class Judge:
    """The works of one family, and the one function that turns a belief into a decision."""

    family: str
    faults: tuple[str, ...]

    @cached_property
    def works(self) -> tuple[Work, ...]:
        """Every work but the exchange of the whole box."""
        load_catalogue()
        everything = works_of(load_works(), self.family, self.faults)
        return tuple(work for work in everything if not work.exchange)

    @cached_property
    def _place(self) -> Mapping[str, int]:
        return {work.id: index for index, work in enumerate(self.works)}

    @cached_property
    def _deep_only(self) -> frozenset[str]:
        """Faults that nothing but a work with the box out puts right."""
        shallow = {fault for work in self.works if work.depth < BOX_OUT for fault in work.cures}
        return frozenset(self.faults) - shallow

    def decide(
        self, members: IntArray, weights: FloatArray, alone: FloatArray | None = None
    ) -> tuple[Works, float]:
        """The works of least expected cost for a belief, and the chance it gives them of being right."""
        found = repair(self.faults, members, weights, self.works, alone=alone)
        best = best_works(found).best
        return frozenset(found.works[index].id for index in best.chosen), best.right

    def cure(self, named: Sequence[str]) -> Works:
        """The works of least price that put right the faults named."""
        options = [[i for i, work in enumerate(self.works) if fault in work.cures] for fault in named]
        chosen = least_cover(self.works, options, come_back_costs(self.works, Charges()).tolist())
        return frozenset(self.works[index].id for index in chosen)

    def verdict(self, works: Works, faults: Sequence[str]) -> Verdict:
        """Judge a decision on a car with these faults that matter."""
        chosen = [work for work in self.works if work.id in works]
        cured = all(any(fault in work.cures for work in chosen) for fault in faults)
        deep = [work for work in chosen if work.depth == BOX_OUT]
        needs = [fault for fault in faults if fault in self._deep_only]
        idle = [work for work in chosen if not any(fault in work.cures for fault in faults)]
        needless = bool(deep) and not needs
        best = self.cure(list(faults))
        return Verdict(
            right=cured and not needless,
            exact=cured and not needless and not idle,
            cured=cured,
            needless_removal=needless,
            wrong_removal=bool(deep) != bool(needs),
            missed_removal=bool(needs) and not deep,
            price=self.price(works, faults),
            best_price=self.price(best, faults),
        )

    def price(self, works: Works, faults: Sequence[str]) -> float:
        """What works come to on a car with these faults, second visits and come-backs included [h]."""
        truth = self._truth(tuple(sorted(faults)))
        return float(truth.weights @ truth.by_set([self._place[name] for name in sorted(works)]))

    def _truth(self, faults: tuple[str, ...]) -> Repair:
        members = np.array([[self.faults.index(fault) for fault in faults] or [len(self.faults)]])
        return repair(self.faults, members, np.ones(1), self.works, whole=True)
