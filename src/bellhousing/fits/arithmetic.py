"""The sum a mechanic checks before he takes a washer off the shelf: old part, change, new part, in words."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from bellhousing.fits.parts import Part, Stack
from bellhousing.quantities.show import show
from bellhousing.quantities.units import from_si

_FINEST = 4


def length(value: float, unit: str) -> str:
    """A length as the trade writes it: inches to the thousandth, to the ten-thousandth where needed."""
    thou = value / 25.4e-6
    half = 0 if abs(thou - round(thou)) < 0.05 else 1
    if unit == "in":
        return show(value, unit, digits=3 + half)
    return show(value, unit, digits=half) if unit == "thou" else show(value, unit)


def size_of(part: Part, size: float) -> str:
    """A size of a part, to as many places as the sizes it is stocked in: "0.070 in" beside "0.074 in"."""
    stocked = [piece.size for piece in part.pieces if not piece.fitted]
    return show(size, part.unit, digits=max(_places(one, part.unit) for one in (size, *stocked)))


def _places(size: float, unit: str) -> int:
    return len(f"{from_si(size, unit):.{_FINEST}f}".rstrip("0").partition(".")[2])


def span(low: float, high: float, unit: str) -> str:
    """A window as the trade writes it: "0.0010–0.0024 in", "up to 0.004 in", "0.020 in or more"."""
    if math.isinf(low) or (low <= 0.0 <= high < math.inf and low == 0.0):
        return "any" if math.isinf(high) else f"up to {length(high, unit)}"
    if math.isinf(high):
        return f"{length(low, unit)} or more"
    start, end = length(low, unit), length(high, unit)
    _, gap, symbol = end.partition(" ")
    return f"{start.removesuffix(gap + symbol)}–{end}" if gap else f"{start}–{end}"


def arithmetic(
    stack: Stack, sizes: Sequence[Sequence[float]], gap: float, parts: Mapping[str, Part]
) -> tuple[str, ...]:
    """One sentence on the gap, then one for each place: which way a thicker part works, and old to new."""
    told = [_opening(stack, gap)]
    several = len(stack.places) > 1
    for place, row in zip(stack.places, sizes, strict=True):
        part = parts[place.part]
        way = "takes from the gap" if place.sign < 0 else "adds to the gap"
        new, more = math.fsum(row), part.more_and_less[0]
        shown = " + ".join(size_of(part, size) for size in row)
        if not place.fitted:
            told.append(f"{_capital(part.name)}: a {more} one {way}; fit {shown}.")
            continue
        old = math.fsum(place.fitted)
        changed = _change(old, new, place.sign, part, stack)
        told.append(f"{_capital(part.name)}: a {more} one {way}; {changed}")
    if several:
        told.append(f"All together: {length(gap, stack.unit)}.")
    return tuple(told)


def _opening(stack: Stack, gap: float) -> str:
    window = span(stack.low, stack.high, stack.unit)
    if stack.measured is None:
        wanted = length(stack.target, stack.unit)
        return f"{stack.name} comes to {length(gap, stack.unit)}; wanted is {wanted} ({window})."
    off = stack.measured - stack.target
    if abs(off) < 5e-7:
        how = "as wanted"
    else:
        how = f"{length(abs(off), stack.unit)} too {'much' if off > 0 else 'little'}"
    return (
        f"{stack.name} is {length(stack.measured, stack.unit)}; wanted is {length(stack.target, stack.unit)} "
        f"({window}): {how}."
    )


def _change(old: float, new: float, sign: int, part: Part, stack: Stack) -> str:
    change = new - old
    if abs(change) < 5e-8:
        return f"{size_of(part, old)} stays."
    kind = part.more_and_less[change < 0]
    size = length(abs(change), part.unit)
    moved = sign * change
    effect = f"the gap {'grows' if moved > 0 else 'shrinks'} by {size}"
    text = f"old {size_of(part, old)}, new {size_of(part, new)}, {size} {kind}: {effect}"
    if stack.measured is None or len(stack.places) > 1:
        return f"{text}."
    after = stack.measured + moved
    mark = "+" if moved > 0 else "−"
    return f"{text}, {length(stack.measured, stack.unit)} {mark} {size} = {length(after, stack.unit)}."


def order_text(stack: Stack, gap: float) -> str:
    """By how much the nearest that is to be had misses the window."""
    shown = length(gap, stack.unit)
    window = span(stack.low, stack.high, stack.unit)
    if stack.low <= gap <= stack.high:
        return f"the nearest comes to {shown} ({window} wanted), too near its end to count as fitting"
    miss = stack.low - gap if gap < stack.low else gap - stack.high
    side = "under" if gap < stack.low else "over"
    text = f"the nearest comes to {shown}, {length(miss, stack.unit)} {side} the window of {window}"
    if miss > 20.0 * (stack.high - stack.low):
        text += ": look for a slip of unit or of sign in its sizes"
    return text


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
