"""`bellhousing leaks`."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import (
    JOB_OR_FILE,
    findings_file,
    job_number,
    json_option,
    refuse_box,
    shop_at,
    shop_option,
    tell,
)
from bellhousing.cli.lines import WIDTH

if TYPE_CHECKING:
    from bellhousing.tasks.leak_shapes import LeakAnswer


@click.command("leaks")
@click.argument("job_or_file", metavar=JOB_OR_FILE)
@click.option("--box", help="Take this box or family instead of the one named in the file.")
@click.option("--note", "said", help="First write this on the job: a wet place, drops, the level, the use.")
@shop_option
@json_option
def command(
    job_or_file: str, box: str | None, said: str | None, shop_folder: Path | None, as_json: bool
) -> None:
    """Where it leaks, several places at once, what to look at first, and when the level leaves the stick.

    Write wet places as you measure them: “spot 40 mm behind the front of the pan”, “highest wet point at the
    modulator”, “wet at the bell only running”, “dry above the pan rail”; losses as “6 drops a minute parked”,
    “card spot 60 mm across after a night”, “lost half a pint in 300 miles”.
    """
    number = job_number(job_or_file)
    if number is None:
        from bellhousing.tasks.leaks import leaks_of_file

        if said is not None:
            raise click.UsageError("--note goes with a job; write it into the file")
        answer = leaks_of_file(findings_file(job_or_file), box=box)
    else:
        from bellhousing.tasks.leaks import leaks_of_job, note_leak

        refuse_box(box)
        shop = shop_at(shop_folder)
        answer = leaks_of_job(shop, number) if said is None else note_leak(shop, number, said)
    tell(answer, as_json, lambda: _shown(answer))


def _shown(answer: LeakAnswer) -> str:
    from bellhousing.quantities.odds import in_100
    from bellhousing.reports.odds import factor

    lines = [f"{answer.box_name} ({answer.note})", ""]
    lines += ["Told of leaks", *(_note(entry.said, entry.understood) for entry in answer.notes)]
    lines += ["" if answer.notes else "  Nothing yet: write where it is wet, and what drips.", answer.first]
    lines += ["", "Places (several can leak at once)"]
    for site in answer.sites:
        change = factor(site.factor)
        told = "" if change == "no change" else f", {change} by what was seen"
        lines.append(f"  {in_100(site.probability):>19}  {site.name}{told}")
        lines.append(f"{'':23}{site.position}; {site.drips}")
        for reason in site.reasons if told else ():
            lines.append(f"{'':25}“{reason.said}”: {reason.why}")
    several = [entry for entry in answer.together if len(entry.sites) > 1]
    if several:
        lines += ["", "At once"]
        lines += [f"  {in_100(entry.probability):>19}  {' and '.join(entry.names)}" for entry in several]
    lines += ["", answer.levels]
    if answer.loss is not None:
        lines += ["", answer.loss.text]
        lines += [f"  Assumed: {text}." for text in answer.loss.assumed]
    return "\n".join(_folded(line) for line in lines)


def _folded(line: str) -> str:
    margin = " " * (len(line) - len(line.lstrip()))
    return textwrap.fill(line, WIDTH, subsequent_indent=margin) if len(line) > WIDTH else line


def _note(said: str, understood: str) -> str:
    return f"  “{said}”: {understood}"
