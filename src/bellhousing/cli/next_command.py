"""`bellhousing next`."""

from __future__ import annotations

from pathlib import Path

import click

from bellhousing.cli.doors import JOB_OR_FILE, job_number, json_option, shop_at, shop_option, tell


@click.command("next")
@click.argument("job_or_file", metavar=JOB_OR_FILE)
@shop_option
@json_option
def command(job_or_file: str, shop_folder: Path | None, as_json: bool) -> None:
    """What to look at next, the minutes it takes, and what it would tell.

    Tests that must not be done as things stand are never proposed; each says why.
    """
    from bellhousing.cli import show

    number = job_number(job_or_file)
    if number is None:
        from bellhousing.tasks.file_answers import next_of_file

        answer = next_of_file(Path(job_or_file))
    else:
        from bellhousing.tasks.ranked_jobs import next_of_job

        answer = next_of_job(shop_at(shop_folder), number)
    tell(answer, as_json, lambda: show.next_answer(answer))
