"""Inside, outside or cannot tell: how sure a reading makes one of its window, judged by which rule."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

import numpy as np

from bellhousing.errors import QuantityError
from bellhousing.fits.student import student_cdf
from bellhousing.quantities.odds import in_100

INSIDE, OUTSIDE, CANNOT_TELL = "inside", "outside", "cannot tell"
Outcome = Literal["inside", "outside", "cannot tell"]
RuleName = Literal["sure", "simple", "guarded"]
RULES: tuple[RuleName, ...] = ("sure", "simple", "guarded")
_NORMAL = NormalDist()
_LEAST = 1e-12


@dataclass(frozen=True)
class Rule:
    """How a reading is judged.

    Parameters
    ----------
    name : `sure` asks for `confidence` either way (ISO 14253-1: conforming or not, each must be proven, not
        conforming beyond the one end the reading lies beyond, so that a coarse instrument proves nothing);
        `simple` takes the reading as it stands (JCGM 106:2012, 8.2: shared risk); `guarded` takes `factor`
        standard uncertainties off both ends before it says inside, and adds them before it says outside
        (JCGM 106:2012, 8.3)
    confidence : probability that `sure` asks for [1]
    factor : guard band in standard uncertainties; 1.645 leaves one in twenty beyond a single limit [1]
    """

    name: RuleName = "sure"
    confidence: float = 0.95
    factor: float = 1.645

    def __post_init__(self) -> None:
        if self.name not in RULES:
            raise QuantityError(
                f"no rule is called {self.name!r}", remedy=f"the rules are {', '.join(RULES)}"
            )
        if not 0.5 < self.confidence < 1.0:
            raise QuantityError("a rule's confidence lies between 0.5 and 1", remedy="0.95 is usual")
        if self.factor < 0.0:
            raise QuantityError("a guard band is never negative", remedy="1.645 is usual")

    @property
    def text(self) -> str:
        """The rule in words."""
        if self.name == "simple":
            return "taken as read: inside if the figure lies in the window, whatever its uncertainty"
        if self.name == "guarded":
            return f"guard band of {self.factor:g} standard uncertainties at each end of the window"
        return f"inside or outside only when {100 * self.confidence:g} in 100 sure of it"


def conformity(low: float, high: float, value: float, uncertainty: float, freedom: float = math.inf) -> float:
    """Probability that the true value lies in a window: Φ((high - y)/u) - Φ((low - y)/u) [1].

    With finite degrees of freedom it is Student's distribution instead. An infinite end is open.

    Source: JCGM 106:2012, 7.2 to 7.4.
    """
    u = max(uncertainty, _LEAST)
    if math.isinf(freedom):
        return _phi((high - value) / u) - _phi((low - value) / u)
    above = 1.0 if math.isinf(high) else student_cdf((high - value) / u, freedom)
    below = 0.0 if math.isinf(low) else student_cdf((low - value) / u, freedom)
    return above - below


def _phi(z: float) -> float:
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


@dataclass(frozen=True)
class Judgement:
    """What a rule makes of a reading; `probability` is that of the true value being in the window [1]."""

    outcome: Outcome
    probability: float
    side: str
    rule: Rule

    @property
    def text(self) -> str:
        """The outcome in a few words: "above, 97 in 100", "cannot tell, 60 in 100 inside"."""
        if self.outcome == INSIDE:
            return f"inside, {in_100(self.probability)}"
        if self.outcome == OUTSIDE:
            return f"{self.side}, {in_100(1.0 - self.probability)}"
        return f"cannot tell, {in_100(self.probability)} inside"


def judge(
    low: float,
    high: float,
    value: float,
    uncertainty: float,
    *,
    rule: Rule | None = None,
    freedom: float = math.inf,
) -> Judgement:
    """Judge a reading against a window.

    Raises
    ------
    QuantityError : a window that does not run from low to high
    """
    if not low <= high:
        raise QuantityError("the window does not run from low to high", remedy="write the lower end first")
    taken = rule or Rule()
    probability = conformity(low, high, value, uncertainty, freedom)
    side = "below" if value < low or (value <= high and value - low < high - value) else "above"
    return Judgement(_outcome(taken, low, high, value, uncertainty, freedom), probability, side, taken)


def _outcome(
    rule: Rule, low: float, high: float, value: float, uncertainty: float, freedom: float
) -> Outcome:
    if rule.name == "simple":
        return "inside" if low <= value <= high else "outside"
    if rule.name == "guarded":
        guard = rule.factor * uncertainty
        if low + guard <= value <= high - guard:
            return "inside"
        return "outside" if value < low - guard or value > high + guard else "cannot tell"
    if conformity(low, high, value, uncertainty, freedom) >= rule.confidence:
        return "inside"
    if low <= value <= high:
        return "cannot tell"
    ends = (high, math.inf) if value > high else (-math.inf, low)
    beyond = conformity(*ends, value, uncertainty, freedom)
    return "outside" if beyond >= rule.confidence else "cannot tell"


def uncertainty_needed(low: float, high: float, value: float, *, rule: Rule | None = None) -> float:
    """The largest standard uncertainty at which the same reading would be judged; 0 if it lies on a limit.

    Found by bisection: within the window and beyond it, less uncertainty is always more certainty.
    """
    taken = rule or Rule()
    if value in (low, high):
        return 0.0
    ends = [abs(end - value) for end in (low, high) if math.isfinite(end)]
    if not ends:
        return math.inf
    small, great = 0.0, 10.0 * max(ends)
    if judge(low, high, value, great, rule=taken).outcome != CANNOT_TELL and taken.name == "simple":
        return math.inf
    for _ in range(80):
        middle = (small + great) / 2.0
        if judge(low, high, value, middle, rule=taken).outcome == CANNOT_TELL:
            great = middle
        else:
            small = middle
        if great - small < 1e-9 * great:
            break
    return small


@dataclass(frozen=True)
class Risks:
    """What a rule does to a whole batch, each a part of all pieces [1].

    Parameters
    ----------
    conforming : pieces whose true value lies in the window
    rejected_good : conforming pieces that are turned away (the producer's risk)
    accepted_bad : pieces outside the window that are let through (the consumer's risk)
    """

    conforming: float
    rejected_good: float
    accepted_bad: float


def batch_risks(
    window: tuple[float, float],
    acceptance: tuple[float, float],
    *,
    mean: float,
    spread: float,
    uncertainty: float,
) -> Risks:
    """Risks of taking pieces by an acceptance interval: normal process, normal measuring, both integrated.

    R_C = ∫ outside the window g(η) P(accepted | η) dη, R_P = ∫ inside g(η) (1 - P(accepted | η)) dη.

    Source: JCGM 106:2012, 9.5.
    """
    nodes, weights = np.polynomial.legendre.leggauss(120)

    def over(low: float, high: float, accepted: bool) -> float:
        total = 0.0
        edges = np.linspace(low, high, 9)
        for start, end in itertools.pairwise(edges):
            true = (start + end) / 2.0 + nodes * (end - start) / 2.0
            density = np.exp(-0.5 * ((true - mean) / spread) ** 2) / (spread * math.sqrt(2.0 * math.pi))
            passed = np.array(
                [conformity(acceptance[0], acceptance[1], float(value), uncertainty) for value in true]
            )
            share = passed if accepted else 1.0 - passed
            total += float((weights * density * share).sum()) * float(end - start) / 2.0
        return total

    far = 9.0 * spread
    low, high = max(window[0], mean - far), min(window[1], mean + far)
    bad = over(mean - far, low, True) + over(high, mean + far, True) if low < high else 0.0
    return Risks(conformity(window[0], window[1], mean, spread), over(low, high, False), bad)
