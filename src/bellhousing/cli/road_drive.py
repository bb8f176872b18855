"""`bellhousing road drive`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import json_option, tell

if TYPE_CHECKING:
    from bellhousing.tasks.road_drive import DriveAnswer


@click.command("drive")
@click.option(
    "--box", default="three-speed-vacuum", show_default=True, help="A shipped box or family, or a path."
)
@click.option(
    "--manoeuvre", default="road-loop", show_default=True, help="What to drive, such as light-pull."
)
@click.option(
    "--fault", "faults", multiple=True, help="A fault of the catalogue by its slug; may be repeated."
)
@click.option(
    "--severity", default=0.5, show_default=True, help="How bad the faults are, from 0, mild, to 1, severe."
)
@click.option(
    "--car", "car_number", type=int, help="Draw a plausible car by this number, not the middle one."
)
@click.option("--axle", default="3.08", show_default=True, help="Axle ratio.")
@click.option("--tyre-radius", default="0.345 m", show_default=True, help="Rolling radius of the tyre.")
@click.option("--altitude", default="0 m", show_default=True, help="Altitude of the road.")
@click.option("--rate", default="10 Hz", show_default=True, help="How often the logger writes.")
@click.option("--noise", type=int, help="Let the logger's sensors err, by this number.")
@click.option("-o", "--log", type=click.Path(path_type=Path), help="Write the log here.")
@click.option("--list", "listed", is_flag=True, help="List the manoeuvres.")
@json_option
def drive(
    box: str,
    manoeuvre: str,
    faults: tuple[str, ...],
    severity: float,
    car_number: int | None,
    axle: str,
    tyre_radius: str,
    altitude: str,
    rate: str,
    noise: int | None,
    log: Path | None,
    listed: bool,
    as_json: bool,
) -> None:
    """Drive a car in simulation, sound or with a fault, and write what a logger would have written."""
    from bellhousing.tasks.road_drive import drive_car, manoeuvre_names

    if listed:
        import json

        names = manoeuvre_names()
        click.echo(json.dumps(list(names)) if as_json else "\n".join(names))
        return
    answer = drive_car(
        box=box,
        name=manoeuvre,
        axle=axle,
        tyre_radius=tyre_radius,
        altitude=altitude,
        faults=faults,
        severity=severity,
        car_number=car_number,
        rate=rate,
        noise=noise,
        log=log,
    )
    tell(answer, as_json, lambda: _shown(answer))


def _shown(answer: DriveAnswer) -> str:
    from bellhousing.cli import show

    lines = [
        answer.says,
        f"{answer.seconds:.0f} s, up to {answer.highest_mph:.0f} mph and {answer.highest_rpm:.0f} rpm",
    ]
    if answer.faults:
        lines.append("with " + ", ".join(answer.faults))
    if answer.shifts:
        rows = [("shift", "at s", "mph", "inHg", "steady map")]
        for shift in answer.shifts:
            steady = "pedal on its stop" if shift.map_mph is None else f"{shift.map_mph:.1f} mph"
            rows.append(
                (
                    f"{shift.from_}–{shift.to}",
                    f"{shift.t_s:.1f}",
                    f"{shift.road_speed_mph:.1f}",
                    f"{shift.vacuum_inhg:.1f}",
                    steady,
                )
            )
        lines += ["", show.table(rows)]
    else:
        lines.append("It made no shift.")
    spent = answer.energy
    lines += [
        "",
        f"Of {spent.supplied:.0f} kJ the road took {spent.road:.0f}, the fluid {spent.fluid:.0f}, "
        f"what slipped {spent.slipping:.1f} and the gear teeth {spent.meshes:.1f}.",
    ]
    if answer.slipping:
        lines.append("Slips in gear " + ", ".join(str(gear) for gear in answer.slipping) + ".")
    if answer.log is not None:
        lines.append(f"Log of {answer.rows} rows in {answer.log}")
    return "\n".join(lines)
