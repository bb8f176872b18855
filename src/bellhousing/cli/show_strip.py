"""The strip plan as plain text."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from bellhousing.cli.lines import WIDTH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bellhousing.tasks.strip_shapes import StripAnswer, StripFlange, StripStep


def strip(entry: StripAnswer) -> str:
    """The whole plan; each caution stands in full where it is first needed."""
    lines = [*_wrap(entry.headline), entry.box_name]
    lines += [line for target in entry.targets for line in _wrap(f"- {target.name} ({target.why})", "  ")]
    for cause in entry.elsewhere:
        said = f"- {cause.name}, {cause.probability:.0%}: sits in no part of the box, look there first"
        lines += _wrap(said, "  ")
    if entry.off:
        lines += _wrap(f"Off already: {', '.join(entry.off)}.")
    warned: set[str] = set()
    for step in entry.steps:
        lines += ["", *_step(step, warned)]
    if entry.to_measure:
        first = f"To measure first: {entry.to_measure}. What is not measured before cannot be afterwards."
        lines += ["", *_wrap(first)]
    source = f" Parts tree: {entry.source}." if entry.source else ""
    lines += ["", *_wrap(f"A plan is no manual: follow the vehicle's own manual and local rules.{source}")]
    return "\n".join(lines)


def _step(step: StripStep, warned: set[str]) -> list[str]:
    star = " (aimed at)" if step.wanted else ""
    weight = f", {step.weight}" if step.weight else ""
    lines = _wrap(f"{step.number:>2}. {step.name}{star}: {step.minutes:.0f} min {step.where}{weight}")
    lines += _list("Tools", step.tools)
    for row in step.measure_before:
        state = "measured" if row.done else "Measure first"
        how = f" {row.how}" if row.how and not row.done else ""
        lines += _wrap(f"{state}: {row.name}.{how} Why: {row.why}.", "    ")
    for text in step.cautions:
        if text not in warned:
            lines += _wrap(f"Before this: {text}", "    ")
    warned |= set(step.cautions)
    if step.marks:
        lines += _wrap(f"Mark: {' '.join(step.marks)}", "    ")
    if step.flange is not None:
        lines += _flange(step.flange)
    lines += _list("Loose", step.loose)
    lines += _list("Not used again", step.one_use)
    if step.may_be_found:
        lines += _wrap(f"May be found: {' '.join(step.may_be_found)}", "    ")
    if step.instead:
        lines += _wrap(f"Or, at no less work in all: {' or '.join(step.instead)}.", "    ")
    if step.note:
        lines += _wrap(f"{step.note[:1].upper()}{step.note[1:]}.", "    ")
    return lines


def _flange(flange: StripFlange) -> list[str]:
    lines = _wrap(f"Undo: {flange.name}, {flange.fasteners}.", "    ")
    lines += [line for said in flange.particular for line in _wrap(f"- {said}", "      ")]
    if flange.out_already:
        holes = ", ".join(str(number) for number in flange.out_already)
        lines += _wrap(f"- its bolt is out already with the bracket: hole {holes}", "      ")
    if flange.washers_one_use:
        lines += _wrap(f"- {flange.washers_one_use} sealing washers, not used again", "      ")
    if flange.jack is not None:
        lines += _wrap(f"- {flange.jack}", "      ")
    if flange.note:
        lines += _wrap(f"- {flange.note}", "      ")
    return lines


def _list(title: str, items: Sequence[str]) -> list[str]:
    return _wrap(f"{title}: {'; '.join(items)}.", "    ") if items else []


def _wrap(text: str, margin: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=margin, subsequent_indent=f"{margin}  ")
