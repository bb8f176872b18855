"""The plan on box A: what it decides, and that what it says follows from the belief."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.further_tests import further_tests
from bellhousing.diagnosis.next_test import next_tests
from bellhousing.diagnosis.outcomes import outcomes
from bellhousing.diagnosis.plan import Plan, make_plan
from bellhousing.diagnosis.posterior import diagnose
from bellhousing.diagnosis.repair_costs import Charges
from bellhousing.diagnosis.waiting import LATEST, SOONEST, Waiting, load_waiting, outlook
from bellhousing.diagnosis.works import load_works, works_of
from tests.diagnosis.by_hand import INHG, box_a

FAMILY = "three-speed-vacuum"

RED_AND_HIGH = (
    Evidence("bell-ring-on-converter", states=("thrown-ring",)),
    Evidence("front-fluid-kind", states=("gearbox-fluid",)),
    Evidence("front-drips", states=("running-only",)),
)
HOSE_DRY = (
    Evidence("manifold-vacuum-idle", value=17.5 * INHG),
    Evidence("modulator-vacuum-idle", value=0.0),
    Evidence("fluid-in-modulator-hose", states=("dry",)),
)


@cache
def planned(evidence: tuple[Evidence, ...], charges: Charges | None = None) -> Plan:
    """The plan of box A after some findings."""
    prepared = box_a()
    belief = diagnose(prepared, evidence, reasons=False).belief
    return make_plan(
        works_of(load_works(), FAMILY, prepared.faults),
        load_waiting(),
        prepared.faults,
        belief.members,
        belief.weights,
        alone=belief.alone,
        prior=1.0 / (1.0 + np.exp(-prepared.ln_odds)),
        charges=charges,
    )


def told(faults: list[str], members: list[list[int]], weights: list[float], **more: object) -> Plan:
    """The plan for a belief written down by hand."""
    works = works_of(load_works(), FAMILY, faults)
    return make_plan(works, load_waiting(), faults, np.array(members), np.array(weights), **more)  # type: ignore[arg-type]


def names(plan: Plan) -> list[str]:
    """Slugs of the best works."""
    return [work.id for work in plan.best.works]


def test_red_fluid_high_at_the_front_means_the_box_must_come_out() -> None:
    """Thrown in a ring on the converter, seen under the bell cover: common practice, no source."""
    plan = planned(RED_AND_HIGH)
    assert plan.removal > 0.95
    assert plan.takes_box_out
    assert names(plan)[0] == "front-reseal" or "front-reseal" in names(plan)
    assert plan.best.needless < 0.05


def test_engine_oil_at_the_front_leaves_the_box_in() -> None:
    """The same place, another fluid."""
    plan = planned(
        (Evidence("front-fluid-kind", states=("engine-oil",)), Evidence("front-drips", states=("both",)))
    )
    assert not plan.takes_box_out
    assert plan.removal < 0.3


def test_no_vacuum_at_the_modulator_is_mended_in_the_car() -> None:
    """Half an hour and a hose."""
    plan = planned(HOSE_DRY)
    assert names(plan) == ["vacuum-run-renewed"]
    assert plan.best.hours == pytest.approx(0.4)
    assert plan.removal < 0.05
    assert plan.in_passing == ()


def test_with_nothing_noted_nothing_is_proposed() -> None:
    """A prior is no reason to open a gearbox."""
    plan = planned(())
    assert plan.best.works == ()
    assert plan.removal == 0.0


@pytest.mark.parametrize("evidence", [(), RED_AND_HIGH, HOSE_DRY])
def test_what_is_shown_is_consistent(evidence: tuple[Evidence, ...]) -> None:
    """Bills sum to one, steps are needed less and less, the best costs least, all is proved."""
    plan = planned(evidence)
    assert plan.proved
    assert sum(bill.chance for bill in plan.bills) == pytest.approx(1.0)
    assert [bill.chance for bill in plan.bills[:-1]] == sorted(
        (b.chance for b in plan.bills[:-1]), reverse=True
    )
    needed = [step.needed for step in plan.steps]
    assert needed == sorted(needed, reverse=True)
    assert all(plan.best.expected <= option.expected + 0.05 for option in plan.options)
    assert SOONEST <= plan.waiting.recheck <= LATEST
    for extra in plan.in_passing:
        assert extra.now < extra.later
        assert extra.work.while_open


def test_the_range_of_the_repair_follows_from_the_belief() -> None:
    """70 in 100 reseal, 25 in 100 with the pump, 5 in 100 the converter, as believed."""
    faults = ["front-seal-hardened", "pump-worn", "converter-weld-cracked"]
    plan = told(faults, [[0, 3], [0, 1], [2, 3]], [0.70, 0.25, 0.05])
    by_works = {
        tuple(plan.found.works[index].id for index in bill.works): bill for bill in plan.bills if bill.works
    }
    assert {key: round(bill.chance, 6) for key, bill in by_works.items()} == {
        ("front-reseal",): 0.70,
        ("pump-renewed",): 0.25,
        ("converter-exchanged",): 0.05,
    }
    assert by_works["front-reseal",].hours == (10.5, 10.5)
    assert plan.removal == pytest.approx(1.0)
    assert plan.takes_box_out


def test_the_exchange_is_priced_beside_and_never_chosen() -> None:
    """Whatever it costs."""
    plan = told(["direct-clutch-burnt"], [[0], [1]], [0.9, 0.1])
    assert plan.exchange is not None
    assert [work.id for work in plan.exchange.works] == ["exchange-gearbox"]
    assert (plan.exchange.hours, plan.exchange.parts) == (8.5, 34.0)
    assert names(plan) == ["gearbox-overhauled"]


def test_a_dearer_needless_removal_keeps_the_box_in() -> None:
    """At even odds between a seal at the front and one at the tail the charge decides."""
    faults, sets = ["front-seal-hardened", "output-seal-hard"], [[0], [1]]
    bold = told(faults, sets, [0.6, 0.4], charges=Charges(needless_removal=0.0))
    shy = told(faults, sets, [0.6, 0.4], charges=Charges(needless_removal=60.0))
    assert bold.takes_box_out
    assert not shy.takes_box_out


def test_while_the_box_is_out_the_neighbours_are_offered() -> None:
    """Works that cost minutes now and a visit later, never one that is done anyway."""
    plan = planned(RED_AND_HIGH)
    offered = {extra.work.id for extra in plan.in_passing}
    assert {"output-seal-renewed", "pan-and-filter-service"} & offered
    assert not offered & set(names(plan))


def test_likely_work_in_the_car_is_tried_before_the_box_comes_out() -> None:
    """A hose before an overhaul, when either may be it."""
    plan = told(["vacuum-hose-off", "direct-clutch-burnt"], [[0], [1]], [0.5, 0.5])
    assert [work.id for work in plan.steps[0].works] == ["vacuum-run-renewed"]
    assert plan.steps[1].needed == pytest.approx(0.5)


def test_faults_that_nothing_speaks_for_are_not_shown() -> None:
    """They count in the decision, and never in what is told of it."""
    prior = np.array([0.04, 0.04])
    plan = told(["vacuum-hose-off", "pan-gasket-leaking"], [[0, 2], [0, 1]], [0.96, 0.04], prior=prior)
    assert plan.best.cures == pytest.approx(1.0)
    assert [bill.chance for bill in plan.bills] == pytest.approx([1.0, 0.0])


def test_waiting_by_hand() -> None:
    """One fault that worsens by a tenth a month beside one that never does."""
    table = [Waiting("no", 0.1, 10.0, "", ""), Waiting("yes", 0.0, 5.0, "", "")]
    found = outlook(table, np.array([[0, 2], [1, 2], [2, 2]]), np.array([0.5, 0.3, 0.2]))
    assert found.must_stand == pytest.approx(0.5)
    assert found.gently == pytest.approx(0.0)
    assert found.worse_month == pytest.approx(0.05)
    assert found.worse_season == pytest.approx(0.5 * (1.0 - 0.9**6))
    assert found.adds == pytest.approx(5.0 * (1.0 - 0.9**6))
    # 0.5 (1 - 0.9^t) = 0.1 after ln 0.8 / ln 0.9 = 2.118 months of 30.4 days.
    assert found.recheck == 64
    assert found.causes == (0,)


def test_waiting_with_a_fault_beside_the_sets() -> None:
    """Independent of them, so the chances of standing still multiply."""
    table = [Waiting("no", 0.1, 10.0, "", ""), Waiting("gently", 0.2, 5.0, "", "")]
    found = outlook(table, np.array([[0], [2]]), np.array([0.5, 0.5]), np.array([0.0, 0.4]))
    assert found.worse_month == pytest.approx(1.0 - 0.95 * (1.0 - 0.4 * 0.2))
    assert (found.must_stand, found.gently) == pytest.approx((0.5, 0.4))


def test_a_fault_that_must_not_wait_is_looked_at_soonest() -> None:
    """And one that never worsens after half a year."""
    soon = [Waiting("no", 0.9, 10.0, "", "")]
    never = [Waiting("yes", 0.0, 10.0, "", "")]
    assert outlook(soon, np.array([[0]]), np.array([1.0])).recheck == SOONEST
    assert outlook(never, np.array([[0]]), np.array([1.0])).recheck == LATEST


def test_testing_stops_when_the_cause_is_settled() -> None:
    """No test pays after the hose was seen off; before anything is known some do."""
    prepared = box_a()

    def paying(evidence: tuple[Evidence, ...]) -> list[str]:
        diagnosis = diagnose(prepared, evidence, reasons=False)
        tests = next_tests(prepared, diagnosis, evidence).ranked
        foreseen = outcomes(prepared, diagnosis, evidence, [test.finding for test in tests])
        found = further_tests(planned(evidence), foreseen, {test.finding: test.minutes for test in tests})
        assert all(0.0 < worth.costs < worth.saves <= found.all_known + 1e-9 for worth in found.paying)
        low, high = found.hours
        assert 0.0 <= low <= high
        return [worth.test for worth in found.paying]

    assert paying((Evidence("complaint-kind", states=("odd-shifts",)),))
    assert len(paying(HOSE_DRY)) <= 2


@pytest.mark.parametrize("weights", [[1.0], [0.2]])
def test_weights_need_not_sum_to_one(weights: list[float]) -> None:
    """They are taken as shares."""
    assert names(told(["vacuum-hose-off"], [[0]], weights)) == ["vacuum-run-renewed"]
