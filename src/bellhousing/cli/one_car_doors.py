"""Options shared by the commands about one car, and where a JOB, a findings file or a log leads."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from bellhousing.cli.doors import findings_file, job_number, shop_at

if TYPE_CHECKING:
    from bellhousing.tasks.one_car_sources import Side, Source

F = TypeVar("F", bound=Callable[..., Any])


def car_options(function: F) -> F:
    """Adds --box, --axle, --tyre-radius and --altitude, for files that do not say them."""
    for option in (
        click.option("--altitude", help="Altitude of the road, for a log; 0 m if not said."),
        click.option("--tyre-radius", help="Rolling radius, for a log; 0.345 m if not said."),
        click.option("--axle", help="Axle ratio, for a log; 3.08 if not said."),
        click.option("--box", help="Box or family, for a log, or instead of the one named in a file."),
    ):
        function = option(function)
    return function


def refuse_car(*said: str | None) -> None:
    """Refuse --box, --axle, --tyre-radius and --altitude beside the number of a job."""
    if any(one is not None for one in said):
        raise click.UsageError(
            "--box, --axle, --tyre-radius and --altitude go with a file; a job has its car"
        )


def source_at(
    text: str,
    shop_folder: Path | None,
    *,
    box: str | None,
    axle: str | None,
    tyre_radius: str | None,
    altitude: str | None,
    side: Side | None = None,
) -> Source:
    """The rows of a JOB, of a findings file (.yaml), of `road read --json` (.json), or of any other log.

    `side` takes of a job what was noted before anything was changed on the car, or after.
    """
    from bellhousing.tasks.one_car_sources import Wanted, source_of_file, source_of_job

    number = job_number(text)
    if number is None:
        return source_of_file(findings_file(text), Wanted(box, axle, tyre_radius, altitude))
    refuse_car(box, axle, tyre_radius, altitude)
    return source_of_job(shop_at(shop_folder), number, side)
