"""Uncertainty, verdicts and stack-ups against printed examples; the source stands beside each."""

from __future__ import annotations

import math

import numpy as np
import pytest

from bellhousing.fits.instruments import shipped_instruments
from bellhousing.fits.stack import Member, draw_stack, stack_up
from bellhousing.fits.student import coverage_factor
from bellhousing.fits.uncertainty import (
    Array,
    Input,
    bounded,
    curved_trapezoid,
    known,
    monte_carlo,
    propagate,
)
from bellhousing.fits.verdict import batch_risks, conformity
from tests.published.sources import (
    CFR_429,
    GUIDE,
    SOONG,
    STACK_FOUR,
    STACK_HOUSING,
    STACK_TEN,
    SUPPLEMENT,
    TN1297,
)

published = pytest.mark.published

NOMINAL = 5e7  # end gauge [nm]


def end_gauge(values: Array) -> Array:
    """Length above 50 mm [nm] of JCGM 100:2008, H.1: l = l_s + d - l_s (δα θ + α_s δθ)."""
    standard, mean, random, systematic, expansion, away, swing, difference, warmth = values
    heat = difference * (away + swing) + expansion * warmth
    return np.asarray(standard + mean + random + systematic - (NOMINAL + standard) * heat)


def nominal_gauge(values: Array) -> Array:
    """The same with 50 mm itself in the product, as the nine-digit figures were worked out."""
    standard, mean, random, systematic, expansion, away, swing, difference, warmth = values
    heat = difference * (away + swing) + expansion * warmth
    return np.asarray(standard + mean + random + systematic - NOMINAL * heat)


# JCGM 100:2008, table H.1 [nm, 1/°C, °C].
GAUGE = (
    known("standard", 623.0, 25.0, freedom=18),
    known("mean of five", 215.0, 5.8, freedom=24),
    known("comparator, random", 0.0, 3.9, freedom=5),
    known("comparator, systematic", 0.0, 6.7, freedom=8),
    bounded("expansion of the standard", 11.5e-6, 2e-6),
    known("mean temperature", -0.1, 0.2),
    bounded("cyclic variation", 0.0, 0.5, "arcsine"),
    bounded("difference of expansion", 0.0, 1e-6, freedom=50),
    bounded("difference of temperature", 0.0, 0.05, freedom=2),
)


@published(
    quantity="value of a measured quantity",
    source=GUIDE,
    place="annex H.1",
    code="fits.uncertainty.propagate:value",
    figures=(0,),
)
@published(
    quantity="combined standard uncertainty",
    source=GUIDE,
    place="annex H.1",
    code="fits.uncertainty.propagate:standard_uncertainty",
    figures=(1,),
)
@published(
    quantity="effective degrees of freedom",
    source=GUIDE,
    place="annex H.1",
    code="fits.uncertainty.propagate:freedom",
    figures=(2,),
)
def test_end_gauge_to_the_printed_digits() -> None:
    """JCGM 100:2008, H.1: 50 000 838 nm, u 32 nm, 16 degrees of freedom; U99 93 nm from memory."""
    budget = propagate(end_gauge, GAUGE)
    assert budget.value == pytest.approx(838.0, abs=0.5)
    assert round(budget.standard_uncertainty) == pytest.approx(32, abs=0)
    assert math.floor(budget.freedom) == pytest.approx(16, abs=0)
    assert budget.coverage_factor(0.99) == pytest.approx(2.92, abs=0.005)
    assert budget.expanded(0.99) == pytest.approx(93.0, abs=1.0)


@pytest.mark.other_program("GUM Tree Calculator")
def test_end_gauge_components_to_nine_digits() -> None:
    """Guide example H.1 as the GUM Tree Calculator's own tests have it (MSLNZ/GTC, GuideExampleH1)."""
    budget = propagate(nominal_gauge, GAUGE)
    assert budget.standard_uncertainty == pytest.approx(31.6637674111, rel=1e-9)
    assert budget.freedom == pytest.approx(16.7521475092, rel=1e-9)
    parts = {line.input.name: line.contribution for line in budget.components}
    assert parts["standard"] == pytest.approx(25.0, rel=1e-9)
    assert parts["difference of temperature"] == pytest.approx(16.599, abs=5e-4)
    assert parts["difference of expansion"] == pytest.approx(2.887, abs=5e-4)
    comparison = math.hypot(
        parts["mean of five"], parts["comparator, random"], parts["comparator, systematic"]
    )
    assert comparison == pytest.approx(9.682, abs=5e-4)
    # Nothing at first order, as the guide says: the best estimates of what they multiply are nought.
    assert parts["expansion of the standard"] == pytest.approx(0.0, abs=1e-6)
    assert parts["mean temperature"] == pytest.approx(0.0, abs=1e-6)


@published(
    quantity="combined standard uncertainty with second-order terms",
    source=GUIDE,
    place="annex H.1.7",
    code="fits.uncertainty.propagate:standard_uncertainty",
)
def test_end_gauge_with_second_order_terms() -> None:
    """JCGM 100:2008, H.1.7: with the second-order terms u is 34 nm."""
    budget = propagate(nominal_gauge, GAUGE, second_order=True)
    assert budget.standard_uncertainty == pytest.approx(34.0, abs=0.5)


@published(
    quantity="distribution of a measured quantity by drawing",
    source=SUPPLEMENT,
    place="9.5, table 11",
    code="fits.uncertainty.monte_carlo:draws",
)
def test_end_gauge_by_monte_carlo() -> None:
    """JCGM 101:2008, 9.5, table 11: mean 838 nm, u 36 nm, shortest 99 % interval [745, 932] nm."""
    inputs: tuple[Input, ...] = (
        known("standard", 623.0, 25.0, freedom=18),
        known("mean of five", 215.0, 6.0, freedom=24),
        known("comparator, random", 0.0, 4.0, freedom=5),
        known("comparator, systematic", 0.0, 7.0, freedom=8),
        bounded("expansion of the standard", 11.5e-6, 2e-6),
        known("mean temperature", -0.1, 0.2),
        bounded("cyclic variation", 0.0, 0.5, "arcsine"),
        curved_trapezoid("difference of expansion", 0.0, 1e-6, 0.1e-6),
        curved_trapezoid("difference of temperature", 0.0, 0.05, 0.025),
    )
    drawn = monte_carlo(nominal_gauge, inputs, draws=1_000_000, seed=1)
    assert drawn.value == pytest.approx(838.0, abs=1.0)
    assert drawn.standard_uncertainty == pytest.approx(36.0, abs=0.5)
    low, high = drawn.shortest(0.99)
    assert low == pytest.approx(745.0, abs=2.5)
    assert high == pytest.approx(932.0, abs=2.5)


@pytest.mark.beside("inputs of JCGM 106, risks worked out from the bivariate normal distribution")
def test_a_batch_of_resistors() -> None:
    """JCGM 106:2012, 9.5.4: 1500 Ω ± 0.2 Ω, process 0.12 Ω, measuring 0.04 Ω, with and without guard band."""
    guarded = batch_risks((1499.8, 1500.2), (1499.82, 1500.18), mean=1500.0, spread=0.12, uncertainty=0.04)
    assert guarded.conforming == pytest.approx(0.9044, abs=5e-4)
    assert guarded.rejected_good == pytest.approx(0.0690, abs=5e-4)
    assert guarded.accepted_bad == pytest.approx(0.00988, abs=5e-4)
    plain = batch_risks((1499.8, 1500.2), (1499.8, 1500.2), mean=1500.0, spread=0.12, uncertainty=0.04)
    assert plain.rejected_good == pytest.approx(0.0372, abs=5e-4)
    assert plain.accepted_bad == pytest.approx(0.0189, abs=5e-4)


@pytest.mark.from_memory("JCGM 106:2012, 7.3 and table 1")
def test_one_sided_conformity() -> None:
    """JCGM 106:2012, 7.3 and table 1, from memory: z 1.40 conforms with 0.9192; 0.95 takes z 1.645."""
    assert conformity(-math.inf, 1.40, 0.0, 1.0) == pytest.approx(0.9192, abs=5e-5)
    assert conformity(-math.inf, 1.645, 0.0, 1.0) == pytest.approx(0.95, abs=5e-4)


@published(quantity="coverage factor", source=TN1297, place="table B.1", code="fits.student.coverage_factor")
@pytest.mark.parametrize(
    ("freedom", "probability", "factor"),
    [
        (1, 0.95, 12.71),
        (4, 0.95, 2.78),
        (10, 0.95, 2.23),
        (16, 0.99, 2.92),
        (50, 0.95, 2.01),
        (2, 0.99, 9.92),
    ],
)
def test_coverage_factors(freedom: int, probability: float, factor: float) -> None:
    """NIST Technical Note 1297, table B.1, printed to two decimals."""
    assert coverage_factor(probability, freedom) == pytest.approx(factor, abs=0.005)


@published(
    quantity="coverage factor",
    source=CFR_429,
    place="subpart B, appendix A",
    code="fits.student.coverage_factor",
)
@pytest.mark.parametrize(
    ("freedom", "one_sided", "printed"),
    [(1, 0.975, 12.71), (4, 0.975, 2.776), (10, 0.95, 1.812), (16, 0.975, 2.120), (20, 0.99, 2.528)],
)
def test_coverage_factors_of_a_regulation(freedom: int, one_sided: float, printed: float) -> None:
    """10 CFR part 429, subpart B, appendix A: one-sided values of Student's t, to four figures."""
    assert coverage_factor(2.0 * one_sided - 1.0, freedom) == pytest.approx(printed, rel=4.5e-4)


@published(
    quantity="coverage factor",
    source=SOONG,
    place="table A.4, p. 370",
    code="fits.student.coverage_factor",
)
@pytest.mark.parametrize(
    ("freedom", "tail", "printed"),
    [(1, 0.025, 12.706), (2, 0.01, 6.965), (5, 0.005, 4.032), (10, 0.05, 1.812), (20, 0.005, 2.845)],
)
def test_coverage_factors_of_a_textbook(freedom: int, tail: float, printed: float) -> None:
    """Student's t by the chance above it, to three decimals."""
    assert coverage_factor(1.0 - 2.0 * tail, freedom) == pytest.approx(printed, abs=5.1e-4)


@published(
    quantity="tolerance stack, worst case",
    source=STACK_FOUR,
    place="gap of 0.020 in",
    code="fits.stack.stack_up:worst",
    figures=(1,),
)
@published(
    quantity="tolerance stack, root sum of squares",
    source=STACK_FOUR,
    place="gap of 0.020 in",
    code="fits.stack.stack_up:root_sum_square",
    figures=(2,),
)
def test_stack_of_four() -> None:
    """ficientdesign.com/tolerance-stack-up-analysis: 0.020 in, worst ± 0.015, root-sum-square ± 0.00794."""
    tolerances = (0.005, 0.003, 0.002, 0.005)
    sizes, signs = (1.020, 0.5, 0.3, 0.2), (1, -1, -1, -1)
    members = [
        Member(f"part {n}", s, x, t) for n, (s, x, t) in enumerate(zip(signs, sizes, tolerances, strict=True))
    ]
    found = stack_up(members)
    assert found.nominal == pytest.approx(0.020, abs=1e-12)
    assert found.worst == pytest.approx(0.015, abs=1e-12)
    assert found.root_sum_square == pytest.approx(0.00794, abs=1e-5)


@published(
    quantity="tolerance stack, nominal gap",
    source=STACK_HOUSING,
    place="gap of 3.00 mm",
    code="fits.stack.stack_up:nominal",
    figures=(0,),
)
@published(
    quantity="tolerance stack, worst case",
    source=STACK_HOUSING,
    place="gap of 3.00 mm",
    code="fits.stack.stack_up:worst",
    figures=(1,),
)
def test_stack_in_a_housing() -> None:
    """metricmech.com, worked example: 40 - 25 - 2 - 10 = 3.00 mm, worst ± 0.23; its √Σ worked out here."""
    members = [
        Member("housing", 1, 40.0, 0.10),
        Member("gear", -1, 25.0, 0.05),
        Member("washer", -1, 2.0, 0.03),
        Member("bearing", -1, 10.0, 0.05),
    ]
    found = stack_up(members)
    assert found.nominal == pytest.approx(3.00, abs=1e-12)
    assert found.worst == pytest.approx(0.23, abs=1e-12)
    assert found.root_sum_square == pytest.approx(0.1261, abs=1e-4)
    # The widest tolerance has the greatest share, and the shares make a whole.
    assert found.shares[0] == max(found.shares)
    assert sum(found.shares) == pytest.approx(1.0)
    drawn = draw_stack(members, draws=200_000)
    assert drawn.value == pytest.approx(3.00, abs=0.001)
    assert drawn.standard_uncertainty == pytest.approx(found.standard_uncertainty, rel=0.01)


@published(
    quantity="tolerance stack, worst case",
    source=STACK_TEN,
    place="ten parts of ± 0.1",
    code="fits.stack.stack_up:worst",
    figures=(0,),
)
@published(
    quantity="tolerance stack, root sum of squares",
    source=STACK_TEN,
    place="ten parts of ± 0.1",
    code="fits.stack.stack_up:root_sum_square",
    figures=(1,),
)
def test_stack_of_ten_alike() -> None:
    """Ten parts of ± 0.1: worst ± 1.0, root-sum-square ± 0.316 (page "rss-tolerance-analysis")."""
    found = stack_up([Member(f"part {n}", 1, 1.0, 0.1) for n in range(10)])
    assert found.worst == pytest.approx(1.0, abs=1e-12)
    assert found.root_sum_square == pytest.approx(0.316, abs=5e-4)


@pytest.mark.beside("a look-up")
@pytest.mark.parametrize(
    ("instrument", "key", "size"),
    [
        ("inside-micrometer", "permissible_error", 7.5e-6),
        ("long-inside-micrometer", "permissible_error", 10e-6),
        ("tubular-micrometer", "permissible_error", 0.0005 * 25.4e-3),
        ("caliper", "permissible_error", 0.001 * 25.4e-3),
    ],
)
def test_permissible_errors_of_instruments(instrument: str, key: str, size: float) -> None:
    """US Army TB 9-5210-207-24, tables 6 to 10 (inside micrometers), TB 9-5210-208-35 (calipers to 6 in)."""
    assert shipped_instruments()[instrument].figure(key, 0.05) == pytest.approx(size, rel=1e-9)


@pytest.mark.beside("a look-up")
def test_a_dial_repeats_within_a_fifth_of_its_graduation_where_it_is_alone() -> None:
    """US Army TB 9-5210-210-24: a dial by itself repeats so; a person pushing a shaft repeats worse."""
    dial = shipped_instruments()["dial-indicator"]
    assert dial.resolution == pytest.approx(0.001 * 25.4e-3)
    assert dial.figure("repeatability", 0.0) >= dial.resolution / 5.0
