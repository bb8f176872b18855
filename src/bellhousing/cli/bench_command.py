"""`bellhousing bench`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import (
    JOB_OR_FILE,
    json_option,
    shop_option,
    tell_of_job_or_file,
)
from bellhousing.cli.lines import folded

if TYPE_CHECKING:
    from bellhousing.tasks.bench_shapes import BenchAnswer


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
    from bellhousing.tasks.bench import bench_of_file, bench_of_job

    tell_of_job_or_file(
        context,
        job_or_file,
        shop_folder,
        as_json,
        of_file=lambda path: bench_of_file(path, box=box),
        of_job=bench_of_job,
        human=_shown,
        box=box,
    )


def _shown(answer: BenchAnswer) -> str:
    lines = [answer.box_name, "", answer.text, "", "Measured"]
    for entry in answer.numbers:
        changes = entry.changes or f"explains no reading: {entry.explains_nothing}"
        value = f"{entry.value:.4g} ± {entry.expanded:.2g} {entry.unit}"
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
    return "\n".join(folded(line) for line in lines)
