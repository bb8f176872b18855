"""Laws that hold for any findings at all, on the whole catalogue and box A."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bellhousing.diagnosis.catalogue import Finding
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.next_test import SPEED_LIMIT, next_tests
from bellhousing.diagnosis.posterior import SOUND, diagnose
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.diagnosis.windows import window
from tests.diagnosis.by_hand import box_a
from tests.shipped import catalogue_as_shipped

CATALOGUE = catalogue_as_shipped().of_family("three-speed-vacuum")
GATES = sorted({condition.finding for condition in CATALOGUE.conditions.values()})
"""Findings that open or shut other tests: asked more often than by chance."""


@cache
def here() -> tuple[str, ...]:
    """Findings about parts that box A has."""
    missing = box_a().box.missing_parts
    return tuple(sorted(name for name, finding in CATALOGUE.findings.items() if finding.part not in missing))


often = settings(max_examples=25, deadline=None, derandomize=True, database=None)


def answers(finding: Finding) -> st.SearchStrategy[Evidence]:
    """Any answer to a finding: some of its states, a word, or a figure within and around its usual range."""
    if finding.kind == "states":
        some = st.lists(st.sampled_from(finding.states), min_size=1, max_size=2, unique=True)
        return some.map(lambda said: Evidence(finding.id, states=tuple(said)))
    low, high = finding.usual or finding.possible or (0.0, 1.0)
    least, most = finding.possible or (-np.inf, np.inf)
    width = high - low
    figure = st.floats(max(least, low - width), min(most, high + width))
    figures = figure.map(lambda value: Evidence(finding.id, value=value))
    if not finding.words:
        return figures
    words = st.sampled_from(sorted(finding.words)).map(lambda word: Evidence(finding.id, word=word))
    return st.one_of(figures, words)


@st.composite
def findings(draw: st.DrawFn, most: int = 6) -> list[Evidence]:
    """A few different findings, gates among them, in any order."""
    names = draw(
        st.lists(
            st.one_of(st.sampled_from(GATES), st.sampled_from(here())),
            max_size=most,
            unique=True,
        )
    )
    return [draw(answers(CATALOGUE.findings[name])) for name in names]


def opens(prepared: Prepared, needs: Sequence[str], own: str, known: dict[str, Evidence]) -> bool:
    """Whether every precondition of a test is known to hold; what tells it is not waited for by itself."""
    for name in needs:
        condition = CATALOGUE.conditions[name]
        if condition.finding == own:
            continue
        entry, tells = known.get(condition.finding), CATALOGUE.findings[condition.finding]
        if entry is None:
            return False
        if tells.kind == "states":
            said = set(entry.states)
            if said & set(condition.forbids) or not said <= set(condition.holds or said):
                return False
        elif condition.holds == ("normal",) and not normal(prepared, tells, entry):
            return False
    return True


def normal(prepared: Prepared, finding: Finding, entry: Evidence) -> bool:
    """Whether a reading lies in its window, give or take its accuracy."""
    if entry.value is None:
        return entry.word == "normal"
    band = window(prepared, finding.id)
    assert band is not None
    return band.low - finding.half_width <= entry.value <= band.high + finding.half_width


@often
@given(evidence=findings())
def test_no_forbidden_test_is_ever_proposed(evidence: list[Evidence]) -> None:
    """Ranked tests are new, allowed and possible on this loop; forbidden ones say why."""
    found = next_tests(box_a(), diagnose(box_a(), evidence), evidence)
    known = {entry.finding: entry for entry in evidence}
    names = [test.finding for test in found.ranked]
    assert len(set(names)) == len(names)
    assert not set(names) & {forbidden.finding for forbidden in found.forbidden}
    assert not set(names) & set(known)
    assert all(forbidden.why for forbidden in found.forbidden)
    for name in names:
        finding = CATALOGUE.findings[name]
        assert opens(box_a(), finding.needs, name, known), name
        assert finding.top_speed is None or finding.top_speed <= SPEED_LIMIT


@often
@given(evidence=findings())
def test_probabilities_stay_probabilities(evidence: list[Evidence]) -> None:
    """Weights sum to one, causes are sorted and complete, errors and bits are numbers."""
    found = diagnose(box_a(), evidence)
    assert found.belief.weights.sum() == pytest.approx(1.0, abs=1e-9)
    assert np.all(found.belief.weights >= 0.0)
    assert found.belief.car_weights.sum(axis=1) == pytest.approx(1.0)
    each = [cause.probability for cause in found.causes]
    assert all(0.0 <= probability <= 1.0 for probability in each)
    assert each == sorted(each, reverse=True)
    assert {cause.id for cause in found.causes} == {SOUND, *box_a().faults}
    assert all(np.isfinite(cause.error) and cause.error >= 0.0 for cause in found.causes)
    assert all(reason.factor > 0.0 for cause in found.causes for reason in cause.why)
    assert 0.0 <= found.unexplored_mass <= 1.0
    for test in next_tests(box_a(), found, evidence).ranked:
        assert np.isfinite(test.bits)
        assert test.bits >= 0.0
        assert test.minutes > 0.0


@often
@given(evidence=findings(), data=st.data())
def test_order_of_findings_does_not_matter(evidence: list[Evidence], data: st.DataObject) -> None:
    """The same findings noted in another order give the same beliefs."""
    shuffled = data.draw(st.permutations(evidence))
    found, other = diagnose(box_a(), evidence), diagnose(box_a(), shuffled)
    for cause in found.causes:
        assert other.cause(cause.id).probability == pytest.approx(cause.probability, abs=1e-6)


@cache
def best_explained() -> tuple[tuple[str, str], ...]:
    """(finding, fault): two states, and the fault alone shows it at least as often as any three others.

    Then whatever else is wrong, the finding is likelier with the fault than without, so by Bayes' rule it
    cannot lower the fault, whatever was found before.
    """
    found = []
    for finding in (CATALOGUE.findings[name] for name in here()):
        if finding.kind != "states" or len(finding.states) != 2 or finding.thresholds is not None:
            continue
        shown = {fault: strengths[finding.states[1]] for fault, strengths in finding.strengths.items()}
        for fault, strength in shown.items():
            if fault not in box_a().faults:
                continue
            others = sorted((s for other, s in shown.items() if other != fault), reverse=True)[:3]
            if 1.0 - strength <= float(np.prod([1.0 - s for s in others])):
                found.append((finding.id, fault))
    return tuple(found)


def test_many_findings_have_a_best_explanation() -> None:
    """The law below is not about nothing."""
    assert len(best_explained()) >= 15


@often
@given(evidence=findings(most=4), data=st.data())
def test_a_finding_never_lowers_the_fault_that_predicts_it_best(
    evidence: list[Evidence], data: st.DataObject
) -> None:
    """Where the fault predicts it better than every set without the fault, it gains or stays."""
    told = [pair for pair in best_explained() if pair[0] not in box_a().shown.chances]
    name, fault = data.draw(st.sampled_from(told))
    before = [entry for entry in evidence if entry.finding != name]
    finding = CATALOGUE.findings[name]
    after = [*before, Evidence(name, states=(finding.states[1],))]
    without, with_it = diagnose(box_a(), before), diagnose(box_a(), after)
    # Sets of three left to expansion in one answer may be simulated in the other.
    slack = 1e-9 + without.unexplored_mass + with_it.unexplored_mass
    assert with_it.cause(fault).probability >= without.cause(fault).probability - slack
