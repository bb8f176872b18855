"""`bellhousing strip`."""

from __future__ import annotations

from pathlib import Path

import click

from bellhousing.cli.doors import (
    job_number,
    json_option,
    leave_not_understood,
    not_understood,
    shop_at,
    shop_option,
    tell,
)


@click.command("strip")
@click.argument("what", metavar="BOX_OR_JOB")
@click.option(
    "--to",
    "to",
    multiple=True,
    help='A part to reach, such as "pump outer ring", or a fault; may be given again.',
)
@shop_option
@json_option
@click.pass_context
def command(
    context: click.Context, what: str, to: tuple[str, ...], shop_folder: Path | None, as_json: bool
) -> None:
    """What must come off, in order, to reach a part: the least work in all, shared work counted once.

    BOX_OR_JOB is the number of a job, the name or file of a box, or a findings file.  For a job or a
    findings file without --to the aim is where the leading causes sit.  Each step says what to measure
    before it is undone, what to mark, what comes loose and what may be found.
    """
    from bellhousing.cli import show_strip
    from bellhousing.tasks import stripping

    number = job_number(what)
    if number is not None:
        answer = stripping.strip_of_job(shop_at(shop_folder), number, to)
    elif stripping.is_findings_file(what):
        answer = stripping.strip_of_file(Path(what), to)
    else:
        answer = stripping.strip_of_box(what, to)
    tell(answer, as_json, lambda: show_strip.strip(answer))
    leave_not_understood(context, not_understood(answer.notes), as_json)
