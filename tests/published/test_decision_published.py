"""Ordering repairs, the value of knowing, and least covers, against published theorems and examples."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.diagnosis.covers import least_cover
from bellhousing.diagnosis.look_ahead import cost_deciding_now, worth_of_knowing_all, worth_of_test
from bellhousing.diagnosis.repair_order import chance_uncured, cheapest_order
from bellhousing.diagnosis.works import Work
from tests.published.sources import DECISION_LECTURE

published = pytest.mark.published


def sums(costs: list[float]) -> np.ndarray:
    """Cost of every set of actions, each counted once."""
    bits = (np.arange(2 ** len(costs))[:, None] >> np.arange(len(costs))) & 1
    return np.asarray(bits @ np.array(costs))


class TestChanceOverCost:
    """One fault, each action cures one cause: the order by p/c is of least expected cost.

    J. Kadane and H. Simon, Annals of Statistics 5, 1977, as stated by J. Breese and D. Heckerman, Decision-
    theoretic troubleshooting, 1996 (arXiv 1302.3563), and by T. Ottosen and F. Jensen, When to test?, Aalborg
    University, 2010. The numbers are our own.
    """

    @pytest.mark.beside("a published theorem with figures of our own")
    def test_the_exact_search_finds_the_same(self) -> None:
        """By p/c the second, third, first and fourth, at 3 + 0.7 * 4 + 0.5 * 10 + 0.1 * 8 = 11.6.

        Dynamic programming over all divisions into steps knows nothing of the theorem.
        """
        uncured = chance_uncured(np.eye(4), np.eye(4, dtype=bool), np.array([0.4, 0.3, 0.2, 0.1]))
        order = cheapest_order(uncured, sums([10.0, 3.0, 4.0, 8.0]), np.append(np.full(15, 1e9), 0.0))
        assert order.steps == ((1,), (2,), (0,), (3,))
        assert order.expected == pytest.approx(11.6, abs=1e-12)
        assert order.needed == pytest.approx((1.0, 0.7, 0.5, 0.1))


class TestCarStart:
    """The car that will not start: F. V. Jensen, Bayesian Networks and Decision Graphs, on troubleshooting.

    Spark plugs 0.3, ignition 0.2, something else 0.5. Plugs take 4 minutes; the ignition 2, and that succeeds
    one time in two; repairing everything takes 15; testing the ignition half a minute. Inputs as
    summarised in K. Chen's slides on that book's chapter 4; the results are worked out here from them.
    """

    @pytest.mark.beside("printed inputs, answers worked out here")
    def test_the_exact_search_finds_the_same(self) -> None:
        """0.3 / 4 = 0.075 comes before 0.1 / 2 = 0.05: 4 + 0.7 * 2 + 0.6 * 15 = 14.4.

        The repair of the ignition may fail; everything repaired at 15 minutes is the third action.
        """
        success = np.array([[1.0, 0.0, 0.0], [0.0, 0.5, 0.0], [1.0, 1.0, 1.0]])
        uncured = chance_uncured(success, np.eye(3, dtype=bool), np.array([0.3, 0.2, 0.5]))
        stop = 1e9 * uncured
        order = cheapest_order(uncured, sums([4.0, 2.0, 15.0]), stop)
        assert order.steps == ((0,), (1,), (2,))
        assert order.expected == pytest.approx(14.4)

    @pytest.mark.beside("printed inputs, answers worked out here")
    def test_testing_the_ignition_first_pays(self) -> None:
        """Bad: 2 + 0.5 * 15 = 9.5; good: 4 + 0.5 / 0.8 * 15 = 13.375; 0.2 and 0.8 of them make 12.6."""
        weights = np.array([0.3, 0.2, 0.5])
        choices = [  # plugs then ignition, ignition then plugs, ignition, plugs, everything
            [4.0, 4.0 + 2.0 + 7.5, 21.0],
            [6.0, 2.0 + 0.5 * 4.0 + 7.5, 21.0],
            [17.0, 2.0 + 7.5, 17.0],
            [4.0, 19.0, 19.0],
            [15.0, 15.0, 15.0],
        ]
        costs = np.array(choices).T
        assert cost_deciding_now(weights, costs) == pytest.approx(14.4)
        result = np.array([[1.0, 0.0], [0.0, 1.0], [1.0, 0.0]])  # ignition good, ignition bad
        saves, changes = worth_of_test(weights, costs, result)
        assert saves == pytest.approx(14.4 - 12.6)
        assert saves > 0.5
        assert changes == pytest.approx(1.0)  # after either answer there is something better to do


class TestComputerTrouble:
    """F. V. Jensen and T. D. Nielsen, Bayesian Networks and Decision Graphs, 2nd ed., 2007, an exercise.

    A program 0.8, a virus 0.15, hardware 0.05. Reboot 1: cures a program. Virus removal 2: 0.95 of viruses.
    Reinstalling 25: 0.99 of all but hardware. A new computer 500: everything. The inputs are the book's; the
    answer is worked out here.
    """

    SUCCESS = np.array([[1.0, 0.0, 0.0], [0.0, 0.95, 0.0], [0.99, 0.99, 0.0], [1.0, 1.0, 1.0]])

    @pytest.mark.beside("printed inputs, answer worked out here")
    def test_sequence_and_cost(self) -> None:
        """1 + 0.2 * 2 + 0.0575 * 25 + (0.05 + 0.15 * 0.05 * 0.01) * 500 = 27.875 in the order given."""
        uncured = chance_uncured(self.SUCCESS, np.eye(3, dtype=bool), np.array([0.8, 0.15, 0.05]))
        order = cheapest_order(uncured, sums([1.0, 2.0, 25.0, 500.0]), 1e9 * uncured)
        assert order.steps == ((0,), (1,), (2,), (3,))
        assert order.needed == pytest.approx((1.0, 0.2, 0.0575, 0.050075))
        assert order.expected == pytest.approx(27.875)


class TestValueOfKnowing:
    """Expected value of perfect information in two decision tables of textbooks."""

    CHANCES = np.array([0.5, 0.3, 0.2])

    @published(
        quantity="expected cost of deciding now",
        source=DECISION_LECTURE,
        place="worth of perfect information",
        code="diagnosis.look_ahead.cost_deciding_now",
        figures=(0,),
    )
    @published(
        quantity="worth of knowing all",
        source=DECISION_LECTURE,
        place="worth of perfect information",
        code="diagnosis.look_ahead.worth_of_knowing_all",
        figures=(2,),
    )
    def test_three_investments(self) -> None:
        """Mean 680, 1030 with perfect information, so that it is worth 350."""
        gains = np.array([[1500.0, 300.0, -800.0], [900.0, 600.0, -200.0], [500.0, 500.0, 500.0]])
        costs = -gains.T
        assert -cost_deciding_now(self.CHANCES, costs) == pytest.approx(680.0)
        assert -float(self.CHANCES @ costs.min(axis=1)) == pytest.approx(1030.0)
        assert worth_of_knowing_all(self.CHANCES, costs) == pytest.approx(350.0)
        saves, _ = worth_of_test(self.CHANCES, costs, np.eye(3))
        assert saves == pytest.approx(350.0)

    @pytest.mark.from_memory("R. T. Clemen, Making Hard Decisions")
    def test_stocks(self) -> None:
        """580, worth 420: R. T. Clemen, Making Hard Decisions; its inputs read, its answers from memory."""
        gains = np.array([[1500.0, 100.0, -1000.0], [1000.0, 200.0, -100.0], [500.0, 500.0, 500.0]])
        assert -cost_deciding_now(self.CHANCES, -gains.T) == pytest.approx(580.0)
        assert worth_of_knowing_all(self.CHANCES, -gains.T) == pytest.approx(420.0)


class TestHittingSets:
    """Minimal hitting sets of {A, B} and {B, C} are {B} and {A, C}: the definition in R. Reiter, 1987."""

    @pytest.mark.beside("a definition", code="diagnosis.covers.least_cover:expected")
    @pytest.mark.parametrize(("dear", "expected"), [("A", [1]), ("B", [0, 2])])
    def test_the_cheaper_of_the_two(self, dear: str, expected: list[int]) -> None:
        """With B cheap it is {B}; with B dear, {A, C}."""
        works = [
            Work(
                name,
                name,
                (),
                "in-car",
                9.0 if name == dear else 1.0,
                1.0,
                (),
                0.0,
                frozenset(),
                0.0,
                (),
                "",
                False,
            )
            for name in "ABC"
        ]
        assert least_cover(works, [[0, 1], [1, 2]], [0.0, 0.0, 0.0]) == expected
