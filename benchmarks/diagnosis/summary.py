"""Figures of a run: one line for each strategy and time, and the text that goes into the documents."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from benchmarks.diagnosis.run import (
    ALL,
    FIXED,
    GRID,
    HAND,
    KNOWS,
    LIMIT,
    NAIVE,
    OURS,
    STOPS,
    STRATEGIES,
    Chance,
    Row,
)
from benchmarks.diagnosis.scores import brier, calibration_error, log_score, wilson

MEANING = {
    OURS: "posterior over sets, next test by bits a minute, works of least expected cost",
    STOPS: "the same, until it gives its decision 95 in 100 or 90 minutes are over",
    FIXED: "one order of looks for every car; our posterior and decision",
    NAIVE: "the same looks; one fault a car, findings independent",
    HAND[0]: "causes as a trouble chart prints them, each by its cheapest separating look; a yes is believed",
    HAND[1]: "causes by how common they are, in the same way",
    LIMIT: "the same arithmetic on the same findings, fed with the generator's own laws",
    KNOWS: "knows the faults and pays the repairs",
}


@dataclass(frozen=True)
class Line:
    """What one strategy had reached at one time on a number of cars."""

    strategy: str
    minutes: float
    cars: int
    spent: float
    right: int
    exact: int
    named: float
    needless: int
    wrong_removal: int
    price: float
    with_tests: float
    looks: float
    sure: float

    @property
    def share(self) -> float:
        """Share of cars with the right work."""
        return self.right / self.cars


def line(rows: Sequence[Row]) -> Line:
    """Sum up decisions of one strategy at one time."""
    count, faults = len(rows), sum(row.faults for row in rows)
    best = max(1e-9, sum(row.best_price for row in rows))
    return Line(
        rows[0].strategy,
        rows[0].minutes,
        count,
        sum(row.spent for row in rows) / count,
        sum(row.right for row in rows),
        sum(row.exact for row in rows),
        sum(row.named for row in rows) / max(1, faults),
        sum(row.needless_removal for row in rows),
        sum(row.wrong_removal for row in rows),
        sum(row.price for row in rows) / best,
        sum(row.price + row.spent / 60.0 for row in rows) / best,
        sum(row.looks for row in rows) / count,
        sum(row.sure for row in rows) / count,
    )


def lines(rows: Iterable[Row]) -> dict[tuple[str, float], Line]:
    """One line for each strategy and time."""
    grouped: dict[tuple[str, float], list[Row]] = {}
    for row in rows:
        # The one that stops is read with the others at the last minute.
        read_at = GRID[-1] if row.strategy == STOPS else row.minutes
        grouped.setdefault((row.strategy, read_at), []).append(row)
    return {key: line(group) for key, group in grouped.items()}


def table(found: Mapping[tuple[str, float], Line], minutes: float) -> list[str]:
    """A table of all strategies at one time."""
    head = ["right work", "exact", "faults named", "needless removals", "wrong about removal"]
    head += ["cost / clairvoyant", "with tests", "minutes", "looks"]
    text = ["| strategy | " + " | ".join(head) + " |", "|---" * (len(head) + 1) + "|"]
    for strategy in STRATEGIES:
        at = found.get((strategy, 0.0 if strategy == KNOWS else minutes))
        if at is not None:
            text.append(f"| {strategy} | " + " | ".join(_cells(at)) + " |")
    return text


def _cells(at: Line) -> tuple[str, ...]:
    return (
        interval(at.right, at.cars),
        f"{at.exact / at.cars:.3f}",
        f"{at.named:.2f}",
        interval(at.needless, at.cars),
        interval(at.wrong_removal, at.cars),
        f"{at.price:.2f}",
        f"{at.with_tests:.2f}",
        f"{at.spent:.0f}",
        f"{at.looks:.0f}",
    )


def interval(hits: int, count: int) -> str:
    """A share with its 95 % interval."""
    low, high = wilson(hits, count)
    return f"{hits / count:.3f} ({low:.3f}–{high:.3f})"


def curve_table(found: Mapping[tuple[str, float], Line]) -> list[str]:
    """Right work at each minute for every strategy that has a course in time."""
    text = ["| minutes | " + " | ".join(f"{m:.0f}" for m in GRID) + " |", "|---" * (len(GRID) + 1) + "|"]
    for strategy in STRATEGIES:
        if all((strategy, m) in found for m in GRID):
            text.append(
                f"| {strategy} | " + " | ".join(f"{found[strategy, m].share:.2f}" for m in GRID) + " |"
            )
    return text


def chance_table(chances: Sequence[Chance]) -> list[str]:
    """Calibration of what is shown, Brier and log score."""
    text = ["| strategy | when | calibration error | Brier | log score |", "|---|---|---|---|---|"]
    for strategy in (OURS, NAIVE, LIMIT):
        for minutes in (GRID[-1], ALL):
            part = [c for c in chances if c.strategy == strategy and c.minutes == minutes]
            if part:
                scores = _scores([c.chance for c in part], [c.true for c in part])
                text.append(f"| {strategy} | {when(minutes)} | {scores} |")
    return text


def _scores(said: list[float], true: list[bool]) -> str:
    each: tuple[Callable[[Sequence[float], Sequence[bool]], float], ...] = (
        calibration_error,
        brier,
        log_score,
    )
    return " | ".join(f"{score(said, true):.4f}" for score in each)


def when(minutes: float) -> str:
    """A time in words."""
    return "every look" if minutes == ALL else f"{minutes:.0f} minutes"


def reached(found: Mapping[tuple[str, float], Line]) -> str:
    """When ours reaches what the best fixed order has reached after the longest time."""
    fixed = found.get((FIXED, GRID[-1]))
    if fixed is None:
        return ""
    first = next((m for m in GRID if found[OURS, m].share >= fixed.share), None)
    told = "not within 90 minutes" if first is None else f"by {first:.0f} minutes"
    return f"What the best fixed order reaches in 90 minutes ({fixed.share:.2f}) ours reaches {told}."
