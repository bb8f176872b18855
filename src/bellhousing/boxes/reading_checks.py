"""Rows of a table that contradict each other, whatever box they describe."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from bellhousing.boxes.readings import PRESSURES, THROTTLES, RowProblem, Table, TableRow

UP_OF = {"2-1": "1-2", "3-2": "2-3", "4-3": "3-4"}
NEXT = {"1-2": "2-3", "2-3": "3-4"}


def table_problems(table: Table) -> Iterator[RowProblem]:
    """Yield each contradiction between two rows, with the path of the later one below `readings`."""
    for first, second in combinations(table.rows, 2):
        for one, other in ((first, second), (second, first)):
            said = _contradiction(one, other)
            if said is not None:
                later = max(first.number, second.number)
                yield ("rows", later - 1), f"{one.name} contradicts {other.name}: {said}"
                break


def _contradiction(low: TableRow, high: TableRow) -> str | None:
    """Why `low` may not lie above `high`, None where it does not, or may."""
    if not _low(low) > _high(high):
        return None
    if _same_but(low, high, ()):
        return "the same reading is printed twice, and differs"
    if low.what == high.what == "upshift":
        if low.shift == high.shift and _lighter(low, high):
            return "an upshift comes no earlier with more throttle"
        if NEXT.get(low.shift) == high.shift and _lighter(low, high):
            return f"{low.shift} comes before {high.shift}"
    if high.what == "upshift" and UP_OF.get(low.shift) == high.shift and _comes_back_below(low, high):
        return "a downshift lies below its upshift, or the box would hunt"
    if low.what == high.what == "governor" and low.signal == high.signal and _output(low) <= _output(high):
        return "governor pressure rises with road speed"
    if low.what == high.what and low.what in ("line", "throttle-signal"):
        if _same_but(low, high, ("vacuum", "throttle")) and _lighter(low, high):
            return "pressure rises " + ("with the throttle" if low.vacuum is None else "as vacuum falls")
        if _same_but(low, high, ("engine_speed",)) and _slower(low, high):
            return "line pressure does not fall as revs rise"
    return None


def _comes_back_below(down: TableRow, up: TableRow) -> bool:
    """Whether a downshift must lie below this upshift: the pedal is no further down than for the upshift."""
    if down.what == "coast-down":
        return True
    if down.what == "forced-downshift":
        return up.throttle == "full"
    return bool(_lighter(down, up))


def _lighter(one: TableRow, other: TableRow) -> bool | None:
    """Whether the throttle of one row is no further open than of the other, None where that is not known."""
    if one.vacuum is not None and other.vacuum is not None:
        return one.vacuum >= other.vacuum
    if one.throttle is not None and other.throttle is not None:
        return THROTTLES.index(one.throttle) <= THROTTLES.index(other.throttle)
    return None


def _slower(one: TableRow, other: TableRow) -> bool:
    return (
        one.engine_speed is not None
        and other.engine_speed is not None
        and one.engine_speed <= other.engine_speed
    )


def _same_but(one: TableRow, other: TableRow, apart: tuple[str, ...]) -> bool:
    names = ("what", "range", "gear", "shift", "signal", "throttle", "vacuum", "engine_speed", "road_speed")
    return all(getattr(one, name) == getattr(other, name) for name in names if name not in apart)


def _scale(row: TableRow) -> float:
    """Turns road speeds of one tyre into output speeds, up to a constant."""
    return 1.0 if row.what in PRESSURES or row.axle_ratio is None else row.axle_ratio


def _output(row: TableRow) -> float:
    """Output-shaft speed for one tyre, up to a constant."""
    return row.road_speed * (row.axle_ratio or 1.0)


def _low(row: TableRow) -> float:
    return row.low * _scale(row)


def _high(row: TableRow) -> float:
    return row.high * _scale(row)
