"""Every way of filling every stack, looked through one by one: slow, and no integer program."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from scipy import stats

from bellhousing.fits.parts import Part, Stack


@dataclass(frozen=True)
class Way:
    """One way of filling all stacks: stacks left open, what chance costs, pieces bought, their price."""

    open: int
    chance: float
    bought: int
    price: float


def probability(stack: Stack, parts: Mapping[str, Part], gap: float) -> float:
    """Chance that a gap lies in the window, by another library."""
    variance = stack.uncertainty**2 + sum(p.count * (parts[p.part].tolerance / 2) ** 2 for p in stack.places)
    spread = math.sqrt(variance)
    return float(stats.norm.cdf(stack.high, gap, spread) - stats.norm.cdf(stack.low, gap, spread))


def fillings(stack: Stack, parts: Mapping[str, Part]) -> Iterator[tuple[float, Counter[tuple[str, int]]]]:
    """Every gap of one stack and the pieces it takes."""
    rows = [
        list(itertools.combinations_with_replacement(range(len(parts[place.part].pieces)), place.count))
        for place in stack.places
    ]
    for chosen in itertools.product(*rows):
        gap, taken = stack.base, Counter[tuple[str, int]]()
        for place, numbers in zip(stack.places, chosen, strict=True):
            for number in numbers:
                gap += place.sign * parts[place.part].pieces[number].size
                taken[place.part, number] += 1
        yield gap, taken


def every_way(
    stacks: Sequence[Stack], parts: Mapping[str, Part], *, least: float, sure: float
) -> Iterator[Way]:
    """Every way there is, stacks left open included."""
    choices: list[list[tuple[float, Counter[tuple[str, int]]] | None]] = []
    for stack in stacks:
        found: list[tuple[float, Counter[tuple[str, int]]] | None] = [None]
        for gap, taken in fillings(stack, parts):
            chance = probability(stack, parts, gap)
            if chance >= least:
                found.append((max(0.0, math.log(sure) - math.log(chance)), taken))
        choices.append(found)
    for way in itertools.product(*choices):
        used: Counter[tuple[str, int]] = Counter()
        for choice in way:
            if choice is not None:
                used.update(choice[1])
        bought, price = 0, 0.0
        for (name, number), count in used.items():
            piece = parts[name].pieces[number]
            more = max(0, count - piece.stock - piece.on_order)
            if more > piece.to_buy:
                break
            bought, price = bought + more, price + more * piece.price
        else:
            open_ = sum(choice is None for choice in way)
            yield Way(open_, sum(choice[0] for choice in way if choice is not None), bought, price)


def best_way(stacks: Sequence[Stack], parts: Mapping[str, Part], *, least: float, sure: float) -> Way:
    """Fewest open, then surest (to a millionth), then fewest bought, then cheapest."""
    ways = list(every_way(stacks, parts, least=least, sure=sure))
    fewest = min(way.open for way in ways)
    ways = [way for way in ways if way.open == fewest]
    surest = min(way.chance for way in ways)
    ways = [way for way in ways if way.chance <= surest + 1e-6]
    return min(ways, key=lambda way: (way.bought, way.price, way.chance))
