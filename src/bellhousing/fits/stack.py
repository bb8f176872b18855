"""Stack-ups: what a gap comes to when every part of it has its tolerance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bellhousing.errors import QuantityError
from bellhousing.fits.uncertainty import Array, Drawn, Input, bounded, known, monte_carlo


@dataclass(frozen=True)
class Member:
    """One part of a stack.

    Parameters
    ----------
    name : what it is
    sign : +1 if a longer one opens the gap, -1 if it closes it; other figures for levers and slopes
    size : nominal or measured size [m]
    tolerance : half-width of its tolerance; what a measured size is not known to, at 95 in 100 [m]
    measured : whether the size was measured; then the tolerance is two standard uncertainties
    """

    name: str
    sign: float
    size: float
    tolerance: float = 0.0
    measured: bool = False

    def __post_init__(self) -> None:
        if not (math.isfinite(self.size) and math.isfinite(self.tolerance) and self.tolerance >= 0.0):
            raise QuantityError(
                "a size and its tolerance are figures, the tolerance not negative", where=self.name
            )

    @property
    def input(self) -> Input:
        """As an input that can be drawn: measured sizes normal, tolerances of bought parts rectangular.

        A rectangular tolerance is the careful choice where nothing is known of how the maker's sizes lie
        (JCGM 100:2008, 4.3.7).
        """
        if self.measured:
            return known(self.name, self.size, self.tolerance / 2.0)
        return bounded(self.name, self.size, self.tolerance)


@dataclass(frozen=True)
class StackUp:
    """What a stack comes to.

    Parameters
    ----------
    nominal : the gap when every part is as drawn [m]
    worst : half-width when every part is at its worst end, Σ|c| t [m]
    root_sum_square : half-width √Σ(c t)² [m]
    standard_uncertainty : one standard deviation of the gap [m]
    shares : part of the variance each member makes, in order [1]
    members : what it is made of
    """

    nominal: float
    worst: float
    root_sum_square: float
    standard_uncertainty: float
    shares: tuple[float, ...]
    members: tuple[Member, ...]


def stack_up(members: Sequence[Member]) -> StackUp:
    """Gap of a stack, nominal, worst case and root-sum-square: g = Σ c x, Σ|c| t, √Σ(c t)².

    Raises
    ------
    QuantityError : no members

    Source: ASME Y14.5 practice of linear one-dimensional chains; the sums are arithmetic.
    """
    if not members:
        raise QuantityError("a stack has no members", remedy="name the parts that open and close the gap")
    variances = [(entry.sign * entry.input.standard_uncertainty) ** 2 for entry in members]
    total = math.fsum(variances)
    return StackUp(
        nominal=math.fsum(entry.sign * entry.size for entry in members),
        worst=math.fsum(abs(entry.sign) * entry.tolerance for entry in members),
        root_sum_square=math.sqrt(math.fsum((entry.sign * entry.tolerance) ** 2 for entry in members)),
        standard_uncertainty=math.sqrt(total),
        shares=tuple(variance / total if total > 0.0 else 0.0 for variance in variances),
        members=tuple(members),
    )


def draw_stack(members: Sequence[Member], *, draws: int = 100_000, seed: int = 1) -> Drawn:
    """The gap by Monte Carlo, each member drawn from its own distribution."""
    signs = np.array([entry.sign for entry in members], dtype=np.float64)

    def gap(values: Array) -> Array:
        return np.asarray(signs @ values, dtype=np.float64)

    return monte_carlo(gap, [entry.input for entry in members], draws=draws, seed=seed)
