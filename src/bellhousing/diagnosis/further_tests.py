"""When to stop testing: which tests would still save more than they cost, given the works to choose from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from bellhousing.diagnosis.covers import covers
from bellhousing.diagnosis.look_ahead import Worth, distinct, worth_of_knowing_all, worth_of_tests
from bellhousing.diagnosis.outcomes import Outcomes
from bellhousing.diagnosis.plan import Plan
from bellhousing.diagnosis.repair_costs import FloatArray, opened

MOST_COVERS = 40
"""Sets of faults whose least works are among the choices, the heaviest first."""

MINUTES = 60.0
"""Minutes of an hour [min/h]."""


@dataclass(frozen=True)
class FurtherTests:
    """Tests that pay, the most saved for its price first, and what knowing everything would save [h].

    A test is looked at by itself, one step ahead; `all_known` bounds what any number of them could save.
    """

    paying: tuple[Worth, ...]
    all_known: float

    @property
    def hours(self) -> tuple[float, float]:
        """Hours of testing that may be worth it: the first test, and all that pay within the bound [h]."""
        prices = [worth.costs for worth in self.paying]
        return (prices[0], min(sum(prices), max(prices[0], self.all_known))) if prices else (0.0, 0.0)


def further_tests(plan: Plan, outcomes: Outcomes, minutes: Mapping[str, float]) -> FurtherTests:
    """One step ahead: the least expected cost after each test less that without it, against its minutes.

    Choices are the best works, those with the box in and out, each with one work more or less, and what the
    heaviest sets of faults call for by themselves; so a saving is at least what is said. Source: G. Gorry and
    G. Barnett, Computers and Biomedical Research 1, 1968 (from memory).
    """
    costs = _costs(plan, outcomes)
    prices = {name: minutes[name] / MINUTES for name in outcomes.chances}
    paying = worth_of_tests(outcomes.weights, costs, outcomes.chances, prices)
    return FurtherTests(paying, worth_of_knowing_all(outcomes.weights, costs))


def _costs(plan: Plan, outcomes: Outcomes) -> FloatArray:
    """Cost of each choice for each carried set of faults, (sets, choices) [h]."""
    found = plan.found
    place = {work.id: index for index, work in enumerate(found.works)}
    usable = [index for index, work in enumerate(found.works) if not work.exchange]
    named = [tuple(place[work.id] for work in option.works) for option in plan.options]
    alone = [cover for cover, _ in covers(found, usable, MOST_COVERS)]
    singles = {index for cover in alone for index in cover}
    base = named[0]
    more = [(*base, index) for index in singles if index not in base]
    less = [tuple(other for other in base if other != index) for index in base]
    choices = distinct([*named, (), *alone, *more, *less])
    sets = opened(found.class_of, outcomes.members)
    return np.stack([found.by_set(choice, sets) for choice in choices], axis=1)
