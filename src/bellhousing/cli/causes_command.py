"""`bellhousing causes`."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from bellhousing.cli.doors import JOB_OR_FILE, complain, job_number, json_option, shop_at, shop_option, tell


@click.command("causes")
@click.argument("job_or_file", metavar=JOB_OR_FILE)
@click.option("--box", help="Take this box or family instead of the one named in the file.")
@shop_option
@json_option
def command(job_or_file: str, box: str | None, shop_folder: Path | None, as_json: bool) -> None:
    """The causes in order, with what speaks for and against each, and what to look at next.

    Digits only are the number of a job; anything else is a findings file, which needs no database.
    """
    from bellhousing.cli import show

    number = job_number(job_or_file)
    if number is None:
        from bellhousing.tasks.file_answers import causes_of_file

        answer = causes_of_file(Path(job_or_file), box=box)
    else:
        from bellhousing.tasks.ranked_jobs import causes_of_job

        if box is not None:
            raise click.UsageError("--box goes with a findings file; a job has the box of its car")
        answer = causes_of_job(shop_at(shop_folder), number)
    tell(answer, as_json, lambda: show.answer(answer))
    if number is None:
        complain([f"“{said}” was not understood and kept as a note" for said in answer.notes])
    sys.stdout.flush()
