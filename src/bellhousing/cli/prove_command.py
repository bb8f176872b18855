"""`bellhousing prove`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import json_option, shop_option, tell
from bellhousing.cli.one_car_doors import car_options, source_at

if TYPE_CHECKING:
    from bellhousing.tasks.proving import DriveProof, ProofAnswer


@click.command("prove")
@click.argument("before")
@click.argument("after")
@click.option("--picture", type=click.Path(path_type=Path), help="Write before and after as SVG here.")
@car_options
@shop_option
@json_option
def command(
    before: str,
    after: str,
    picture: Path | None,
    box: str | None,
    axle: str | None,
    tyre_radius: str | None,
    altitude: str | None,
    shop_folder: Path | None,
    as_json: bool,
) -> None:
    """How surely the car now shifts as a sound one: the shifts of BEFORE and AFTER against the map.

    Each is a job's number, a findings file (.yaml), a log, or what `road read --json` wrote (.json).  Where
    there was no drive before, write - for it.  The same job for both compares what was noted on it before
    anything was changed on the car and after.
    """
    from bellhousing.tasks.proving import proof

    car = {"box": box, "axle": axle, "tyre_radius": tyre_radius, "altitude": altitude}
    late = None if after == "-" else source_at(after, shop_folder, **car, side="after")
    early = None if before == "-" else source_at(before, shop_folder, **car, side="before")
    if late is None:
        raise click.UsageError("there is no drive after the repair to prove it by")
    answer = proof(early, late, picture=picture)
    tell(answer, as_json, lambda: _shown(answer))


def _shown(answer: ProofAnswer) -> str:
    lines = [answer.verdict, f"  ({answer.assumed})"]
    if answer.before is not None:
        lines += ["", *_drive("Before", answer.before)]
    lines += ["", *_drive("After", answer.after)]
    if answer.not_tested:
        lines += ["", "Not tested: " + ", ".join(answer.not_tested)]
    if answer.picture_file is not None:
        lines += ["", f"Picture in {answer.picture_file}"]
    return "\n".join(lines)


def _drive(name: str, drive: DriveProof) -> list[str]:
    from bellhousing.cli import show
    from bellhousing.quantities.odds import in_100

    rows = [("", "driven", "sound", "as a sound one")]
    for shift in drive.shifts:
        low = "never" if shift.low is None else f"{shift.low:.0f}"
        high = "or never" if shift.high is None else f"{shift.high:.0f}"
        rows.append(
            (
                f"{shift.shift.replace('-', '–')} {shift.throttle or f'{shift.vacuum_inhg:.0f} inHg'}",
                f"{shift.driven:.1f} mph",
                f"{low}–{high} mph",
                in_100(shift.as_sound),
            )
        )
    date = "" if drive.date is None else f", {drive.date}"
    return [
        f"{name} ({drive.name}{date}): {in_100(drive.as_sound)} for all together",
        show.table(rows),
    ]
