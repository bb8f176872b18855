"""`bellhousing road`: logs of a drive."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from bellhousing.cli.doors import NUMBER, json_option, shop_at, shop_option, tell
from bellhousing.cli.road_drive import drive

if TYPE_CHECKING:
    from bellhousing.tasks.road_shapes import RoadLogAnswer

F = TypeVar("F", bound=Callable[..., Any])


def _log_options(function: F) -> F:
    """Adds what may be said of a log."""
    function = click.option(
        "--column",
        "columns",
        multiple=True,
        metavar="MEANING=COLUMN",
        help="Which column holds what, such as 'speed=GPS v in km/h'; remembered for logs with this header.",
    )(function)
    return click.option("--rate", help="How often rows come, such as '10 Hz', where the log has no clock.")(
        function
    )


@click.group("road")
def command() -> None:
    """Drives: simulate one, read the log of one, or add what it tells to a job."""


command.add_command(drive)


@command.command("read")
@click.argument("log", type=click.Path(path_type=Path))
@click.option(
    "--box", default="three-speed-vacuum", show_default=True, help="A shipped box or family, or a path."
)
@click.option("--axle", default="3.08", show_default=True, help="Axle ratio.")
@click.option("--tyre-radius", default="0.345 m", show_default=True, help="Rolling radius of the tyre.")
@click.option("--altitude", default="0 m", show_default=True, help="Altitude, for absolute pressures.")
@_log_options
@click.option(
    "--all", "everything", is_flag=True, help="With --json: findings, converter slip and delay too."
)
@click.option(
    "--picture", type=click.Path(path_type=Path, dir_okay=False), help="Draw the drive into this SVG file."
)
@click.option("--unit", type=click.Choice(["mph", "km/h"]), default="mph", help="Road speeds in the picture.")
@shop_option
@json_option
def read(
    log: Path,
    box: str,
    axle: str,
    tyre_radius: str,
    altitude: str,
    columns: tuple[str, ...],
    rate: str | None,
    everything: bool,
    picture: Path | None,
    unit: str,
    shop_folder: Path | None,
    as_json: bool,
) -> None:
    """Read a LOG to gears, shifts and slip; needs no database."""
    from bellhousing.tasks.road_logs import Asked, read_road_log
    from bellhousing.tasks.shop import default_folder

    answer = read_road_log(
        log,
        box=box,
        axle=axle,
        tyre_radius=tyre_radius,
        altitude=altitude,
        asked=Asked(columns, rate),
        folder=shop_folder or default_folder(),
        progress=_progress(as_json),
    )
    if picture is not None:
        _draw(answer, picture, unit)
    _tell(answer, as_json, everything)


@command.command("add")
@click.argument("job", type=NUMBER)
@click.argument("log", type=click.Path(path_type=Path))
@_log_options
@shop_option
@json_option
def add(
    job: int, log: Path, columns: tuple[str, ...], rate: str | None, shop_folder: Path | None, as_json: bool
) -> None:
    """Read a LOG with the car of a JOB, keep it with the shop, and note what it tells."""
    from bellhousing.tasks.road_logs import Asked, add_road_log

    shop = shop_at(shop_folder)
    _tell(
        add_road_log(shop, job, log, asked=Asked(columns, rate), progress=_progress(as_json)), as_json, True
    )


def _tell(answer: RoadLogAnswer, as_json: bool, everything: bool) -> None:
    from bellhousing.cli.show_road import road_log

    if as_json and not everything:
        click.echo(json.dumps(answer.contract(), ensure_ascii=False, indent=2))
    else:
        tell(answer, as_json, lambda: road_log(answer))


def _draw(answer: RoadLogAnswer, path: Path, unit: str) -> None:
    from bellhousing.errors import InputFileError
    from bellhousing.reports.drive_chart import drive_svg

    assert answer.picture is not None
    try:
        path.write_text(drive_svg(answer.picture, unit), encoding="utf-8")
    except OSError as error:
        raise InputFileError(f"the picture cannot be written: {error.strerror}", where=str(path)) from None


def _progress(as_json: bool) -> Callable[[int, int], None] | None:
    """Shows on a terminal how much of the file is read; Ctrl-C stops it."""
    if as_json or not sys.stderr.isatty():
        return None

    def show(done: int, total: int) -> None:
        click.echo(f"\rread {100 * done // max(total, 1)} %", nl=done >= total, err=True)

    return show
