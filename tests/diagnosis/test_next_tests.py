"""The next test: information against brute force, set-ups paid once, hard preconditions."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

import pytest

from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.next_test import (
    ONLY_CONFIRMS,
    SPEED_LIMIT,
    NextTests,
    minutes_to_reach,
    next_tests,
)
from bellhousing.diagnosis.outcomes import IN_PLAY
from bellhousing.diagnosis.posterior import diagnose
from tests.diagnosis.by_hand import INHG, MPH, PSI, ByHand, Set, by_hand, small, states, value

READY = [
    states("fluid-level", "right"),
    states("fluid-condition", "red"),
    states("brakes-hold", "sound"),
    states("park-holds", "holds"),
    states("dead-ranges", "all-drive"),
    value("manifold-vacuum-idle", 17.5 * INHG),
    value("modulator-vacuum-idle", 17.0 * INHG),
    value("line-drive-idle", 66.0 * PSI),
    value("line-drive-hose-off", 141.0 * PSI),
]
"""Everything known and sound that a test of this catalogue may need first."""

PHYSICAL = small().sets.physical
LATE = [*READY, value("upshift-12-light", 26.0 * MPH)]
HIGH = [
    *(entry for entry in READY if entry.finding not in ("line-drive-idle", "modulator-vacuum-idle")),
    value("line-drive-idle", 108.0 * PSI),
]
"""Tests are worth up to a bit: hose, diaphragm or something else."""


def ranked(evidence: Sequence[Evidence], speed_limit: float = SPEED_LIMIT) -> NextTests:
    """Tests after some findings on the small catalogue."""
    prepared = small()
    return next_tests(prepared, diagnose(prepared, evidence), evidence, speed_limit=speed_limit)


def entropy_of(chances: Sequence[float]) -> float:
    """-sum p log2 p."""
    return -sum(p * math.log2(p) for p in chances if p > 0.0)


def shown_by(hand: ByHand, faults: Set, finding: str, evidence: Sequence[Evidence]) -> list[float]:
    """Chance of each state, or each cell of a reading, with the cars weighed by what they explain so far."""
    prepared = hand.prepared
    each = hand.together(faults, evidence)
    weights = [weight / sum(each) for weight in each]
    if finding in prepared.cells:
        physical = tuple(i for i, name in enumerate(prepared.faults) if name in faults and i in PHYSICAL)
        row = prepared.sets.physical_rows.index(physical[:2])
        cells = [0.0] * 10
        for car, weight in enumerate(weights):
            cells[prepared.cells[finding][row, car]] += weight
        return cells
    of_cars = [hand.chances(faults, prepared.catalogue.finding(finding), car) for car in range(len(weights))]
    columns = zip(*of_cars, strict=True)
    return [sum(w * chance for w, chance in zip(weights, column, strict=True)) for column in columns]


def information_by_hand(
    hand: ByHand, posterior: dict[Set, float], finding: str, evidence: Sequence[Evidence]
) -> float:
    """I(finding; causes in play) over every set that holds a millionth of the belief."""
    in_play = causes_in_play(hand, posterior)
    joint: dict[tuple[str, ...], list[float]] = {}
    for faults, chance in posterior.items():
        if chance < 1e-6:
            continue
        group = tuple(fault for fault in faults if fault in in_play)
        shown = [chance * seen for seen in shown_by(hand, faults, finding, evidence)]
        joint[group] = [a + b for a, b in zip(joint.get(group, [0.0] * len(shown)), shown, strict=True)]
    total = entropy_of([sum(column) for column in zip(*joint.values(), strict=True)])
    return total - sum(sum(row) * entropy_of([cell / sum(row) for cell in row]) for row in joint.values())


def causes_in_play(hand: ByHand, posterior: dict[Set, float]) -> set[str]:
    """Believed at least a little."""
    marginal: dict[str, float] = defaultdict(float)
    for faults, chance in posterior.items():
        for fault in faults:
            marginal[fault] += chance
    return {fault for fault, chance in marginal.items() if chance >= IN_PLAY}


@pytest.mark.beside(
    "brute force over every set of faults",
    code=("diagnosis.outcomes.Outcomes.information", "diagnosis.next_test.next_tests:ranked.bits"),
)
@pytest.mark.parametrize("evidence", [READY, HIGH], ids=["sound", "high line"])
def test_information_is_mutual_information(evidence: list[Evidence]) -> None:
    """Bits of every ranked test within a hundredth of brute force over all sets."""
    hand = by_hand()
    posterior = hand.posterior(evidence)
    found = {test.finding: test.bits for test in ranked(evidence).ranked}
    telling = sorted(found, key=lambda name: -found[name])
    for name in (*telling[:12], *telling[12::12]):
        wanted = information_by_hand(hand, posterior, name, evidence)
        assert found[name] == pytest.approx(wanted, abs=0.01), name


def test_late_shift_and_high_line_call_for_a_look_at_hose_and_diaphragm() -> None:
    """Hose or diaphragm: what parts the two is ranked far above what does not."""
    found = {test.finding: test.bits for test in ranked(HIGH).ranked}
    parting = ("modulator-vacuum-idle", "fluid-in-modulator-hose", "modulator-holds-vacuum", "vacuum-hose")
    assert min(found[name] for name in parting) > 0.4
    assert max(found[name] for name in ("joint-output-seal", "joint-tail-housing", "speedometer")) < 0.15


def test_information_is_never_negative_nor_more_than_the_answers_can_carry() -> None:
    """Between none and the logarithm of the count of answers."""
    catalogue = small().catalogue
    for test in ranked(LATE).ranked:
        answers = len(catalogue.finding(test.finding).states) or 10
        assert 0.0 <= test.bits <= math.log2(answers)
        assert test.bits_per_minute == pytest.approx(test.bits / test.minutes)


def test_order_is_by_bits_per_minute_but_for_what_is_needed_first() -> None:
    """Tests that nothing waits for come in falling order of their rate."""
    rates = [test.bits_per_minute for test in ranked(LATE).ranked if test.first is None]
    assert rates == sorted(rates, reverse=True)


def test_set_up_is_paid_once() -> None:
    """With the gauge already on, the next reading on it costs its own minutes only."""
    prepared = small()
    finding = prepared.catalogue.finding("line-drive-hose-off")
    setup = prepared.catalogue.setups["gauge"]
    assert minutes_to_reach(prepared, finding, ()) == finding.minutes + setup.minutes
    assert minutes_to_reach(prepared, finding, {"gauge"}) == finding.minutes
    stacked = prepared.catalogue.finding("governor-20")
    chain, at = 0.0, prepared.catalogue.setups[stacked.setup]
    while True:
        chain += at.minutes
        if at.under is None:
            break
        at = prepared.catalogue.setups[at.under]
    assert minutes_to_reach(prepared, stacked, ()) == stacked.minutes + chain


def without(evidence: Sequence[Evidence], *findings: str) -> list[Evidence]:
    """Evidence less some findings."""
    return [entry for entry in evidence if entry.finding not in findings]


def test_unknown_precondition_is_asked_first() -> None:
    """No gauge, road or stall test while brakes are not known; the brakes are asked for, with the reason."""
    found = ranked(without(READY, "brakes-hold", "park-holds", "dead-ranges", "line-drive-idle"))
    names = {test.finding: test for test in found.ranked}
    assert not {"line-drive-idle", "stall-drive", "upshift-12-light"} & set(names)
    assert (names["brakes-hold"].first or "").startswith("opens the way to: ")


def test_what_only_opens_the_way_is_not_said_to_tell_nothing() -> None:
    """Brakes tell nothing of the causes, so nothing is said of the doubt they settle."""
    brakes = next(test for test in ranked([]).ranked if test.finding == "brakes-hold")
    assert brakes.first is not None
    assert brakes.in_words == ""
    assert all(test.in_words for test in ranked([]).ranked if test.first is None)


def test_a_cause_as_good_as_settled_leaves_nothing_but_to_confirm_it() -> None:
    """With a leaking diaphragm and fluid in its hose no test settles "half the doubt" any more."""
    sure = [
        *without(READY, "line-drive-idle", "line-drive-hose-off", "park-holds", "dead-ranges"),
        value("line-drive-idle", 108.0 * PSI),
        states("modulator-holds-vacuum", "leaks-down"),
        states("fluid-in-modulator-hose", "wet"),
    ]
    words = {test.in_words for test in ranked(sure).ranked}
    assert ONLY_CONFIRMS in words
    assert not any("doubt" in text for text in words)
    assert any("doubt" in test.in_words for test in ranked([]).ranked)


def test_chain_of_preconditions_starts_at_its_root() -> None:
    """With nothing known a stall leads to level, vacuum or brakes, not to the line pressure it needs."""
    found = ranked([])
    asked_first = {test.finding for test in found.ranked if test.first is not None}
    assert "line-drive-idle" not in {test.finding for test in found.ranked}
    assert asked_first <= {
        "fluid-level",
        "brakes-hold",
        "manifold-vacuum-idle",
        "modulator-vacuum-idle",
        "fluid-condition",
    }


@pytest.mark.parametrize(
    ("wrong", "kept_from"),
    [
        (states("brakes-hold", "doubtful"), "stall-drive"),
        (states("park-holds", "slips"), "stall-drive"),
        (states("fluid-condition", "milky"), "stall-drive"),
        (states("fluid-level", "off-the-stick"), "stall-drive"),
        (value("line-drive-idle", 35.0 * PSI), "stall-drive"),
        (Evidence("line-drive-idle", word="low"), "stall-drive"),
        (states("brakes-hold", "doubtful"), "upshift-12-light"),
        (states("fluid-level", "off-the-stick"), "line-reverse-idle"),
        (states("dead-ranges", "no-drive-forward"), "upshift-23-light"),
    ],
)
def test_forbidden_test_is_named_with_its_reason_and_never_ranked(wrong: Evidence, kept_from: str) -> None:
    """A failed precondition keeps the test off the list and says why."""
    evidence = [*without(READY, wrong.finding), wrong]
    found = ranked(evidence)
    assert kept_from not in {test.finding for test in found.ranked}
    why = {forbidden.finding: forbidden.why for forbidden in found.forbidden}
    assert "is not so:" in why[kept_from]


@pytest.mark.parametrize("finding", ["brakes-hold", "fluid-level"])
def test_an_answer_that_may_be_bad_opens_nothing(finding: str) -> None:
    """Where an answer leaves the forbidding state open, the hazardous test is not offered."""
    every = small().catalogue.finding(finding).states
    found = ranked([*without(READY, finding), states(finding, *every)])
    assert "stall-drive" not in {test.finding for test in found.ranked}


def test_speed_limit_of_the_loop() -> None:
    """A test that needs more than the loop allows is forbidden and a pressure named in its stead."""
    for limit, allowed in ((20.0, False), (24.5872, False), (40.0, True)):
        found = ranked(READY, speed_limit=limit)
        assert ("upshift-23-full" in {test.finding for test in found.ranked}) is allowed
        why = {forbidden.finding: forbidden.why for forbidden in found.forbidden}
        assert ("governor pressure" in why.get("upshift-23-full", "")) is not allowed


def test_hazardous_test_carries_its_cautions() -> None:
    """A stall test comes with its own limits in words."""
    test = next(test for test in ranked(READY).ranked if test.finding == "stall-drive")
    assert any("3 seconds" in caution for caution in test.cautions)
    assert any("chock" in caution.lower() for caution in test.cautions)


def test_part_the_box_lacks_is_neither_tested_nor_waited_for() -> None:
    """A box without an overrun band is not asked about it."""
    prepared = small()
    lacking = replace(prepared, box=replace(prepared.box, missing_parts=frozenset({"modulator"})))
    found = next_tests(lacking, diagnose(lacking, []), [])
    parts = {prepared.catalogue.finding(test.finding).part for test in found.ranked}
    assert "modulator" not in parts
    assert "modulator-vacuum-idle" not in {test.finding for test in found.ranked}
