"""Answers as plain text: odds in words, factors, windows, cautions where the danger is."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from bellhousing.cli.lines import WIDTH
from bellhousing.quantities.odds import in_100
from bellhousing.reports.odds import NO_CHANGE, error_in_100, factor, left_out

if TYPE_CHECKING:
    from bellhousing.tasks.answers import (
        Answer,
        CauseAnswer,
        FindingAnswer,
        ForbiddenAnswer,
        JobAnswer,
        Limit,
        NextAnswer,
        NextTest,
        NoteAnswer,
        ShiftMapAnswer,
    )

MOST_CAUSES = 8
MOST_TESTS = 5
FEWEST_CAUSES = 3


def figure(value: float) -> str:
    """A figure to four significant digits without needless zeros."""
    return f"{value:.4g}"


def window(limit: Limit) -> str:
    """The window of a reading and the verdict: "window 60–75 psi (this box's manual), inside, 93 in 100"."""
    ends = f"{_end(limit.low)}–{_end(limit.high)} {limit.unit}".rstrip()
    return f"window {ends} ({limit.source}), {limit.verdict}"


def _end(value: float) -> str:
    return f"{value:.3g}" if abs(value) < 100 else f"{value:.0f}"


def finding(entry: FindingAnswer) -> list[str]:
    """What was said, what was understood of it, and where its reading lies."""
    number = "" if entry.number is None else f"{entry.number:>4}  "
    lines = _wrap(f"“{entry.said}”", first=f"  {number}", rest="  " + " " * len(number))
    margin = "      " + " " * len(number)
    if entry.understood is None:
        return lines + _wrap(f"kept as a note: {entry.note or 'not understood'}", first=margin, rest=margin)
    assumed = f" ({'; '.join(entry.assumed)})" if entry.assumed else ""
    lines += _wrap(f"{entry.understood}{assumed}", first=margin, rest=margin)
    lines += conditions(entry, margin)
    if entry.remark is not None:
        lines += _wrap(entry.remark, first=margin, rest=margin)
    if not entry.counts:
        lines += _wrap("a later one of the same counts instead", first=margin, rest=margin)
    if entry.limit is not None:
        lines += _wrap(window(entry.limit), first=margin, rest=margin)
    if entry.alternatives:
        others = "; ".join(other.name for other in entry.alternatives)
        lines += _wrap(f"or did you mean: {others}?", first=margin, rest=margin)
    return lines


def conditions(entry: FindingAnswer, margin: str) -> list[str]:
    """How a reading was taken: what was said, and what was assumed, with where it comes from."""
    lines: list[str] = []
    for source in ("said", "last", "usual"):
        taken = [held for held in entry.conditions if held.source == source]
        if taken:
            text = ", ".join(f"{held.name} {held.text}" for held in taken)
            lines += _wrap(f"{taken[0].in_words}: {text}", first=margin, rest=margin)
    return lines


def findings(entries: Sequence[FindingAnswer]) -> list[str]:
    """All findings of a job, or what to do when there are none."""
    if not entries:
        return ["Nothing noted yet: write what was found, for example 'line pressure idle D 62 psi hot'."]
    return [line for entry in entries for line in finding(entry)]


def noted(entry: NoteAnswer) -> list[str]:
    """What became of a note, or what was taken back."""
    gone = entry.withdrawn
    if gone is None:
        return findings(entry.findings)
    number = "" if gone.number is None else f" {gone.number}"
    what = f": {gone.understood}" if gone.understood else ""
    text = f"Entry{number} is taken back, “{gone.said}”{what}. It stays in the book and counts no more."
    return _wrap(text, first="", rest="  ")


def opened(job: JobAnswer) -> str:
    """A job just opened, with what was read from the owner's words and what was not."""
    lines = [f"Job {job.number} is open: {job.car.name}, “{job.complaint}”."]
    if job.heard:
        lines += ["", "Read from the owner's words (take an entry back with 'note --withdraw'):"]
        lines += findings(job.heard)
    elif job.problems:
        lines += _wrap(f"{job.problems[0][:1].upper()}{job.problems[0][1:]}.", first="", rest="")
    return "\n".join(lines)


def cause(entry: CauseAnswer) -> list[str]:
    """One cause with the findings that speak for and against it."""
    error = error_in_100(entry.probability, entry.error)
    odds = f"  {in_100(entry.probability, entry.error):>19}  {entry.name}"
    lines = [f"{odds} ({error})" if error else odds]
    for item in entry.why:
        change = factor(item.factor)
        if change != NO_CHANGE:
            lines.append(f"{change:>24}  {item.name}{': ' + item.shown if item.shown else ''}")
    return lines


def shown_causes(entries: Sequence[CauseAnswer]) -> Sequence[CauseAnswer]:
    """The causes worth a line: those of at least one in a hundred, three at least and eight at most."""
    likely = [entry for entry in entries if entry.probability >= 0.01]
    return entries[: min(MOST_CAUSES, max(FEWEST_CAUSES, len(likely)))]


def tests(ranked: Sequence[NextTest], forbidden: Sequence[ForbiddenAnswer]) -> list[str]:
    """The next tests in order, each with its cautions, and those that must not be done as things stand."""
    lines = ["Look next"]
    if not ranked:
        lines.append("  Nothing that may be done now would tell more.")
    warned: dict[str, int] = {}
    for number, entry in enumerate(ranked[:MOST_TESTS], start=1):
        lines += _test(number, entry)
        lines += _cautions(number, entry.cautions, warned)
    if forbidden:
        lines += ["", "Not as things stand"]
        for refused in forbidden:
            lines += _wrap(f"{refused.ask} {refused.why}", first="  - ", rest="    ")
    return lines


def _test(number: int, entry: NextTest) -> list[str]:
    lines = _wrap(entry.ask, first=f"  {number}. ", rest="     ")
    told = "; ".join(text for text in (entry.in_words, entry.first) if text)
    return lines + _wrap(f"{figure(entry.minutes)} min, {told}", first="     ", rest="     ")


def _cautions(number: int, cautions: Sequence[str], warned: dict[str, int]) -> list[str]:
    """Each caution in full where it is first needed; further down a pointer to it."""
    lines = []
    for caution in cautions:
        if caution not in warned:
            lines += _wrap(f"Caution: {caution}", first="     ", rest="     ")
    before = sorted({warned[caution] for caution in cautions if caution in warned})
    if before:
        places = " and ".join(str(place) for place in before)
        lines.append(f"     Caution: what is said at {places} holds here too.")
    for caution in cautions:
        warned.setdefault(caution, number)
    return lines


def answer(entry: Answer, *, with_tests: bool = True) -> str:
    """The whole answer: found, causes, next, and what was assumed or not looked at."""
    lines = [f"{entry.box_name}", "", "Found", *findings(entry.findings), ""]
    lines.append("Causes (several can be true at once)")
    for item in shown_causes(entry.causes):
        lines += cause(item)
    if entry.conflict is not None:
        lines += ["", *_wrap(f"These findings do not agree: {entry.conflict.text}", first="", rest="")]
    if with_tests:
        lines += ["", *tests(entry.next, entry.forbidden)]
    if entry.not_looked_at:
        lines += ["", *_wrap(f"Not looked at yet: {', '.join(entry.not_looked_at)}.", first="", rest="  ")]
    if entry.assumed:
        lines += _wrap(f"Assumed: {'; '.join(entry.assumed)}.", first="", rest="  ")
    if left_out(entry.neglected):
        lines += _wrap(left_out(entry.neglected), first="", rest="  ")
    lines.append("A ranking is not an inspection: follow the vehicle's own manual.")
    return "\n".join(lines)


def next_answer(entry: NextAnswer) -> str:
    """Only the tests."""
    return "\n".join(tests(entry.next, entry.forbidden))


def shift_map(entry: ShiftMapAnswer, *, rows: int = 9) -> str:
    """The predicted shift map as a table: road speed in mph at each vacuum, 95 of 100 cars."""
    name = "a sound car" if entry.fault_name is None else f"a car with: {entry.fault_name}"
    lines = [f"Shift map of {name}: {entry.speed_unit}, 95 of 100", ""]
    lines.append(
        f"{entry.vacuum_unit:>6}" + "".join(f"{title:>14}" for title in (band.shift for band in entry.curves))
    )
    count = len(entry.vacuum)
    picked = (
        sorted({round(step * (count - 1) / (rows - 1)) for step in range(rows)})
        if count > rows
        else range(count)
    )
    for index in picked:
        cells = "".join(f"{_speeds(band.low[index], band.high[index]):>14}" for band in entry.curves)
        lines.append(f"{entry.vacuum[index]:>6.1f}{cells}")
    if entry.forced:
        lines += ["", "Pedal on its stop"]
        lines += [
            f"  {forced.shift} up to {_speeds(forced.low, forced.high)} {entry.speed_unit}"
            if forced.low is not None
            else f"  {forced.shift} never"
            for forced in entry.forced
        ]
    if entry.driven:
        lines += ["", "Driven"]
        lines += [
            f"  {point.shift} at {point.speed:.0f} {entry.speed_unit}, {point.throttle} throttle "
            f"(about {point.vacuum:.0f} {entry.vacuum_unit})"
            for point in entry.driven
        ]
    return "\n".join(lines)


def _speeds(low: float | None, high: float | None) -> str:
    if low is None:
        return "never"
    return f"{low:.0f} or more" if high is None else f"{low:.0f}–{high:.0f}"


def _wrap(text: str, *, first: str, rest: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=rest) or [first.rstrip()]


def table(rows: Iterable[Sequence[str]]) -> str:
    """Rows of text in columns."""
    filled = [list(row) for row in rows]
    if not filled:
        return ""
    widths = [max(len(row[column]) for row in filled) for column in range(len(filled[0]))]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in filled
    )
