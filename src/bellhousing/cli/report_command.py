"""`bellhousing report`."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import NUMBER, json_option, shop_at, shop_option, tell
from bellhousing.cli.lines import WIDTH

if TYPE_CHECKING:
    from bellhousing.tasks.report_shapes import OwnerReport, ReportReading


@click.command("report")
@click.argument("job", type=NUMBER)
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Write it as PDF to this file.")
@click.option("--estimate", is_flag=True, help="What is proposed and what it may cost, before the work.")
@click.option("--metric", "units", flag_value="metric", help="Figures in metric units.")
@click.option("--inch", "units", flag_value="inch", help="Figures in inches, miles and psi.")
@click.option("--rate", help="What an hour costs, for an estimate: 80/h, £80/h.")
@shop_option
@json_option
def command(
    job: int,
    output: Path | None,
    estimate: bool,
    units: str | None,
    rate: str | None,
    shop_folder: Path | None,
    as_json: bool,
) -> None:
    """The report of a job to the car's owner, in plain words: shown here, or as PDF with -o.

    It is made of what was recorded, and says what was not measured. The shop's name, its warranty and its
    paper come from the file shop.yaml in the shop's folder.
    """
    from bellhousing.tasks.owner_report import owner_report
    from bellhousing.tasks.report_pdf import write_report

    shop = shop_at(shop_folder)
    gathered = owner_report(shop, job, estimate=estimate, units=units, rate=rate)
    size = None if output is None else write_report(shop, gathered, output)
    tell(gathered.report, as_json, lambda: _shown(gathered.report, output, size))


def _shown(report: OwnerReport, output: Path | None, size: int | None) -> str:
    if output is not None and size is not None:
        return f"{report.title}, job {report.job}: {output} ({size / 1024:.0f} kB)"
    lines = [f"{report.title}, job {report.job}", ""]
    lines += [f"{fact.name}: {fact.value}" for fact in report.facts]
    lines += _part("In short", report.in_short)
    lines += _part("What you told us", [f"“{report.complaint}”"])
    lines += _part("What was tested", map(_reading, report.tests))
    lines += _part(
        "What it is, and how sure",
        (f"{cause.name}: {cause.confidence or 'found'}" for cause in report.causes),
    )
    lines += _part(
        "What speaks against other causes",
        (f"{cause.name}, {cause.confidence}: {'; '.join(cause.because)}" for cause in report.ruled_out),
    )
    if report.plan is not None:
        told = [
            ", ".join(text for text in (option.odds, option.what, option.hours, option.price) if text)
            for option in report.plan.options
        ]
        lines += _part("What we propose", [report.plan.headline, report.plan.why, *told])
        lines += _part("If you wait", [report.plan.may_drive, *report.plan.waiting])
    lines += _part("What was done", report.work)
    lines += _part(
        "Parts",
        (
            f"{part.count} × {part.name}, {part.state}" + (f": {part.note}" if part.note else "")
            for part in report.parts
        ),
    )
    lines += _part("Measurements that mattered", map(_reading, report.measurements))
    lines += _part(
        "Before and after", (f"{one.name}: {one.before}, now {one.after}" for one in report.changes)
    )
    lines += _part("Photos", (photo.caption for photo in report.photos))
    lines += _part("Not measured, not done", report.not_done)
    lines += _part("What to watch", report.watch)
    lines += _part("What comes next", (f"{due.what}: {due.by}, {due.state}" for due in report.next_due))
    lines += _part("What it comes to", (f"{line.what}: {line.text}" for line in report.money))
    lines += _part("What you agreed to", report.agreed)
    lines += _part("Warranty", [report.warranty] if report.warranty else [])
    lines += _part("Please note", report.cautions)
    return "\n".join(lines)


def _reading(row: ReportReading) -> str:
    window = f", should be {row.window}" if row.window else ""
    return f"{row.name}: {row.value}{window}{f', {row.verdict}' if row.verdict else ''}"


def _part(title: str, texts: Iterable[str]) -> list[str]:
    lines = [
        line
        for text in texts
        if text
        for line in textwrap.wrap(text, WIDTH, initial_indent="  ", subsequent_indent="    ")
    ]
    return ["", title, *lines] if lines else []
