"""The integer program of selective fits: which pieces go where, of all that is to be had, proven best."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from bellhousing.errors import QuantityError
from bellhousing.fits.parts import Limits, Part, Stack, deviation
from bellhousing.fits.verdict import conformity

GRID = 1e-7  # sizes are counted in tenths of a micrometre, so that thousandths of an inch are whole [m]
WORKERS = 2
LARGEST = 2**60
FINE = 1e-6  # of the natural logarithm of a probability
MOST_STEPS = 20_000


@dataclass(frozen=True)
class Steps:
    """Gaps a stack can have, evenly spaced, those that fit.

    Parameters
    ----------
    stride : spacing of the gaps [grid]
    first : number of the first gap that fits, counted from that of the smallest pieces
    chances : probability of conformity at each [1]
    away : distance of each from the target [m]
    """

    stride: int
    first: int
    chances: tuple[float, ...]
    away: tuple[float, ...]


@dataclass(frozen=True)
class Choice:
    """How many of each piece go into each place: taken[stack][place][piece], None for a stack left open.

    `proven` says that nothing better exists.
    """

    taken: tuple[tuple[tuple[int, ...], ...] | None, ...]
    proven: bool


def whole(size: float) -> int:
    """A size on the grid."""
    return round(size / GRID)


def cost_of(probability: float, sure: float) -> float:
    """What a probability costs: what - ln p exceeds - ln of what counts as sure; convex in the gap."""
    return max(0.0, -math.log(probability) + math.log(sure))


def lower_edges(table: Sequence[int]) -> list[tuple[int, int]]:
    """Corners of the lower convex hull of a table over 0, 1, 2 ... (monotone chain)."""
    hull: list[tuple[int, int]] = []
    for place, value in enumerate(table):
        while len(hull) > 1:
            (x0, y0), (x1, y1) = hull[-2:]
            if (y1 - y0) * (place - x0) < (value - y0) * (x1 - x0):
                break
            hull.pop()
        hull.append((place, value))
    return hull


def steps_of(stack: Stack, parts: Mapping[str, Part], least: float) -> Steps | None:
    """The gaps of a stack that fit, None if none can."""
    offset, low, high, stride = 0, 0, 0, 0
    for place in stack.places:
        sizes = [whole(piece.size) for piece in parts[place.part].pieces if piece.supply > 0]
        if not sizes:
            return None
        small, span = min(sizes), max(sizes) - min(sizes)
        offset += place.sign * place.count * small
        low, high = (low, high + place.count * span) if place.sign > 0 else (low - place.count * span, high)
        stride = math.gcd(stride, *(size - small for size in sizes))
    stride = stride or 1
    u = deviation(stack, parts)

    def gap(step: int) -> float:
        return stack.base + (offset + step * stride) * GRID

    # The ends of the window in steps; beyond them a choice has less than an even chance.
    slack = 0.0 if least >= 0.5 else 6.0 * u
    first = max(low // stride, math.ceil((stack.low - slack - gap(0)) / (stride * GRID) - 1e-6))
    last = min(high // stride, math.floor((stack.high + slack - gap(0)) / (stride * GRID) + 1e-6))
    if last - first > MOST_STEPS:
        raise QuantityError(
            "the window holds too many gaps to be searched",
            where=stack.name,
            remedy="round the sizes or narrow it",
        )
    chances = [conformity(stack.low, stack.high, gap(step), u) for step in range(first, last + 1)]
    fitting = [place for place, chance in enumerate(chances) if chance >= least - 1e-9]
    if not fitting:
        return None
    start, end = fitting[0], fitting[-1]
    return Steps(
        stride,
        first + start,
        tuple(chances[start : end + 1]),
        tuple(abs(gap(first + place) - stack.target) for place in range(start, end + 1)),
    )


class Program:
    """One model over all stacks with one objective: each aim weighs more than all that come after it."""

    def __init__(
        self,
        stacks: Sequence[Stack],
        parts: Mapping[str, Part],
        steps: Sequence[Steps | None],
        sure: float,
        *,
        may_open: bool,
    ) -> None:
        self.stacks, self.parts, self.steps = stacks, parts, steps
        self.model = cp_model.CpModel()
        self.counts: list[list[list[cp_model.IntVar]]] = []
        self.served: list[cp_model.IntVar] = []
        self._used: dict[tuple[str, int], list[cp_model.IntVar]] = {}
        self._objective: list[cp_model.LinearExprT] = []
        weights = _Weights.of(stacks, parts, steps, sure)
        for stack, found in zip(stacks, steps, strict=True):
            self._add(stack, found, weights, may_open)
        self._supply(weights)
        self.model.minimize(cp_model.LinearExpr.sum(self._objective))

    def _add(self, stack: Stack, steps: Steps | None, weights: _Weights, may_open: bool) -> None:
        model = self.model
        served = model.new_bool_var("") if may_open else model.new_constant(1)
        self.served.append(served)
        rows: list[list[cp_model.IntVar]] = []
        moved: list[cp_model.LinearExprT] = []
        for place in stack.places:
            pieces = self.parts[place.part].pieces
            small = min((whole(piece.size) for piece in pieces if piece.supply > 0), default=0)
            row = [model.new_int_var(0, min(place.count, piece.supply), "") for piece in pieces]
            model.add(cp_model.LinearExpr.sum(row) == place.count * served)
            for number, (piece, count) in enumerate(zip(pieces, row, strict=True)):
                self._used.setdefault((place.part, number), []).append(count)
                moved.append(place.sign * (whole(piece.size) - small) * count)
            rows.append(row)
        self.counts.append(rows)
        if steps is None:
            model.add(served == 0)
            self._objective.append(weights.left_open)
            return
        table = [weights.cost(chance, away) for chance, away in zip(steps.chances, steps.away, strict=True)]
        step = model.new_int_var(0, len(table) - 1, "")
        corners = lower_edges(table)
        value = model.new_int_var(min(table), max(table), "")
        model.add(cp_model.LinearExpr.sum(moved) == steps.stride * step + steps.stride * steps.first * served)
        # The cost is convex in the gap: above every edge of the table, it comes to lie on it.
        for (x0, y0), (x1, y1) in itertools.pairwise(corners):
            model.add((x1 - x0) * value >= (x1 - x0) * y0 + (y1 - y0) * (step - x0))
        # A stack left open stands on the first step: what that would cost is taken off again.
        self._objective.append(value + (weights.left_open - table[0]) * (1 - served))

    def _supply(self, weights: _Weights) -> None:
        for (name, number), counts in self._used.items():
            piece = self.parts[name].pieces[number]
            own, used = piece.stock + piece.on_order, cp_model.LinearExpr.sum(counts)
            if piece.to_buy > 0:
                bought = self.model.new_int_var(0, piece.to_buy, "")
                self.model.add(used <= own + bought)
                self._objective.append(weights.bought(piece.price) * bought)
            else:
                self.model.add(used <= own)

    def solve(self, seconds: float) -> Choice | None:
        """Solve, None if it cannot be done; what is proven is the same choice whenever it is asked again.

        Raises
        ------
        QuantityError : no answer within the time
        """
        solver = cp_model.CpSolver()
        # Of choices equally good, a search by one worker always meets the same one first.
        status = _search(solver, self.model, 0.5 * seconds, workers=1)
        if status not in (cp_model.OPTIMAL, cp_model.INFEASIBLE):
            status = _search(solver, self.model, 0.5 * seconds, workers=WORKERS)
        if status == cp_model.INFEASIBLE:
            return None
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            raise QuantityError("no choice of parts was found in the time given", remedy="give it more time")
        taken = tuple(
            tuple(tuple(int(solver.value(count)) for count in row) for row in rows)
            if solver.value(served)
            else None
            for rows, served in zip(self.counts, self.served, strict=True)
        )
        return Choice(taken, status == cp_model.OPTIMAL)


def _search(
    solver: cp_model.CpSolver, model: cp_model.CpModel, seconds: float, *, workers: int
) -> cp_model.CpSolverStatus:
    solver.parameters.random_seed = 1
    solver.parameters.num_workers = workers
    # Alone, a worker is quickest without relaxing the program to a linear one.
    solver.parameters.linearization_level = 0 if workers == 1 else 1
    solver.parameters.max_time_in_seconds = seconds
    return solver.solve(model)


@dataclass(frozen=True)
class _Weights:
    """What each aim weighs: a stack left open, chance by `FINE`, a piece bought, a cent, a step."""

    left_open: int
    chance: int
    piece: int
    cent: int
    step: float
    sure: float

    @classmethod
    def of(
        cls,
        stacks: Sequence[Stack],
        parts: Mapping[str, Part],
        steps: Sequence[Steps | None],
        sure: float,
    ) -> _Weights:
        """Weights that make each aim outweigh all that come after it; nearness as finely as there is room.

        Raises
        ------
        QuantityError : sums too large to be counted together
        """
        known = [found for found in steps if found is not None]
        needed = sum(place.count for stack in stacks for place in stack.places)
        sold = [piece.price for part in parts.values() for piece in part.pieces if piece.to_buy > 0]
        worst = sum(
            1 + round(max(cost_of(chance, sure) for chance in found.chances) / FINE) for found in known
        )
        for step in (1e-6, 1e-5, 1e-4, 1e-2):
            cent = 1 + sum(1 + round(max(found.away) / step) for found in known)
            piece = cent * (1 + needed * round(100 * max(sold))) if sold else cent
            chance = piece * (1 + needed) if sold else cent
            left_open = chance * (1 + worst)
            if left_open * (1 + len(stacks)) <= LARGEST:
                return cls(left_open, chance, piece, cent, step, sure)
        raise QuantityError(
            "prices, stacks and sizes are too large to be weighed together",
            remedy="give prices in a larger unit, or solve the stacks in two files",
        )

    def cost(self, chance: float, away: float) -> int:
        """Cost of a gap."""
        return round(self.chance * cost_of(chance, self.sure) / FINE) + round(away / self.step)

    def bought(self, price: float) -> int:
        """Cost of a piece that is bought."""
        return self.piece + self.cent * round(100 * price)


def best_choice(stacks: Sequence[Stack], parts: Mapping[str, Part], limits: Limits) -> Choice:
    """The choice that leaves fewest stacks open, has the highest joint probability, then buys fewest pieces.

    Then it costs least, and then lies nearest to the targets.
    """
    if not stacks:
        return Choice((), True)
    sure = limits.counted_as_sure(parts)
    steps = [steps_of(stack, parts, limits.least) for stack in stacks]
    if all(found is not None for found in steps):
        choice = Program(stacks, parts, steps, sure, may_open=False).solve(limits.seconds)
        if choice is not None:
            return choice
    choice = Program(stacks, parts, steps, sure, may_open=True).solve(limits.seconds)
    assert choice is not None  # leaving every stack open is always possible
    return choice
