"""Selective fits: the integer program against every way there is, and what must never go wrong."""

from __future__ import annotations

import itertools
import math
import random
from collections import Counter
from dataclasses import replace

import pytest

from bellhousing.errors import QuantityError
from bellhousing.fits.arithmetic import size_of
from bellhousing.fits.parts import Limits, Part, Piece, Place, Stack, base_of_measured
from bellhousing.fits.program import lower_edges
from bellhousing.fits.selective import Solution, solve_fits
from bellhousing.fits.verdict import Rule
from tests.fits.brute_force import best_way, probability

THOU = 25.4e-6


def washers(*sizes: float, stock: int = 1, to_buy: int = 0, **more: object) -> Part:
    """Washers of sizes in thousandths of an inch."""
    pieces = tuple(Piece(size * THOU, stock=stock, to_buy=to_buy, price=4.0) for size in sizes)
    return Part("washer", "thrust washer", pieces, tolerance=0.5 * THOU, **more)  # type: ignore[arg-type]


def end_play(measured: float, *, old: float = 72.0, name: str = "end-play", u: float = 1.2) -> Stack:
    """End play measured with an old washer in, window 6 to 18 thousandths."""
    place = Place("washer", -1, 1, (old * THOU,))
    base = base_of_measured(measured * THOU, (place,))
    return Stack(name, "End play", base, u * THOU, 6 * THOU, 18 * THOU, 12 * THOU, (place,), measured * THOU)


def random_instance(seed: int) -> tuple[list[Stack], dict[str, Part]]:
    """A small instance: up to three stacks, shared parts, some to buy, duplicate sizes, some hopeless."""
    rng = random.Random(seed)
    parts = {}
    for name in ("washer", "ring")[: rng.randint(1, 2)]:
        pieces = []
        for _ in range(rng.randint(1, 4)):
            pieces.append(
                Piece(
                    rng.choice([66, 68, 70, 71.5, 74, 78]) * THOU,
                    stock=rng.randint(0, 2),
                    on_order=rng.choice([0, 0, 1]),
                    to_buy=rng.choice([0, 0, 2]),
                    price=rng.choice([1.0, 2.5, 4.0]),
                )
            )
        parts[name] = Part(name, name, tuple(pieces), tolerance=rng.choice([0.0, 0.5, 2.0]) * THOU)
    stacks = []
    for number in range(rng.randint(1, 3)):
        places = tuple(
            Place(name, rng.choice([-1, -1, 1]), rng.choice([1, 1, 2]))
            for name in parts
            if rng.random() < 0.8
        ) or (Place(next(iter(parts))),)
        middle = 12 * THOU - sum(place.sign * place.count * 70 * THOU for place in places)
        base = middle + rng.uniform(-8, 8) * THOU
        u = rng.choice([0.5, 1.5, 3.0]) * THOU
        stacks.append(Stack(f"s{number}", f"S{number}", base, u, 6 * THOU, 18 * THOU, 12 * THOU, places))
    return stacks, parts


def chance_cost(solution: Solution, parts: dict[str, Part], sure: float) -> float:
    """What the chances of a solution cost, worked out with another library."""
    costs = (probability(fit.stack, parts, fit.clearance) for fit in solution.fits)
    return sum(max(0.0, math.log(sure) - math.log(chance)) for chance in costs)


@pytest.mark.beside("every choice of pieces tried", code=("fits.parts.Stack.gap", "fits.parts.deviation"))
@pytest.mark.parametrize("seed", range(200))
def test_equals_every_way_looked_through(seed: int) -> None:
    """Stacks left open, joint probability, pieces bought and price, on a small random instance."""
    stacks, parts = random_instance(seed)
    sure = (1.0, 0.999, 0.97)[seed % 3]
    found = solve_fits(stacks, parts, limits=Limits(sure=sure))
    best = best_way(stacks, parts, least=0.5, sure=sure)
    assert found.proven
    assert len(found.open) == best.open
    assert chance_cost(found, parts, sure) == pytest.approx(best.chance, abs=5e-6)
    assert found.bought == best.bought
    assert found.price == pytest.approx(best.price)


def test_ten_stacks_from_forty_sizes_are_proven_best() -> None:
    """Three measured plates in each, one to three pieces of each size shared: no stock is overdrawn."""
    rng = random.Random(11)
    pieces = tuple(Piece(1.8e-3 + 1e-6 * rng.randrange(400), stock=rng.randint(1, 3)) for _ in range(40))
    place = Place("plate", -1, 3)
    stacks = [
        Stack(f"s{n}", f"S{n}", 7e-3 + rng.uniform(-3e-4, 3e-4), 8e-6, 9e-4, 1.1e-3, 1e-3, (place,))
        for n in range(10)
    ]
    solution = solve_fits(stacks, {"plate": Part("plate", "plate", pieces, tolerance=4e-6)})
    assert solution.proven
    assert solution.open == ()
    used: Counter[Piece] = Counter()
    for fit in solution.fits:
        assert abs(fit.clearance - 1e-3) < 2e-5
        used.update({chosen.piece: chosen.count for chosen in fit.chosen})
    stock: Counter[Piece] = Counter()
    for piece in pieces:
        stock[piece] += piece.stock
    assert all(count <= stock[piece] for piece, count in used.items())
    assert sum(used.values()) == 30


def test_random_instances_are_of_every_kind() -> None:
    """Among them some are filled, some left open, some buy and some need not."""
    kinds = set()
    for seed in range(200):
        best = best_way(*random_instance(seed), least=0.5, sure=1.0)
        kinds.add((best.open > 0, best.bought > 0))
    assert len(kinds) == 4


def test_old_to_new_in_words_and_the_right_way() -> None:
    """Too much play takes a thicker washer, and the sum is shown."""
    (fit,) = solve_fits([end_play(21)], {"washer": washers(66, 70, 74, 78, 82)}).fits
    assert fit.chosen[0].piece.size == pytest.approx(82 * THOU)
    assert fit.clearance == pytest.approx(11 * THOU)
    said = " ".join(fit.arithmetic)
    assert "0.021 in; wanted is 0.012 in (0.006–0.018 in): 0.009 in too much" in said
    assert "a thicker one takes from the gap" in said
    assert "0.021 in − 0.010 in = 0.011 in" in said


@pytest.mark.parametrize(("name", "more"), [("apply pin", "longer"), ("front thrust washer", "thicker")])
def test_a_pin_is_longer_and_a_washer_thicker(name: str, more: str) -> None:
    """Said as one would at the bench."""
    part = replace(washers(66, 70, 74, 78, 82), name=name)
    (fit,) = solve_fits([end_play(21)], {"washer": part}).fits
    said = " ".join(fit.arithmetic)
    assert f"a {more} one takes from the gap" in said
    assert f"0.010 in {more}: the gap shrinks" in said


@pytest.mark.parametrize("measured", [3.0, 9.0, 15.0, 25.0])
@pytest.mark.parametrize("sign", [-1, 1])
def test_never_the_wrong_way(measured: float, sign: int) -> None:
    """Whichever way a thicker part works, the new gap is nearer to the target than the old one."""
    place = Place("washer", sign, 1, (72 * THOU,))
    base = base_of_measured(measured * THOU, (place,))
    stack = Stack("s", "S", base, THOU, 6 * THOU, 18 * THOU, 12 * THOU, (place,), measured * THOU)
    (fit,) = solve_fits([stack], {"washer": washers(*range(56, 90, 2))}).fits
    assert abs(fit.clearance - 12 * THOU) <= abs(measured - 12) * THOU + 1e-9
    thicker = fit.chosen[0].piece.size > 72 * THOU
    assert thicker == ((measured > 12) == (sign < 0))


def test_nothing_fits_says_what_to_order() -> None:
    """The size that would do, between which sizes any would, and how far off the list it is."""
    (entry,) = solve_fits([end_play(40)], {"washer": washers(66, 70, 74, 78, 82)}).open
    assert entry.nearest == pytest.approx(30 * THOU)
    assert "0.012 in over the window" in entry.why
    (order,) = entry.orders
    assert (order.size, order.low, order.high) == pytest.approx((100 * THOU, 94 * THOU, 106 * THOU))
    assert "0.018 in thicker than any listed" in order.text
    # What is ordered so does fit.
    fixed = solve_fits([end_play(40)], {"washer": washers(66, 82, order.size / THOU)})
    assert fixed.fits[0].clearance == pytest.approx(12 * THOU)


def test_empty_stock_is_answered_with_an_order() -> None:
    """No pieces at all: the size follows from the sum."""
    place = Place("washer", -1, 1)
    stack = Stack("s", "S", 84 * THOU, THOU, 6 * THOU, 18 * THOU, 12 * THOU, (place,))
    solution = solve_fits([stack], {"washer": washers()})
    assert solution.open[0].orders[0].size == pytest.approx(72 * THOU)
    assert solution.joint == 1.0
    assert solve_fits([], {}).proven


def test_one_washer_cannot_sit_in_two_boxes() -> None:
    """The last good one goes where it does most; the other stack is told what to order."""
    stacks = [end_play(12, name="one", old=72), end_play(12, name="two", old=72)]
    bare = [
        Stack(s.id, s.name, s.base, s.uncertainty, s.low, s.high, s.target, (Place("washer"),))
        for s in stacks
    ]
    solution = solve_fits(bare, {"washer": washers(72, stock=1)})
    assert (len(solution.fits), len(solution.open)) == (1, 1)
    assert solution.open[0].orders[0].size == pytest.approx(72 * THOU)


def test_duplicate_sizes_are_two_of_one() -> None:
    """Two entries of one size serve two stacks."""
    stack = end_play(12)
    bare = [
        Stack(n, n, stack.base, THOU, 6 * THOU, 18 * THOU, 12 * THOU, (Place("washer"),)) for n in ("a", "b")
    ]
    assert len(solve_fits(bare, {"washer": washers(72, 72)}).fits) == 2


def test_a_worn_washer_is_not_fitted_again() -> None:
    """Beyond its limit of wear it is left out and named, within it is used."""
    used = Piece(72 * THOU, stock=1, was=77 * THOU)
    part = Part("washer", "thrust washer", (used, Piece(75 * THOU, stock=1)), most_wear=4 * THOU)
    stack = Stack("s", "S", 84 * THOU, THOU, 6 * THOU, 18 * THOU, 12 * THOU, (Place("washer"),))
    solution = solve_fits([stack], {"washer": part})
    assert solution.fits[0].chosen[0].piece.size == pytest.approx(75 * THOU)
    assert "worn by 0.005 in" in solution.left_out[0].why
    kept = Part("washer", "thrust washer", part.pieces, most_wear=6 * THOU)
    assert solve_fits([stack], {"washer": kept}).fits[0].chosen[0].piece == used


def test_what_is_in_it_may_stay() -> None:
    """The old washer is offered again, and nothing is bought where it does."""
    (fit,) = solve_fits([end_play(12)], {"washer": washers(72, 76, stock=0, to_buy=5)}).fits
    assert fit.chosen[0].piece.fitted
    assert "stays" in " ".join(fit.arithmetic)


def test_nothing_is_bought_to_better_what_is_sure() -> None:
    """A stack surer than 999 in 1000 takes what lies on the shelf; asked to, it buys the nearer one."""
    parts = {
        "washer": Part("washer", "w", (Piece(73.5 * THOU, stock=1), Piece(72 * THOU, to_buy=1, price=4.0)))
    }
    stack = Stack("s", "S", 84 * THOU, 1.2 * THOU, 6 * THOU, 18 * THOU, 12 * THOU, (Place("washer"),))
    assert solve_fits([stack], parts).bought == 0
    assert solve_fits([stack], parts, limits=Limits(sure=1.0)).bought == 1


@pytest.mark.parametrize(
    ("part", "said"),
    [
        (washers(72, 74, 0.074), "unit"),
        (washers(72, 1.85 / 25.4e-3, 74 * 25.4), "unit"),
        (washers(-72), "above nothing"),
        (washers(72, stock=-1), "below nothing"),
        (Part("washer", "w", (Piece(72 * THOU, stock=1, was=70 * THOU),)), "thicker than it was new"),
    ],
)
def test_slips_are_refused(part: Part, said: str) -> None:
    """A size in the wrong unit, below nothing, a used washer that grew."""
    with pytest.raises(QuantityError, match=said):
        solve_fits([end_play(21)], {"washer": part})


def test_a_stack_in_the_wrong_unit_says_so() -> None:
    """A gap a hundred windows away is no matter of washers."""
    stack = Stack("s", "S", 84e-3, THOU, 6 * THOU, 18 * THOU, 12 * THOU, (Place("washer"),))
    assert "slip of unit" in solve_fits([stack], {"washer": washers(70, 72)}).open[0].why


def test_a_window_backwards_and_an_unknown_part_are_refused() -> None:
    """Before anything is searched."""
    with pytest.raises(QuantityError, match="window"):
        solve_fits([Stack("s", "S", 0.0, 0.0, 2e-4, 1e-4, 1.5e-4, ())], {})
    with pytest.raises(QuantityError, match="no part"):
        solve_fits([end_play(21)], {})


def test_a_window_longer_than_any_box_is_refused() -> None:
    """A slip of the exponent is no window."""
    with pytest.raises(QuantityError, match="no box is that long"):
        solve_fits([replace(end_play(21.0), high=1e305)], {"washer": washers(80, 84)})


def test_of_equally_good_choices_the_same_is_made_every_time() -> None:
    """Six stacks alike and pieces alike in pairs: many ways, one answer."""
    stacks = [end_play(21.0, name=f"s{number}") for number in range(6)]
    parts = {"washer": washers(80, 81, 82, 80, 81, 82, stock=2)}
    told = {repr(solve_fits(stacks, parts).fits) for _ in range(5)}
    assert len(told) == 1


def test_a_gap_known_too_badly_is_measured_first() -> None:
    """No washer makes a reading of ± 0.03 in conform to a window of 0.012 in."""
    (entry,) = solve_fits([end_play(12, u=15.0)], {"washer": washers(72)}).open
    assert "measure it better" in entry.why


def test_the_rule_judges_what_results() -> None:
    """Probability and rule are those of a reading."""
    (fit,) = solve_fits([end_play(21)], {"washer": washers(76)}, rule=Rule("guarded")).fits
    assert fit.judgement.outcome == "cannot tell"
    assert fit.judgement.probability == pytest.approx(
        probability(fit.stack, {"washer": washers(76)}, fit.clearance)
    )


def test_lower_edges_lie_under_the_table() -> None:
    """Corners are points of the table, and no point lies under an edge."""
    rng = random.Random(3)
    for _ in range(50):
        table = [rng.randrange(100) for _ in range(rng.randint(1, 12))]
        corners = lower_edges(table)
        assert all(table[x] == y for x, y in corners)
        for (x0, y0), (x1, y1) in itertools.pairwise(corners):
            assert all(table[x] * (x1 - x0) >= y0 * (x1 - x) + y1 * (x - x0) for x in range(x0, x1 + 1))


def test_a_size_is_written_to_the_places_of_its_stock() -> None:
    """The chosen one as all the others: 0.070 in beside 0.074 in, 0.07 in beside 0.08 in."""
    fine, coarse = washers(66, 70, 74), washers(60, 70, 80)
    assert [size_of(fine, size * THOU) for size in (70, 71.5)] == ["0.070 in", "0.0715 in"]
    assert size_of(coarse, 70 * THOU) == "0.07 in"
