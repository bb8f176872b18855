"""The least work that takes given parts off: a search over the ways round, exact.

What must be off before a part is groups of which one member each is enough.  A set of parts is enough if it
holds the parts wanted and can be put in an order in which each part finds one member of each of its groups
off already.  Among the enough ones the set of least weight is found by A* (Hart, Nilsson and Raphael, 1968)
over growing sets.  To each part belongs what every way to it has in common, the greatest solution of
`common(p) = {p} ∪ ⋃ over groups ⋂ over members common(m)` (causal landmarks of Keyder, Richter and Helmert,
2010); it is added at once, and what the open groups then need at least, over groups that share nothing, is
the lower bound.
"""

from __future__ import annotations

import heapq
from collections.abc import Collection, Iterator, Mapping, Sequence

Groups = Mapping[str, Sequence[Collection[str]]]


class Unreachable(Exception):
    """A part that no order of work takes off; `name` says which."""

    def __init__(self, name: str) -> None:
        super().__init__(name)
        self.name = name


def least_work(
    weights: Mapping[str, int], groups: Groups, wanted: Collection[str], off: Collection[str] = ()
) -> tuple[str, ...]:
    """Return the parts of least total weight that take the wanted ones off, in an order that works.

    Among sets of one weight one of fewest parts is taken; the order follows that of `weights` where it can.
    Parts that are off already weigh nothing and are not returned.

    Raises
    ------
    Unreachable : a wanted part can never come off
    """
    return _Search(weights, groups, off).run(wanted)


class _Search:
    """One search; sets of parts are bits of an integer."""

    def __init__(self, weights: Mapping[str, int], groups: Groups, off: Collection[str]) -> None:
        self.names = [name for name in weights if name not in off]
        self.place = {name: number for number, name in enumerate(self.names)}
        scale = len(self.names) + 1  # less than one unit of weight for all parts together: fewest win a tie
        self.weight = [weights[name] * scale + 1 for name in self.names]
        self.groups: list[list[int]] = []
        for name in self.names:
            masks = {
                sum(1 << self.place[other] for other in set(group))
                for group in groups.get(name, ())
                if not any(other in off for other in group)
            }
            self.groups.append(sorted(masks))
        self.common = self._in_common()

    def run(self, wanted: Collection[str]) -> tuple[str, ...]:
        """The parts to take off, in order, with the least sum; Unreachable where no order reaches one."""
        targets = [self.place[name] for name in wanted if name in self.place]
        reachable = self._off_in_order((1 << len(self.names)) - 1)
        for target in targets:
            if not reachable >> target & 1:
                raise Unreachable(self.names[target])
        start = self._with(0, targets)
        heap = [(self._total(start) + self._bound(start), start)]
        seen = {start}
        while heap:
            _, held = heapq.heappop(heap)
            choices = self._choices(held)
            if not choices:
                return tuple(self.names[number] for number in self._order(held))
            for number in choices:
                grown = held | self.common[number]
                if grown not in seen and not grown & ~reachable:
                    seen.add(grown)
                    heapq.heappush(heap, (self._total(grown) + self._bound(grown), grown))
        raise Unreachable(self.names[targets[0]])

    def _in_common(self) -> list[int]:
        """What every way to each part holds, from everything downwards until nothing changes."""
        count = len(self.names)
        common = [(1 << count) - 1] * count
        changed = True
        while changed:
            changed = False
            for number in range(count):
                held = 1 << number
                for group in self.groups[number]:
                    shared = -1
                    for other in _bits(group):
                        shared &= common[other]
                    held |= shared if group else 0
                if held != common[number]:
                    common[number], changed = held, True
        return common

    def _with(self, held: int, numbers: Sequence[int]) -> int:
        for number in numbers:
            held |= self.common[number]
        return held

    def _total(self, held: int) -> int:
        return sum(self.weight[number] for number in _bits(held))

    def _open(self, held: int) -> list[int]:
        """Groups of held parts of which no member is held."""
        found = {group for number in _bits(held) for group in self.groups[number] if not group & held}
        return sorted(found)

    def _least(self, group: int, held: int) -> tuple[int, int]:
        """The least a group still costs, and every part its members could need."""
        costs, union = [], 0
        for number in _bits(group):
            needed = self.common[number] & ~held
            costs.append(self._total(needed))
            union |= needed
        return (min(costs) if costs else 0), union

    def _bound(self, held: int) -> int:
        """What is still needed at least: the sum over open groups that share no part."""
        least = sorted((self._least(group, held) for group in self._open(held)), reverse=True)
        total = used = 0
        for cost, union in least:
            if not union & used:
                total += cost
                used |= union
        return total

    def _choices(self, held: int) -> list[int]:
        """Parts of which one must be added; none if the set is enough."""
        unmet = self._open(held)
        if unmet:
            group = max(unmet, key=lambda one: (self._least(one, held)[0], -one.bit_count(), -one))
            return list(_bits(group))
        stuck = held & ~self._off_in_order(held)
        ways = 0
        for number in _bits(stuck):  # each waits for another of them: some way out of the ring is needed
            for group in self.groups[number]:
                if not group & held & ~stuck:
                    ways |= group & ~held
        return list(_bits(ways))

    def _off_in_order(self, held: int) -> int:
        """Those of a set that come off if nothing outside it does."""
        off = 0
        while True:
            free = [n for n in _bits(held & ~off) if all(group & off for group in self.groups[n])]
            if not free:
                return off
            for number in free:
                off |= 1 << number

    def _order(self, held: int) -> list[int]:
        """The first part in the order of the file that can come off, again and again."""
        off, order = 0, []
        while held & ~off:
            number = next(n for n in _bits(held & ~off) if all(group & off for group in self.groups[n]))
            off |= 1 << number
            order.append(number)
        return order


def _bits(mask: int) -> Iterator[int]:
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low
