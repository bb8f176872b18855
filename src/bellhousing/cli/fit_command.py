"""`bellhousing fit`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import JOB_OR_FILE, job_number, json_option, shop_at, shop_option, tell
from bellhousing.cli.one_car_doors import car_options, refuse_car, source_at

if TYPE_CHECKING:
    from bellhousing.tasks.fit_shapes import FitAnswer, ForetoldAnswer


@click.command("fit")
@click.argument("job_or_file", metavar=JOB_OR_FILE)
@click.option("--date", help="Day of the drives, as 2026-05-01; default the job's last finding, or today.")
@click.option(
    "--earlier",
    multiple=True,
    type=click.Path(path_type=Path),
    help="An earlier fit of this car, as --json wrote it; may be repeated, for its drift.",
)
@click.option(
    "--keep/--no-keep", default=True, show_default=True, help="Keep the fit of a job with its car's records."
)
@car_options
@shop_option
@json_option
def command(
    job_or_file: str,
    date: str | None,
    earlier: tuple[Path, ...],
    keep: bool,
    box: str | None,
    axle: str | None,
    tyre_radius: str | None,
    altitude: str | None,
    shop_folder: Path | None,
    as_json: bool,
) -> None:
    """This car's own governor, throttle signal, regulator and valves, fitted to its shifts and pressures.

    With it come what the readings cannot tell, the drift since earlier fits, and what the car would do with
    the vacuum hose off, or with a longer throttle rod.  The fit of a job is kept with its car, and its drift
    reckoned over all that are; of a file, keep the answer of --json and name it later with --earlier.
    """
    from bellhousing.tasks.fitting_car import fit, fit_of_job

    number = job_number(job_or_file)
    if number is None:
        source = source_at(
            job_or_file, shop_folder, box=box, axle=axle, tyre_radius=tyre_radius, altitude=altitude
        )
        answer = fit(source, date=date, earlier=earlier)
    else:
        refuse_car(box, axle, tyre_radius, altitude)
        answer = fit_of_job(shop_at(shop_folder), number, date=date, earlier=earlier, keep=keep)
    tell(answer, as_json, lambda: _shown(answer))


def _shown(answer: FitAnswer) -> str:
    from bellhousing.cli import show
    from bellhousing.quantities.odds import in_100

    rows = [("", "this car", "95 in 100", "sound", "inside")]
    for one in answer.parameters:
        if one.told:
            rows.append(
                (
                    one.name,
                    f"{one.value:.3g} {one.unit}".strip(),
                    f"{one.low:.3g}–{one.high:.3g}",
                    f"{one.window[0]:.3g}–{one.window[1]:.3g}",
                    in_100(one.inside),
                )
            )
    lines = [f"Fitted to {len(answer.rows)} readings, {answer.date}", show.table(rows)]
    if answer.cannot_tell:
        lines += ["", "These readings cannot tell: " + "; ".join(answer.cannot_tell)]
    lines += [f"Told only together: {a} and {b}" for a, b in answer.together]
    odd = [row for row in answer.rows if row.odd]
    lines += [
        f"“{row.said}” does not fit the others: {row.value:g} {row.unit}, they say {row.fitted:g}"
        for row in odd
    ]
    drifts = [(one.name, one.drift.text) for one in answer.parameters if one.drift is not None]
    if drifts:
        since = ", ".join(f"{one.date} ({one.name})" for one in answer.earlier)
        lines += ["", f"Drift since {since}", *(f"  {name}: {text}" for name, text in drifts)]
    if answer.hose_off:
        lines += ["", "With the vacuum hose off it would shift", *map(_foretold, answer.hose_off)]
    if answer.rod_longer:
        lines += [
            "",
            "With the throttle rod 1/16 in longer it would shift, at half throttle",
            *map(_foretold, answer.rod_longer),
        ]
    lines += ["", *answer.notes] if answer.notes else []
    if answer.kept:
        lines += ["", "Kept with the car's records."]
    return "\n".join(lines)


def _foretold(one: ForetoldAnswer) -> str:
    ends = "–".join("never" if end is None else f"{end:.0f}" for end in (one.low, one.high))
    middle = "never" if one.middle is None else f"about {one.middle:.0f} mph"
    return f"  {one.shift.replace('-', '–')} {middle} ({ends} mph)"
