"""Whether one more test pays: what is decided now against what would be decided after it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Worth:
    """What a test saves on average and costs, in one unit; `changes` is the chance to decide otherwise.

    A saving found among some choices only is at least that much among all of them.
    """

    test: str
    saves: float
    costs: float
    changes: float

    @property
    def net(self) -> float:
        """Saving less cost."""
        return self.saves - self.costs


def cost_deciding_now(weights: FloatArray, costs: FloatArray) -> float:
    """Least expected cost without knowing more, min_d sum P(z) C(z, d); `costs` is (sets, choices)."""
    return float((weights @ costs).min())


def worth_of_knowing_all(weights: FloatArray, costs: FloatArray) -> float:
    """Expected value of perfect information: cost deciding now less sum P(z) min over d of C(z, d).

    Source: H. Raiffa and R. Schlaifer, Applied Statistical Decision Theory, 1961.
    """
    return cost_deciding_now(weights, costs) - float(weights @ costs.min(axis=1))


def worth_of_test(weights: FloatArray, costs: FloatArray, chances: FloatArray) -> tuple[float, float]:
    """Expected saving of deciding after a test, and the chance that it changes the decision.

    saving = min_d sum_z P(z) C(z, d) - sum_o min_d sum_z P(z) P(o | z) C(z, d); `chances`, P(o | z), is
    (sets, outcomes).
    """
    joint = (weights[:, None] * chances).T @ costs  # (outcomes, choices)
    now = weights @ costs
    best = joint.min(axis=1)
    stay = joint[:, int(np.argmin(now))]
    moved = best < stay - 1e-9
    return float(max(0.0, now.min() - best.sum())), float((weights @ chances)[moved].sum())


def worth_of_tests(
    weights: FloatArray, costs: FloatArray, chances: Mapping[str, FloatArray], prices: Mapping[str, float]
) -> tuple[Worth, ...]:
    """Every test that would save more than it costs, the greatest saving per cost first."""
    found = []
    for test, table in chances.items():
        saves, changes = worth_of_test(weights, costs, table)
        if saves > prices[test]:
            found.append(Worth(test, saves, prices[test], changes))
    return tuple(sorted(found, key=lambda worth: (-worth.saves / worth.costs, worth.test)))


def distinct(choices: Sequence[tuple[int, ...]]) -> tuple[tuple[int, ...], ...]:
    """Choices without repetition, in their order."""
    return tuple(dict.fromkeys(tuple(sorted(choice)) for choice in choices))
