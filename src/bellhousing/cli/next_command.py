"""`bellhousing next`."""

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


@click.command("next")
@click.argument("job_or_file", metavar=JOB_OR_FILE)
@shop_option
@json_option
@click.pass_context
def command(context: click.Context, job_or_file: str, shop_folder: Path | None, as_json: bool) -> None:
    """What to look at next, the minutes it takes, and what it would tell.

    Tests that must not be done as things stand are never proposed; each says why.  Where a sentence of a
    findings file is not understood, the rest is answered and the exit status is 1.
    """
    from bellhousing.cli import show

    number = job_number(job_or_file)
    if number is None:
        from bellhousing.tasks.file_answers import next_of_file

        answer = next_of_file(findings_file(job_or_file))
    else:
        from bellhousing.tasks.ranked_jobs import next_of_job

        answer = next_of_job(shop_at(shop_folder), number)
    tell(answer, as_json, lambda: show.next_answer(answer))
    if number is None:
        leave_not_understood(context, not_understood(answer.notes), as_json)
