"""Options shared by the commands about one car, and where a JOB, a findings file or a log leads."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from bellhousing.cli.doors import findings_file, job_number, shop_at

if TYPE_CHECKING:
    from bellhousing.tasks.one_car_sources import Source

F = TypeVar("F", bound=Callable[..., Any])


def car_options(function: F) -> F:
    """Adds --box, --axle, --tyre-radius and --altitude, for files that do not say them."""
    for option in (
        click.option("--altitude", default="0 m", show_default=True, help="Altitude of the road, for a log."),
        click.option(
            "--tyre-radius", default="0.345 m", show_default=True, help="Rolling radius, for a log."
        ),
        click.option("--axle", default="3.08", show_default=True, help="Axle ratio, for a log."),
        click.option("--box", help="Box or family, for a log, or instead of the one named in a file."),
    ):
        function = option(function)
    return function


def source_at(
    text: str, shop_folder: Path | None, *, box: str | None, axle: str, tyre_radius: str, altitude: str
) -> Source:
    """The rows of a JOB, of a findings file (.yaml), of `road read --json` (.json), or of any other log."""
    from bellhousing.tasks.one_car_sources import Wanted, source_of_file, source_of_job

    number = job_number(text)
    if number is None:
        return source_of_file(findings_file(text), Wanted(box, axle, tyre_radius, altitude))
    if box is not None:
        raise click.UsageError("--box goes with a file; a job has the box of its car")
    return source_of_job(shop_at(shop_folder), number)
