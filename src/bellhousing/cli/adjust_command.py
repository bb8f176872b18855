"""`bellhousing adjust`."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import (
    JOB_OR_FILE,
    json_option,
    shop_option,
    tell_of_job_or_file,
)
from bellhousing.cli.lines import WIDTH

if TYPE_CHECKING:
    from bellhousing.tasks.adjust_shapes import AdjustAnswer, AdjustBand


@click.command("adjust")
@click.argument("job_or_file", metavar=JOB_OR_FILE)
@click.option("--box", help="Take this box or family instead of the one named in the file.")
@shop_option
@json_option
@click.pass_context
def command(
    context: click.Context, job_or_file: str, box: str | None, shop_folder: Path | None, as_json: bool
) -> None:
    """How far to turn the modulator's screw, or change the linkage rod, to bring this car onto its map.

    With it come the shift speeds and the line pressure that result; or the reason to leave it alone. Write
    what you adjusted as you would a finding (“screw in 1 turn”, “rod 1 mm longer”), then the readings taken
    again: what a turn does is learnt from them.
    """
    from bellhousing.tasks.adjusting import adjusting_of_file, adjusting_of_job

    tell_of_job_or_file(
        context,
        job_or_file,
        shop_folder,
        as_json,
        of_file=lambda path: adjusting_of_file(path, box=box),
        of_job=adjusting_of_job,
        human=_shown,
        box=box,
    )


def _shown(answer: AdjustAnswer) -> str:
    lines = [answer.say, *(f"  {text}" for text in answer.why)]
    for cause in answer.against:
        if cause.said is not None:
            lines.append(f"  For {cause.name.lower()} speaks most: “{cause.said}”")
    lines += [f"  Measure: {reading.ask}" for reading in answer.measure]
    if answer.steps:
        lines += ["", "Adjusted so far"]
        for entry in answer.steps:
            lines.append(f"  “{entry.said}”{'' if entry.counts else ' (nothing was measured before)'}")
    if answer.outcomes:
        from bellhousing.cli import show

        then = {"adjust": "then", "one-step": "on its map"}.get(answer.state, "as it stands")
        lines += ["", f"What the gauges and the road show now, and {then} (middle, and where 95 in 100 lie)"]
        lines += [
            f"  {line}"
            for line in show.table(
                (
                    outcome.name,
                    _band(outcome.now, outcome.unit),
                    _band(outcome.then, outcome.unit),
                    ""
                    if outcome.window is None
                    else f"window {outcome.window[0]:.0f}–{outcome.window[1]:.0f}",
                )
                for outcome in answer.outcomes
            ).splitlines()
        ]
    if answer.cautions:
        lines += ["", "Take care", *(f"  {text}" for text in answer.cautions)]
    return "\n".join(_folded(line) for line in lines)


def _band(band: AdjustBand, unit: str) -> str:
    middle, low, high = (_end(value, unit) for value in (band.middle, band.low, band.high))
    return f"{middle} ({low}–{high}) {unit}"


def _window(window: tuple[float, float] | None) -> str:
    return "" if window is None else f"window {window[0]:.0f}–{window[1]:.0f}"


def _end(value: float, unit: str) -> str:
    """A figure without decimals; from 110 mph a shift never comes."""
    return "never" if unit == "mph" and value > 110.0 else f"{value:.0f}"


def _folded(line: str) -> str:
    margin = " " * (len(line) - len(line.lstrip()))
    if len(line) <= WIDTH or "window" in line:
        return line
    return textwrap.fill(line, WIDTH, subsequent_indent=margin)
