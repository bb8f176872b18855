"""What a benchmark tells: one line of the table with its goal, and curves of time over size."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

TICK = 1e-6
"""What a clock of the processor may not tell from nothing [s]."""


@dataclass(frozen=True)
class Line:
    """One line of the table: what against what, the goal, what came out, and whether it was reached.

    `reached` is None where nothing is asked for.
    """

    what: str
    beside: str
    goal: str
    found: str
    reached: bool | None
    note: str = ""


@dataclass(frozen=True)
class Curve:
    """Seconds over size, one series of (size, seconds) for each name."""

    name: str
    size: str
    series: dict[str, list[tuple[float, float]]]


@dataclass(frozen=True)
class Found:
    """All that one benchmark tells."""

    lines: list[Line] = field(default_factory=list)
    curves: list[Curve] = field(default_factory=list)


def worked(work: Callable[[], object]) -> float:
    """Processor time of one piece of work [s], which a busy machine disturbs less than the clock."""
    began = time.process_time()
    work()
    return time.process_time() - began


def paired(ours: Callable[[], float], theirs: Callable[[], float], rounds: int) -> tuple[float, float, float]:
    """Both sides in turn, each telling its own seconds: median of ours, of theirs, of ours / theirs."""
    rows = []
    for number in range(rounds):
        if number % 2:
            own, other = ours(), theirs()
        else:
            other = theirs()
            own = ours()
        rows.append((own, other, max(own, TICK) / max(other, TICK)))
    own, other, ratio = (statistics.median(column) for column in zip(*rows, strict=True))
    return own, other, ratio


def times(figure: float) -> str:
    """A ratio as it is written in the table."""
    return f"{figure:,.0f} ×" if figure >= 20.0 else f"{figure:.2f} ×"


def duration(seconds: float) -> str:
    """Seconds with the unit that keeps them readable."""
    if seconds >= 1.0:
        return f"{seconds:,.1f} s"
    return f"{1e3 * seconds:.1f} ms" if seconds >= 1e-3 else f"{1e6 * seconds:.1f} µs"


def middle(figures: Sequence[float]) -> float:
    """The median."""
    return statistics.median(figures)
