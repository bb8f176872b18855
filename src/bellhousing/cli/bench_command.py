"""`bellhousing bench`."""

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
    leave_not_understood,
    not_understood,
    shop_at,
    shop_option,
    tell,
)

if TYPE_CHECKING:
    from bellhousing.tasks.bench_shapes import BenchAnswer

WIDTH = 96


@click.command("bench")
@click.argument("job_or_file", metavar=JOB_OR_FILE)
@click.option("--box", help="Take this box or family instead of the one named in the file.")
@shop_option
@json_option
@click.pass_context
def command(
    context: click.Context, job_or_file: str, box: str | None, shop_folder: Path | None, as_json: bool
) -> None:
    """What the parts on the bench explain of what the car showed: foretold beside read, reading by reading.

    A job's numbers are those of bellhousing measure.  A findings file lists them under `measured`, one
    sentence to a line: “pump face clearance 0.0045 in”.  Where a sentence under `findings` is not understood,
    the rest is answered and the exit status is 1.
    """
    number = job_number(job_or_file)
    if number is None:
        from bellhousing.tasks.bench import bench_of_file

        answer = bench_of_file(findings_file(job_or_file), box=box)
    else:
        from bellhousing.tasks.bench import bench_of_job

        if box is not None:
            raise click.UsageError("--box goes with a findings file; a job has the box of its car")
        answer = bench_of_job(shop_at(shop_folder), number)
    tell(answer, as_json, lambda: _shown(answer))
    if number is None:
        leave_not_understood(context, not_understood(answer.notes), as_json)


def _shown(answer: BenchAnswer) -> str:
    lines = [answer.box_name, "", answer.text, "", "Measured"]
    for entry in answer.numbers:
        changes = entry.changes or f"explains no reading: {entry.explains_nothing}"
        value = f"{entry.value:.4g} ± {2 * entry.uncertainty:.2g} {entry.unit}"
        lines.append(f"  {entry.name} {value}: {changes}")
    lines += [f"  {plates}" for plates in answer.plates]
    if answer.readings:
        lines += ["", "Read, beside what these parts foretell"]
        for reading in answer.readings:
            lines += [f"  {reading.name}: {reading.shown}".rstrip(": "), f"      {reading.text}"]
    if answer.foretold:
        lines += ["", "These parts would also show"]
        lines += [f"  {entry.name}: {entry.text}" for entry in answer.foretold]
    if answer.counted:
        lines += ["", "Counted as findings", *(f"  {entry}" for entry in answer.counted)]
    if answer.assumed:
        lines += ["", f"Assumed: {'; '.join(answer.assumed)}."]
    lines += ["", f"Rule: {answer.rule}"]
    return "\n".join(_folded(line) for line in lines)


def _folded(line: str) -> str:
    margin = " " * (len(line) - len(line.lstrip()) + 2)
    return textwrap.fill(line, WIDTH, subsequent_indent=margin) if len(line) > WIDTH else line
