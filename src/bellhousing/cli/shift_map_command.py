"""`bellhousing shift-map`."""

from __future__ import annotations

from pathlib import Path

import click

from bellhousing.cli.doors import JOB_OR_FILE, job_number, json_option, shop_at, shop_option, tell


@click.command("shift-map")
@click.argument("job_or_file", metavar=JOB_OR_FILE)
@click.option("--fault", help="Show the map of a car with this fault (its slug), not of a sound one.")
@shop_option
@json_option
def command(job_or_file: str, fault: str | None, shop_folder: Path | None, as_json: bool) -> None:
    """The shift map predicted for this box and car, against the shifts that were driven."""
    from bellhousing.cli import show

    number = job_number(job_or_file)
    if number is None:
        from bellhousing.tasks.file_answers import shift_map_of_file

        answer = shift_map_of_file(Path(job_or_file), fault=fault)
    else:
        from bellhousing.tasks.ranked_jobs import shift_map_of_job

        answer = shift_map_of_job(shop_at(shop_folder), number, fault=fault)
    tell(answer, as_json, lambda: show.shift_map(answer))
