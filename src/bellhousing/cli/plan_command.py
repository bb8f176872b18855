"""`bellhousing plan`."""

from __future__ import annotations

from pathlib import Path

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


@click.command("plan")
@click.argument("job_or_file", metavar=JOB_OR_FILE)
@click.option("--box", help="Take this box or family instead of the one named in the file.")
@click.option(
    "--rate",
    envvar="BELLHOUSING_RATE",
    help="What an hour costs, as 80/h or £80/h (or set BELLHOUSING_RATE); without it everything is in hours.",
)
@shop_option
@json_option
@click.pass_context
def command(
    context: click.Context,
    job_or_file: str,
    box: str | None,
    rate: str | None,
    shop_folder: Path | None,
    as_json: bool,
) -> None:
    """What to do: mend it in the car, take the box out, look once more, or leave it and watch.

    With the order of repairs, what else is cheap while the way is open, and the three things to ask the owner
    for: to diagnose, to open up, to repair, each with its range.  Where a sentence of the file is not
    understood, the rest is answered and the exit status is 1.
    """
    from bellhousing.cli import show_plan

    number = job_number(job_or_file)
    if number is None:
        from bellhousing.tasks.plan import plan_of_file

        answer = plan_of_file(findings_file(job_or_file), box=box, rate=rate)
    else:
        from bellhousing.tasks.plan import plan_of_job

        if box is not None:
            raise click.UsageError("--box goes with a findings file; a job has the box of its car")
        answer = plan_of_job(shop_at(shop_folder), number, rate=rate)
    tell(answer, as_json, lambda: show_plan.plan(answer))
    if number is None:
        leave_not_understood(context, not_understood(answer.notes), as_json)
