"""`bellhousing causes`."""

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
    refuse_box,
    shop_at,
    shop_option,
    tell,
)


@click.command("causes")
@click.argument("job_or_file", metavar=JOB_OR_FILE)
@click.option("--box", help="Take this box or family instead of the one named in the file.")
@shop_option
@json_option
@click.pass_context
def command(
    context: click.Context, job_or_file: str, box: str | None, shop_folder: Path | None, as_json: bool
) -> None:
    """The causes in order, with what speaks for and against each, and what to look at next.

    Digits only are the number of a job; anything else is a findings file, which needs no database.  Where
    a sentence of the file is not understood, the rest is answered and the exit status is 1.
    """
    from bellhousing.cli import show

    number = job_number(job_or_file)
    if number is None:
        from bellhousing.tasks.file_answers import causes_of_file

        answer = causes_of_file(findings_file(job_or_file), box=box)
    else:
        from bellhousing.tasks.ranked_jobs import causes_of_job

        refuse_box(box)
        answer = causes_of_job(shop_at(shop_folder), number)
    tell(answer, as_json, lambda: show.answer(answer))
    if number is None:
        leave_not_understood(context, not_understood(answer.notes), as_json)
