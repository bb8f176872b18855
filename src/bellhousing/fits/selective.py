"""Selective fits: pieces for every stack at once, what each comes to, what to order where nothing fits."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from bellhousing.fits.arithmetic import arithmetic, length, order_text, span
from bellhousing.fits.parts import (
    LeftOut,
    Limits,
    Part,
    Piece,
    Place,
    Stack,
    check_stacks,
    deviation,
    usable,
    with_fitted,
)
from bellhousing.fits.verdict import Judgement, Rule, conformity, judge

# So many ways of filling a stack are looked through for what comes nearest.
MOST_WAYS = 200_000


@dataclass(frozen=True)
class Chosen:
    """One piece in one place: where it sits, which, and where it comes from (stock, on order, to buy)."""

    place: Place
    piece: Piece
    count: int
    from_stock: int
    on_order: int
    bought: int


@dataclass(frozen=True)
class Fit:
    """A stack that is filled.

    Parameters
    ----------
    stack, chosen : the stack and its pieces
    clearance : gap that results [m]
    uncertainty : standard uncertainty of it [m]
    judgement : probability of conformity and what the rule makes of it
    arithmetic : old part, change, new part in words, one sentence for each place
    """

    stack: Stack
    chosen: tuple[Chosen, ...]
    clearance: float
    uncertainty: float
    judgement: Judgement
    arithmetic: tuple[str, ...]


@dataclass(frozen=True)
class Order:
    """What a place of an open stack needs: a size, and between which sizes any would fit [m]."""

    part: str
    count: int
    size: float
    low: float
    high: float
    text: str


@dataclass(frozen=True)
class Open:
    """A stack that nothing fits: the nearest gap [m], None if a place has no pieces, and what to order."""

    stack: Stack
    nearest: float | None
    why: str
    orders: tuple[Order, ...]


@dataclass(frozen=True)
class Solution:
    """All stacks at once.

    Parameters
    ----------
    fits, open : stacks filled and stacks left open
    joint : probability that every filled stack lies in its window [1]
    bought : pieces to buy
    price : what they cost [money]
    proven : whether nothing better exists
    left_out : worn pieces that were not offered
    """

    fits: tuple[Fit, ...]
    open: tuple[Open, ...]
    joint: float
    bought: int
    price: float
    proven: bool
    left_out: tuple[LeftOut, ...]


def solve_fits(
    stacks: Sequence[Stack],
    parts: Mapping[str, Part],
    *,
    limits: Limits | None = None,
    rule: Rule | None = None,
) -> Solution:
    """Choose pieces for all stacks at once from everything that is to be had.

    Fewest stacks are left open; then the joint probability of conformity is highest, then fewest pieces are
    bought, then they cost least, then the gaps lie nearest to their targets.

    Raises
    ------
    QuantityError : stacks or parts that cannot be, or no answer in the time
    """
    # The solver takes a second or two to load: whoever only measures never waits for it.
    from bellhousing.fits.program import best_choice

    check_stacks(stacks, parts)
    offered: dict[str, Part] = {}
    out: list[LeftOut] = []
    for name, part in with_fitted(stacks, parts).items():
        offered[name], worn = usable(part)
        out += worn
    choice = best_choice(stacks, offered, limits or Limits())
    supply = _Supply(offered)
    fits, still_open = [], []
    for stack, taken in zip(stacks, choice.taken, strict=True):
        if taken is None:
            still_open.append(stack)
        else:
            fits.append(_fit(stack, taken, offered, supply, rule))
    left = supply.left()
    joint = math.prod(fit.judgement.probability for fit in fits)
    return Solution(
        tuple(fits),
        tuple(_open(stack, left, offered) for stack in still_open),
        joint,
        supply.bought,
        supply.price,
        choice.proven,
        tuple(out),
    )


class _Supply:
    """What has been taken so far: from the shelf first, then what is on order, then bought."""

    def __init__(self, parts: Mapping[str, Part]) -> None:
        self.parts = parts
        self.bought = 0
        self.price = 0.0
        self._stock = {name: [piece.stock for piece in part.pieces] for name, part in parts.items()}
        self._order = {name: [piece.on_order for piece in part.pieces] for name, part in parts.items()}
        self._buy = {name: [piece.to_buy for piece in part.pieces] for name, part in parts.items()}

    def take(self, place: Place, number: int, count: int) -> Chosen:
        """Take so many of one piece."""
        piece = self.parts[place.part].pieces[number]
        stock = min(count, self._stock[place.part][number])
        order = min(count - stock, self._order[place.part][number])
        bought = count - stock - order
        self._stock[place.part][number] -= stock
        self._order[place.part][number] -= order
        self._buy[place.part][number] -= bought
        self.bought += bought
        self.price += bought * piece.price
        return Chosen(place, piece, count, stock, order, bought)

    def left(self) -> dict[str, Part]:
        """The parts with what is left of each."""
        found = {}
        for name, part in self.parts.items():
            rest = zip(part.pieces, self._stock[name], self._order[name], self._buy[name], strict=True)
            pieces = tuple(
                replace(piece, stock=stock, on_order=order, to_buy=buy) for piece, stock, order, buy in rest
            )
            found[name] = replace(part, pieces=tuple(piece for piece in pieces if piece.supply > 0))
        return found


def _fit(
    stack: Stack,
    taken: tuple[tuple[int, ...], ...],
    parts: Mapping[str, Part],
    supply: _Supply,
    rule: Rule | None,
) -> Fit:
    chosen = tuple(
        supply.take(place, number, count)
        for place, row in zip(stack.places, taken, strict=True)
        for number, count in enumerate(row)
        if count
    )
    sizes = [
        [item.piece.size for item in chosen if item.place is place for _ in range(item.count)]
        for place in stack.places
    ]
    gap, u = stack.gap(sizes), deviation(stack, parts)
    return Fit(
        stack,
        chosen,
        gap,
        u,
        judge(stack.low, stack.high, gap, u, rule=rule),
        arithmetic(stack, sizes, gap, parts),
    )


def _open(stack: Stack, left: Mapping[str, Part], offered: Mapping[str, Part]) -> Open:
    u = deviation(stack, offered)
    if conformity(stack.low, stack.high, (stack.low + stack.high) / 2.0, u) < 0.5:
        return Open(stack, None, "the gap is not known well enough for its window: measure it better", ())
    empty = [place for place in stack.places if _available(left[place.part]) < place.count]
    if len(empty) > 1:
        names = " and ".join(offered[place.part].name for place in empty)
        return Open(stack, None, f"there are too few of each: {names}", ())
    nearest = _nearest(stack, left, skip=empty[0] if empty else None)
    if nearest is None:
        return Open(stack, None, "there are too many ways to fill it: round the sizes", ())
    sizes = nearest
    orders = []
    for number, place in enumerate(stack.places):
        if empty and place is not empty[0]:
            continue
        order = _order(stack, number, sizes, offered[place.part], everything=bool(empty))
        if order is not None:
            orders.append(order)
    orders.sort(key=lambda order: _strangeness(order, offered[order.part]))
    if empty:
        short = offered[empty[0].part].name
        return Open(stack, None, f"there is no {short} left for it", tuple(orders))
    gap = stack.gap(sizes)
    return Open(stack, gap, order_text(stack, gap), tuple(orders))


def _available(part: Part) -> int:
    return sum(piece.supply for piece in part.pieces)


def _nearest(stack: Stack, left: Mapping[str, Part], skip: Place | None) -> list[list[float]] | None:
    """Sizes in each place that bring the gap nearest to its target; a place that is skipped holds nothing."""
    ways: list[list[tuple[float, ...]]] = []
    total = 1
    for place in stack.places:
        if place is skip:
            ways.append([()])
            continue
        pieces = left[place.part].pieces
        total *= math.comb(len(pieces) + place.count - 1, place.count)
        if total > MOST_WAYS:
            return None
        sets = itertools.combinations_with_replacement(range(len(pieces)), place.count)
        ways.append(
            [
                tuple(pieces[number].size for number in chosen)
                for chosen in sets
                if all(chosen.count(number) <= pieces[number].supply for number in set(chosen))
            ]
        )
    if skip is not None:
        # The place that is empty can take any size: the others are taken as they come, middle ones first.
        return [list(sorted(way, key=math.fsum)[len(way) // 2]) for way in ways]
    best = min(itertools.product(*ways), key=lambda sizes: abs(stack.gap(sizes) - stack.target))
    return [list(row) for row in best]


def _order(
    stack: Stack, number: int, sizes: list[list[float]], part: Part, *, everything: bool
) -> Order | None:
    """The size that would bring a stack onto its target if one piece of a place (or all) had it."""
    place = stack.places[number]
    row = [] if everything else sizes[number][1:]
    others = [row if other == number else kept for other, kept in enumerate(sizes)]
    count = place.count if everything else 1
    bare = stack.gap(others)
    at = sorted((goal - bare) / place.sign / count for goal in (stack.low, stack.target, stack.high))
    low, size, high = at
    if stack.target not in (stack.low, stack.high):
        size = (stack.target - bare) / place.sign / count
    if size <= 0.0:
        return None
    return Order(place.part, count, size, max(low, 0.0), high, _order_words(part, size, low, high, count))


def _order_words(part: Part, size: float, low: float, high: float, count: int) -> str:
    wanted = f"order {part.name} of {length(size, part.unit)}"
    if count > 1:
        wanted = f"order {count} × {part.name} of {length(size, part.unit)}"
    text = f"{wanted} ({span(max(low, 0.0), high, part.unit)} would fit)"
    sizes = [piece.size for piece in part.pieces]
    if not sizes:
        return text
    more, less = part.more_and_less
    if size > max(sizes):
        return f"{text}: {length(size - max(sizes), part.unit)} {more} than any listed"
    if size < min(sizes):
        return f"{text}: {length(min(sizes) - size, part.unit)} {less} than any listed"
    near = min(sizes, key=lambda known: abs(known - size))
    return f"{text}: the nearest listed is {length(near, part.unit)}"


def _strangeness(order: Order, part: Part) -> float:
    """How far a size lies from those a part is made in; the less, the sooner it is to be had."""
    sizes = [piece.size for piece in part.pieces]
    return min((abs(size - order.size) for size in sizes), default=0.0)
