"""`bellhousing plan`."""

from __future__ import annotations

from pathlib import Path

import click

from bellhousing.cli.doors import (
    JOB_OR_FILE,
    json_option,
    shop_option,
    tell_of_job_or_file,
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
    from bellhousing.tasks.plan import plan_of_file, plan_of_job

    tell_of_job_or_file(
        context,
        job_or_file,
        shop_folder,
        as_json,
        of_file=lambda path: plan_of_file(path, box=box, rate=rate),
        of_job=lambda shop, number: plan_of_job(shop, number, rate=rate),
        human=show_plan.plan,
        box=box,
    )
