"""Inside, outside, cannot tell; and what would tell."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from bellhousing.errors import QuantityError
from bellhousing.fits.verdict import (
    CANNOT_TELL,
    INSIDE,
    OUTSIDE,
    Rule,
    batch_risks,
    conformity,
    judge,
    uncertainty_needed,
)


@pytest.mark.parametrize("freedom", [math.inf, 4.0])
@pytest.mark.parametrize("value", [-1.0, 0.0, 0.3, 1.9, 2.0, 4.0])
def test_conformity_is_the_area_between_the_ends(freedom: float, value: float) -> None:
    """By another library, normal and Student."""
    law = stats.norm(value, 0.7) if math.isinf(freedom) else stats.t(freedom, value, 0.7)
    assert conformity(0.0, 2.0, value, 0.7, freedom) == pytest.approx(float(law.cdf(2.0) - law.cdf(0.0)))


def test_open_ends() -> None:
    """A window open to one side is judged by the other."""
    assert conformity(-math.inf, 1.0, 1.0, 0.2) == pytest.approx(0.5)
    assert conformity(1.0, math.inf, 1.0, 0.2, 5.0) == pytest.approx(0.5)
    assert conformity(-math.inf, math.inf, 1.0, 0.2) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("rule", "value", "outcome"),
    [
        ("sure", 1.0, INSIDE),
        ("sure", 1.95, CANNOT_TELL),
        ("sure", 2.05, CANNOT_TELL),
        ("sure", 2.6, OUTSIDE),
        ("simple", 1.99, INSIDE),
        ("simple", 2.01, OUTSIDE),
        ("guarded", 1.8, INSIDE),
        ("guarded", 1.9, CANNOT_TELL),
        ("guarded", 2.1, CANNOT_TELL),
        ("guarded", 2.2, OUTSIDE),
    ],
)
def test_rules(rule: str, value: float, outcome: str) -> None:
    """Each rule says inside, outside or that it cannot tell where it should (u is 0.1)."""
    assert judge(0.0, 2.0, value, 0.1, rule=Rule(rule)).outcome == outcome  # type: ignore[arg-type]


def test_words_name_the_side() -> None:
    """Below, above, inside and cannot tell, each with its chance."""
    assert judge(1.0, 2.0, 0.1, 0.1).text == "below, more than 99 in 100"
    assert judge(1.0, 2.0, 2.25, 0.1).text == "above, more than 99 in 100"
    assert judge(1.0, 2.0, 1.5, 0.1).text == "inside, more than 99 in 100"
    assert judge(1.0, 2.0, 1.95, 0.1).text == "cannot tell, 69 in 100 inside"


def test_sure_is_symmetrical() -> None:
    """What is inside from below is inside from above, and beyond alike."""
    for away in np.linspace(0.0, 1.0, 21):
        low, high = judge(0.0, 2.0, float(away), 0.2), judge(0.0, 2.0, float(2.0 - away), 0.2)
        assert low.outcome == high.outcome
        assert low.probability == pytest.approx(high.probability)


@pytest.mark.parametrize("rule", ["sure", "guarded"])
@pytest.mark.parametrize("value", [-0.3, -0.05, 0.02, 0.4, 1.0, 1.99, 2.02, 3.0])
def test_the_uncertainty_needed_is_just_enough(rule: str, value: float) -> None:
    """A little less tells, a little more does not."""
    taken = Rule(rule)  # type: ignore[arg-type]
    needed = uncertainty_needed(0.0, 2.0, value, rule=taken)
    assert judge(0.0, 2.0, value, 0.999 * needed, rule=taken).outcome != CANNOT_TELL
    assert judge(0.0, 2.0, value, 1.001 * needed, rule=taken).outcome == CANNOT_TELL


@pytest.mark.parametrize("confidence", [0.6, 0.95])
@pytest.mark.parametrize("value", [-0.3, 0.02, 1.0, 1.99, 3.0])
def test_an_instrument_coarser_than_the_window_proves_nothing(value: float, confidence: float) -> None:
    """Little of it lies in the window, but as much beyond either end: that is no proof of being outside."""
    rule = Rule("sure", confidence)
    needed = uncertainty_needed(0.0, 2.0, value, rule=rule)
    assert 0.0 < needed < 20.0
    for times in (1.001, 2.0, 10.0, 100.0, 1e4):
        assert judge(0.0, 2.0, value, times * needed, rule=rule).outcome == CANNOT_TELL


def test_on_the_limit_nothing_tells() -> None:
    """However well it is known, a value on the limit is half inside."""
    assert uncertainty_needed(0.0, 2.0, 2.0) == 0.0
    assert judge(0.0, 2.0, 2.0, 1e-9).outcome == CANNOT_TELL


def test_batch_risks_by_drawing() -> None:
    """The integrals agree with a million pieces drawn and measured."""
    rng = np.random.default_rng(4)
    true = rng.normal(0.02, 0.5, 1_000_000)
    read = true + rng.normal(0.0, 0.2, true.size)
    good, taken = np.abs(true) <= 1.0, np.abs(read) <= 0.9
    risks = batch_risks((-1.0, 1.0), (-0.9, 0.9), mean=0.02, spread=0.5, uncertainty=0.2)
    assert risks.conforming == pytest.approx(float(good.mean()), abs=2e-3)
    assert risks.rejected_good == pytest.approx(float((good & ~taken).mean()), abs=2e-3)
    assert risks.accepted_bad == pytest.approx(float((~good & taken).mean()), abs=2e-3)


def test_what_cannot_be_is_refused() -> None:
    """A window backwards, a rule nobody knows, a confidence that is none."""
    with pytest.raises(QuantityError):
        judge(2.0, 1.0, 1.5, 0.1)
    with pytest.raises(QuantityError):
        Rule("lenient")  # type: ignore[arg-type]
    with pytest.raises(QuantityError):
        Rule("sure", 0.4)
