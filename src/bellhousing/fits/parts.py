"""Selective parts and the stacks they go into, as plain data."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from bellhousing.errors import QuantityError
from bellhousing.quantities.show import show

# A size this many times its mates' middle, or this part of it, is a slip of the unit and no size.
OUT_OF_FAMILY = 4.0
MOST_PIECES = 400
FITTED = "in it now"
LONGEST = 10.0  # no clearance and no part of one comes near it [m]


@dataclass(frozen=True)
class Piece:
    """One size of a part and how many of it are to be had.

    Parameters
    ----------
    size : thickness or length [m]
    mark : colour or number it is known by
    stock : how many lie on the shelf
    on_order : how many are ordered and will come
    to_buy : how many more can be bought
    price : of one that is bought [money]
    was : its size when new, for a used one [m]
    fitted : whether it is what sits in the box now
    """

    size: float
    mark: str = ""
    stock: int = 0
    on_order: int = 0
    to_buy: int = 0
    price: float = 0.0
    was: float | None = None
    fitted: bool = False

    @property
    def supply(self) -> int:
        """How many can be had in all."""
        return self.stock + self.on_order + self.to_buy


@dataclass(frozen=True)
class Part:
    """A kind of selective part: washer, snap ring, backing plate, steel, apply pin.

    Parameters
    ----------
    id, name : slug, name to show
    pieces : its sizes
    tolerance : what a size is known to, ± at 95 in 100 [m]
    most_wear : wear at which a used one is not fitted again [m], None if nobody knows
    unit : unit to show sizes in
    """

    id: str
    name: str
    pieces: tuple[Piece, ...]
    tolerance: float = 0.0
    most_wear: float | None = None
    unit: str = "in"

    @property
    def more_and_less(self) -> tuple[str, str]:
        """What a larger and a smaller one is called: a pin is longer, a washer thicker."""
        long = self.name.casefold().split()[-1:] in (["pin"], ["pins"], ["rod"], ["strut"])
        return ("longer", "shorter") if long else ("thicker", "thinner")


@dataclass(frozen=True)
class Place:
    """Where selective parts sit in a stack: `sign` -1 if a thicker one closes the gap, +1 if it opens it."""

    part: str
    sign: int = -1
    count: int = 1
    fitted: tuple[float, ...] = ()


@dataclass(frozen=True)
class Stack:
    """A stack whose gap is set by the parts chosen for it: gap = base + Σ sign × size.

    Parameters
    ----------
    id, name : slug, name to show
    base : gap with none of the selective parts in it; negative where they open it [m]
    uncertainty : standard uncertainty of the base [m]
    low, high : window of the gap [m]
    target : gap wanted [m]
    places : where selective parts sit
    measured : gap as measured with the fitted parts in, None if the base comes from sizes [m]
    unit : unit to show gaps in
    """

    id: str
    name: str
    base: float
    uncertainty: float
    low: float
    high: float
    target: float
    places: tuple[Place, ...]
    measured: float | None = None
    unit: str = "in"

    def gap(self, sizes: Sequence[Sequence[float]]) -> float:
        """Gap with the given sizes in each place [m]."""
        moved = (place.sign * math.fsum(row) for place, row in zip(self.places, sizes, strict=True))
        return self.base + math.fsum(moved)


@dataclass(frozen=True)
class Limits:
    """What the search may do.

    Parameters
    ----------
    least : smallest probability of conformity at which a choice counts as fitting [1]
    sure : a stack surer than this counts as certain, so that nothing is bought to better it; None takes 0.999
        where parts can be bought and 1 where none can [1]
    seconds : time for the search [s]
    """

    least: float = 0.5
    sure: float | None = None
    seconds: float = 60.0

    def counted_as_sure(self, parts: Mapping[str, Part]) -> float:
        """The chance from which a stack counts as certain with these parts."""
        if self.sure is not None:
            return self.sure
        return 0.999 if any(piece.to_buy > 0 for part in parts.values() for piece in part.pieces) else 1.0


def deviation(stack: Stack, parts: Mapping[str, Part]) -> float:
    """Standard uncertainty of a stack's gap with its selective parts in [m]."""
    variance = stack.uncertainty**2
    for place in stack.places:
        variance += place.count * (parts[place.part].tolerance / 2.0) ** 2
    return math.sqrt(variance)


def base_of_measured(measured: float, places: Sequence[Place]) -> float:
    """Base of a stack whose gap was measured with known parts in it: m - Σ sign × size [m].

    Raises
    ------
    QuantityError : a place without the sizes that sat in it
    """
    for place in places:
        if len(place.fitted) != place.count:
            raise QuantityError(
                f"the gap was measured, but the size of the {place.part} in it is not given",
                remedy="measure the one that is in it, or give every size of the stack",
            )
    return measured - math.fsum(place.sign * math.fsum(place.fitted) for place in places)


@dataclass(frozen=True)
class LeftOut:
    """A piece that is not offered, and why."""

    part: str
    piece: Piece
    why: str


def usable(part: Part) -> tuple[Part, tuple[LeftOut, ...]]:
    """The part with only those pieces that may be fitted: a used one worn too far is left out.

    Raises
    ------
    QuantityError : a size that is not above nothing, a count below nothing, or a size out of its family
    """
    _check(part)
    kept, out = [], []
    for piece in part.pieces:
        worn = 0.0 if piece.was is None else piece.was - piece.size
        if part.most_wear is not None and worn > part.most_wear + 1e-9:
            shown = show(piece.size, part.unit)
            why = f"worn by {show(worn, part.unit)} to {shown}, {show(part.most_wear, part.unit)} at most"
            out.append(LeftOut(part.id, piece, why))
        else:
            kept.append(piece)
    return replace(part, pieces=tuple(kept)), tuple(out)


def with_fitted(stacks: Sequence[Stack], parts: Mapping[str, Part]) -> dict[str, Part]:
    """The parts with what sits in the stacks now offered again, each as one used piece.

    Its size when new is taken as the smallest listed size it can have been worn down from: where its own size
    is not listed, its wear is overrated and never missed.
    """
    found = dict(parts)
    for stack in stacks:
        for place in stack.places:
            part = found.get(place.part)
            if part is None:
                continue
            listed = sorted(piece.size for piece in parts[place.part].pieces if not piece.fitted)
            old = tuple(
                Piece(
                    size,
                    FITTED,
                    1,
                    was=next((new for new in listed if new >= size - 1e-9), None),
                    fitted=True,
                )
                for size in place.fitted
            )
            found[place.part] = replace(part, pieces=(*part.pieces, *old))
    return found


def _check(part: Part) -> None:
    if len(part.pieces) > MOST_PIECES:
        raise QuantityError(f"{part.name}: more than {MOST_PIECES} sizes", remedy="leave out what cannot fit")
    sizes = sorted(piece.size for piece in part.pieces)
    for piece in part.pieces:
        if not (math.isfinite(piece.size) and piece.size > 0.0):
            raise QuantityError(f"{part.name}: a size is above nothing", where=piece.mark or None)
        if min(piece.stock, piece.on_order, piece.to_buy) < 0 or not piece.price >= 0.0:
            raise QuantityError(f"{part.name}: a count or price below nothing", where=piece.mark or None)
        if piece.was is not None and piece.was < piece.size - 1e-9:
            raise QuantityError(
                f"{part.name}: a used one is thicker than it was new", where=piece.mark or None
            )
    if not sizes:
        return
    middle = sizes[len(sizes) // 2] if len(sizes) > 2 else max(sizes)
    for size in sizes:
        if not middle / OUT_OF_FAMILY <= size <= middle * OUT_OF_FAMILY:
            raise QuantityError(
                f"{part.name}: {show(size, part.unit)} beside others of about {show(middle, part.unit)}",
                remedy="look at its unit: inches for millimetres or the other way round?",
            )


def check_stacks(stacks: Sequence[Stack], parts: Mapping[str, Part]) -> None:
    """Refuse stacks that cannot be worked out.

    Raises
    ------
    QuantityError : a window that runs backwards, a target outside it, a part nobody lists, no figure
    """
    for stack in stacks:
        figures = (stack.base, stack.uncertainty, stack.low, stack.high, stack.target)
        if not all(math.isfinite(figure) for figure in figures):
            raise QuantityError("a figure is not a number", where=stack.name)
        if max(map(abs, figures)) > LONGEST:
            raise QuantityError("no box is that long", where=stack.name, remedy="look at the unit")
        if not stack.low <= stack.target <= stack.high or not stack.low < stack.high:
            raise QuantityError(
                "the target does not lie in the window",
                where=stack.name,
                remedy="leave it out for the middle",
            )
        if stack.uncertainty < 0.0:
            raise QuantityError("an uncertainty is never negative", where=stack.name)
        for place in stack.places:
            if place.part not in parts:
                raise QuantityError(f"no part is called `{place.part}`", where=stack.name)
            if place.sign not in (-1, 1) or place.count < 1:
                raise QuantityError(
                    "a place takes at least one part, which opens or closes", where=stack.name
                )
