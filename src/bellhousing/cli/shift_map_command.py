"""`bellhousing shift-map`."""

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


@click.command("shift-map")
@click.argument("job_or_file", metavar=JOB_OR_FILE)
@click.option("--fault", help="Show the map of a car with this fault (its slug), not of a sound one.")
@shop_option
@json_option
@click.pass_context
def command(
    context: click.Context, job_or_file: str, fault: str | None, shop_folder: Path | None, as_json: bool
) -> None:
    """The shift map predicted for this box and car, against the shifts that were driven.

    Where a sentence of a findings file is not understood, the map is drawn and the exit status is 1.
    """
    from bellhousing.cli import show

    number = job_number(job_or_file)
    if number is None:
        from bellhousing.tasks.file_answers import shift_map_of_file

        answer = shift_map_of_file(findings_file(job_or_file), fault=fault)
    else:
        from bellhousing.tasks.ranked_jobs import shift_map_of_job

        answer = shift_map_of_job(shop_at(shop_folder), number, fault=fault)
    tell(answer, as_json, lambda: show.shift_map(answer))
    if number is None:
        leave_not_understood(context, not_understood(answer.notes), as_json)
