"""The least expected cost is found exactly: against every combination of works and every order of steps."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bellhousing.diagnosis.best_works import best_works
from bellhousing.diagnosis.covers import bills, least_cover
from bellhousing.diagnosis.look_ahead import distinct, worth_of_knowing_all, worth_of_test, worth_of_tests
from bellhousing.diagnosis.repair_costs import Charges, Repair, hours_together, repair
from bellhousing.diagnosis.repair_order import chance_uncured, cheapest_order
from bellhousing.diagnosis.works import ACCESS, Work
from bellhousing.errors import CatalogueError

SEEDS = st.integers(0, 2**32 - 1)


def invented(
    name: str,
    cures: list[str],
    hours: float = 1.0,
    *,
    access: str = "in-car",
    shared: float | None = None,
    parts: float = 0.0,
    come_back: float = 0.0,
) -> Work:
    """An invented work."""
    own = hours if shared is None else shared
    return Work(name, name, ("x",), access, hours, own, (), parts, frozenset(cures), come_back, (), "", False)


def drawn(seed: int, *, whole: bool) -> tuple[Repair, tuple[list[str], np.ndarray, np.ndarray, list[Work]]]:
    """A random belief and random works, the last of which puts everything right."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(2, 8))
    faults = [f"fault-{index}" for index in range(count)]
    works = []
    for index in range(int(rng.integers(1, 7))):
        access = ACCESS[rng.integers(3)]
        hours = float(rng.uniform(0.3, 12.0))
        shared = hours if access == "in-car" and rng.random() < 0.5 else hours * float(rng.uniform(0.1, 0.9))
        cures = [fault for fault in faults if rng.random() < 0.4] or [faults[0]]
        works.append(
            invented(
                f"work-{index}",
                cures,
                hours,
                access=access,
                shared=shared,
                parts=float(rng.uniform(0.0, 3.0)),
                come_back=float(rng.uniform(0.0, 0.4)),
            )
        )
    works.append(invented("all", faults, 15.0, access="box-out", shared=9.0, parts=5.0, come_back=0.05))
    members = np.full((int(rng.integers(1, 30)), 3), count)
    for row in members:
        size = int(rng.integers(0, min(3, count) + 1))
        row[:size] = rng.choice(count, size, replace=False)
    weights = rng.dirichlet(np.full(len(members), 0.3))
    charges = Charges(*(float(rng.uniform(0.0, high)) for high in (10.0, 1.5, 10.0)))
    return repair(faults, members, weights, works, charges=charges, whole=whole), (
        faults,
        members,
        weights,
        works,
    )


def every(count: int) -> list[tuple[int, ...]]:
    """Every combination of so many works."""
    return [chosen for size in range(count + 1) for chosen in combinations(range(count), size)]


@given(SEEDS, st.booleans())
def test_no_combination_of_works_costs_less(seed: int, whole: bool) -> None:
    """The best of all, and the best that leaves the box in."""
    problem, _ = drawn(seed, whole=whole)
    found = best_works(problem)
    assert found.proved
    costs = {chosen: problem.expected(chosen) for chosen in every(len(problem.works))}
    assert found.best.expected == pytest.approx(min(costs.values()), abs=1e-7)
    shallow = [cost for chosen, cost in costs.items() if not problem.deep[list(chosen)].any()]
    assert found.in_car.expected == pytest.approx(min(shallow), abs=1e-7)
    if found.box_out is not None:
        deep = [cost for chosen, cost in costs.items() if problem.deep[list(chosen)].any()]
        assert found.box_out.expected == pytest.approx(min(deep), abs=1e-7)


@given(SEEDS)
def test_works_left_out_beforehand_would_not_have_paid(seed: int) -> None:
    """The best of the reduced problem is the best of the whole one."""
    reduced, (faults, members, weights, works) = drawn(seed, whole=False)
    whole = repair(faults, members, weights, works, charges=reduced.charges, whole=True)
    names = {work.id: index for index, work in enumerate(whole.works)}
    best = min(every(len(whole.works)), key=whole.expected)
    kept = {work.id for work in reduced.works}
    spare = [index for index in best if whole.works[index].id in kept]
    assert whole.expected(spare) <= whole.expected(best) + 1e-7
    assert set(names) >= kept


@pytest.mark.beside(
    "set by set in plain Python",
    code=(
        "diagnosis.repair_costs.Repair.expected",
        "diagnosis.repair_costs.Repair.by_set",
        "diagnosis.repair_costs.Repair.second_visit",
        "diagnosis.repair_costs.Repair.work_hours",
        "diagnosis.repair_costs.Repair.parts",
        "diagnosis.repair_costs.Repair.come_back",
        "diagnosis.repair_costs.Repair.needless",
        "diagnosis.repair_costs.come_back_costs",
    ),
)
@given(SEEDS)
def test_cost_of_a_choice_by_hand(seed: int) -> None:
    """Set by set in plain Python: work, second visit, come-backs, charge for a needless removal."""
    problem, (faults, members, weights, works) = drawn(seed, whole=True)
    chosen = [index for index in range(len(works)) if index % 2 == seed % 2]
    charges, total, nothing_deep = problem.charges, 0.0, 0.0
    shallow = {fault for work in works if work.depth < 2 for fault in work.cures}
    back = {
        work.id: work.come_back * (work.hours + work.parts_worth + charges.return_visit) for work in works
    }
    done = [works[index] for index in chosen]
    for row, weight in zip(members, weights, strict=True):
        held = [faults[index] for index in row if index < len(faults)]
        cost = hours_together(done) + sum(work.parts_worth for work in done)
        ways, remedies = [0.0], {}
        for fault in held:
            cures = [work for work in done if fault in work.cures]
            signature = tuple(fault in work.cures for work in works)
            if cures:
                if signature not in remedies:
                    cost += min(back[work.id] for work in cures)
                    remedies[signature] = 0.0
                continue
            remedy = min(
                (work for work in works if fault in work.cures),
                key=lambda work: work.hours + work.parts_worth + back[work.id],
            )
            own = remedy.hours_at(remedy.depth) + remedy.parts_worth + back[remedy.id]
            if signature not in remedies:
                cost += (1.0 + charges.missed) * own
                remedies[signature] = own
            ways.append((1.0 + charges.missed) * remedy.opening)
        if len(ways) > 1:
            cost += charges.return_visit + max(ways)
        needless = all(fault in shallow for fault in held)
        nothing_deep += weight * needless
        if any(work.depth == 2 for work in done) and needless:
            cost += charges.needless_removal
        total += weight * cost
    assert problem.expected(chosen) == pytest.approx(total, abs=1e-6 + 200.0 * problem.neglected)
    charge = charges.needless_removal * nothing_deep
    assert problem.needless == pytest.approx(charge, abs=1e-6 + 200.0 * problem.neglected)


@pytest.mark.beside("set by set in plain Python", code="diagnosis.repair_costs.Repair.chance_right")
@given(SEEDS)
def test_chance_right_by_hand(seed: int) -> None:
    """Everything put right, and no box out that nothing calls for."""
    problem, (faults, members, weights, works) = drawn(seed, whole=True)
    chosen = [index for index in range(len(works)) if (index + seed) % 3]
    cured = {fault for index in chosen for fault in works[index].cures}
    shallow = {fault for work in works if work.depth < 2 for fault in work.cures}
    deep = any(works[index].depth == 2 for index in chosen)
    right = 0.0
    for row, weight in zip(members, weights, strict=True):
        held = {faults[index] for index in row if index < len(faults)}
        right += weight * (held <= cured and not (deep and held <= shallow))
    assert problem.chance_right(chosen) == pytest.approx(right, abs=1e-9 + 2.0 * problem.neglected)


def test_faults_apart_from_the_sets_are_joined_to_them() -> None:
    """Independent faults give the same belief as all their combinations written out."""
    works = [invented("a", ["fault-0"]), invented("b", ["fault-1"]), invented("c", ["fault-2"])]
    faults = ["fault-0", "fault-1", "fault-2"]
    alone = np.array([0.0, 0.2, 0.1])
    joined = repair(faults, np.array([[3], [0]]), np.array([0.6, 0.4]), works, alone=alone, whole=True)
    rows, weights = [], []
    for first, weight in ((3, 0.6), (0, 0.4)):
        for second, p in ((3, 0.8), (1, 0.2)):
            for third, q in ((3, 0.9), (2, 0.1)):
                rows.append([first, second, third])
                weights.append(weight * p * q)
    written = repair(faults, np.array(rows), np.array(weights), works, whole=True)
    for chosen in every(3):
        assert joined.expected(chosen) == pytest.approx(written.expected(chosen), abs=1e-9)
        assert joined.chance_right(chosen) == pytest.approx(written.chance_right(chosen), abs=1e-9)


def test_more_classes_than_bits_in_a_word() -> None:
    """Eighty faults with a remedy each."""
    faults = [f"fault-{index}" for index in range(80)]
    works = [invented(f"work-{index}", [fault]) for index, fault in enumerate(faults)]
    members = np.array([[0, 79], [0, 79], [5, 80], [80, 80]])
    problem = repair(faults, members, np.array([0.2, 0.3, 0.4, 0.1]), works, whole=True)
    assert sorted(problem.weights) == pytest.approx([0.1, 0.4, 0.5])
    assert problem.chance_right([0, 79]) == pytest.approx(0.6)


def test_a_fault_without_a_remedy_is_refused() -> None:
    """By name."""
    with pytest.raises(CatalogueError, match="orphan"):
        repair(["known", "orphan"], np.array([[0], [1]]), np.array([0.5, 0.5]), [invented("a", ["known"])])


@given(st.lists(st.tuples(st.floats(0.01, 1.0), st.floats(0.1, 50.0)), min_size=1, max_size=6))
def test_chance_over_cost_is_the_best_of_all_orders(rows: list[tuple[float, float]]) -> None:
    """The theorem of chance over cost, brute force over all orders and the exact search agree."""
    chances = np.array([row[0] for row in rows]) / sum(row[0] for row in rows)
    costs = np.array([row[1] for row in rows])
    count = len(rows)

    def paid(order: Sequence[int]) -> float:
        return sum(float(costs[one] * (1.0 - chances[list(order[:i])].sum())) for i, one in enumerate(order))

    found = paid(sorted(range(count), key=lambda one: -chances[one] / costs[one]))
    least = min(paid(order) for order in permutations(range(count)))
    assert found == pytest.approx(least, rel=1e-9)
    uncured = chance_uncured(np.eye(count), np.eye(count, dtype=bool), chances)
    bits = (np.arange(2**count)[:, None] >> np.arange(count)) & 1
    order = cheapest_order(uncured, bits @ costs, np.append(np.full(2**count - 1, 1e9), 0.0))
    assert order.expected == pytest.approx(least, rel=1e-9)


@given(SEEDS)
def test_steps_cost_least_of_all_divisions(seed: int) -> None:
    """Against every way of dividing four works into steps, tried one by one."""
    rng = np.random.default_rng(seed)
    count = 4
    sets = rng.random((12, 5)) < 0.4
    weights = rng.dirichlet(np.ones(12))
    success = (rng.random((count, 5)) < 0.5) * rng.random((count, 5))
    uncured = chance_uncured(success, sets, weights)
    step, stop = rng.uniform(0.5, 9.0, 16), rng.uniform(0.0, 30.0, 16)
    late = np.sort(rng.uniform(0.0, 3.0, 16))

    def cost(done: int) -> float:
        best = stop[done]
        for batch in range(1, 16):
            if not batch & done:
                reached = 1.0 if done == 0 else uncured[done]
                now = done | batch
                best = min(best, reached * step[batch] + late[now] - late[done] + cost(now))
        return float(best)

    assert cheapest_order(uncured, step, stop, late).expected == pytest.approx(cost(0))


def test_two_works_behind_one_way_are_done_in_one_step() -> None:
    """Opening twice would cost the way again."""
    uncured = np.array([1.0, 0.5, 0.5, 0.0])
    stop = np.array([99.0, 99.0, 99.0, 0.0])
    assert cheapest_order(uncured, np.array([0.0, 10.5, 10.5, 11.0]), stop).steps == ((0, 1),)
    assert cheapest_order(uncured, np.array([0.0, 10.5, 0.5, 11.0]), stop).steps == ((1,), (0,))


def test_too_many_works_to_order_are_refused() -> None:
    """Three to the number of works is too much beyond ten."""
    with pytest.raises(CatalogueError):
        chance_uncured(np.eye(11), np.eye(11, dtype=bool), np.full(11, 1 / 11))


@given(SEEDS)
def test_knowing_more_never_costs(seed: int) -> None:
    """No test is worth less than nothing or more than knowing all."""
    rng = np.random.default_rng(seed)
    weights, costs = rng.dirichlet(np.ones(6)), rng.uniform(0.0, 20.0, (6, 4))
    chances = rng.dirichlet(np.ones(3), 6)
    saves, changes = worth_of_test(weights, costs, chances)
    assert -1e-9 <= saves <= worth_of_knowing_all(weights, costs) + 1e-9
    assert 0.0 <= changes <= 1.0 + 1e-9
    assert (saves > 1e-6) <= (changes > 0.0)


def test_only_tests_that_pay_are_proposed() -> None:
    """The most saved for its price first."""
    weights, costs = np.array([0.5, 0.5]), np.array([[0.0, 10.0], [10.0, 0.0]])
    chances = {
        "sure": np.eye(2),
        "half": np.array([[0.75, 0.25], [0.25, 0.75]]),
        "none": np.full((2, 2), 0.5),
    }
    found = worth_of_tests(weights, costs, chances, {"sure": 1.0, "half": 0.1, "none": 0.1})
    assert [worth.test for worth in found] == ["half", "sure"]
    assert [worth.net for worth in found] == pytest.approx([2.4, 4.0])
    assert worth_of_tests(weights, costs, chances, {"sure": 5.0, "half": 3.0, "none": 0.1}) == ()


def test_choices_are_kept_once() -> None:
    """Whatever the order of their works."""
    assert distinct([(2, 1), (), (1, 2), (3,)]) == ((1, 2), (), (3,))


@given(SEEDS)
def test_least_cover_by_trying_all(seed: int) -> None:
    """Of every combination of works that puts all faults right and holds none that is not needed."""
    problem, (_, _, _, works) = drawn(seed, whole=True)
    rng = np.random.default_rng(seed)
    needs = [c for c in range(problem.cures.shape[1]) if rng.random() < 0.6]
    options = [[i for i in range(len(works)) if problem.cures[i, c]] for c in needs]
    extra = [float(value) for value in rng.uniform(0.0, 2.0, len(works))]

    def cost(chosen: tuple[int, ...] | list[int]) -> float:
        picked = [works[index] for index in chosen]
        return (
            hours_together(picked) + sum(work.parts_worth for work in picked) + sum(extra[i] for i in chosen)
        )

    def complete(chosen: tuple[int, ...]) -> bool:
        return all(set(option) & set(chosen) for option in options)

    tight = [
        c for c in every(len(works)) if complete(c) and not any(complete(tuple(set(c) - {i})) for i in c)
    ]
    assert cost(least_cover(works, options, extra)) == pytest.approx(min(cost(c) for c in tight))


def test_bills_name_the_works_with_the_box_out() -> None:
    """A front leak with and without a small leak beside it is one bill with a range of hours."""
    works = [
        invented("front", ["seal"], 10.5, access="box-out", shared=3.0, parts=1.5),
        invented("pump", ["seal", "pump"], 13.0, access="box-out", shared=5.5, parts=5.0),
        invented("tail", ["tail"], 1.0, shared=0.3),
    ]
    members = np.array([[0, 3], [0, 2], [1, 3], [3, 3]])
    problem = repair(["seal", "pump", "tail"], members, np.array([0.5, 0.2, 0.25, 0.05]), works, whole=True)
    first, second, rest = bills(problem, range(3))
    assert (first.works, second.works, rest.works) == ((0,), (1,), ())
    assert (first.chance, second.chance, rest.chance) == pytest.approx((0.7, 0.25, 0.05))
    assert first.hours == pytest.approx((10.5, 10.8))
