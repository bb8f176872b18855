"""`bellhousing due`."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import json_option, shop_at, shop_option, tell
from bellhousing.cli.lines import WIDTH

if TYPE_CHECKING:
    from bellhousing.tasks.service_shapes import CarDueAnswer, DueAnswer, ServicePlanAnswer


@click.command("due")
@click.option("--car", help="One car only; needed to note something.")
@click.option("--calendar", type=click.Path(path_type=Path), help="Write the days to this iCalendar file.")
@click.option(
    "--letter", type=click.Path(path_type=Path), help="Write the owner's letter here (.txt or .pdf)."
)
@click.option("--done", "rule", help="Note that this service was done: --done fluid-and-filter.")
@click.option("--on", "day", default="today", help="On which day: 2024-05-01 (today, if not said).")
@click.option("--odometer", help="What the odometer showed that day: 61,900 miles.")
@click.option("--note", default="", help="A remark beside it.")
@click.option("--withdraw", type=int, metavar="NUMBER", help="Take back a service noted by mistake.")
@click.option("--metric", "units", flag_value="metric", help="Distances in kilometres.")
@shop_option
@json_option
def command(
    car: str | None,
    calendar: Path | None,
    letter: Path | None,
    rule: str | None,
    day: str,
    odometer: str | None,
    note: str,
    withdraw: int | None,
    units: str | None,
    shop_folder: Path | None,
    as_json: bool,
) -> None:
    """What service is due, by time or distance, whichever comes first, and what cannot be told.

    It counts from what was done: in the book of work, or noted here with --done. Distances ahead come from
    the odometer's history. The services and how often they are due can be changed in the file service.yaml
    in the shop's folder.
    """
    from bellhousing.tasks import service

    if car is None and (rule or odometer or letter or withdraw is not None):
        raise click.UsageError("--done, --odometer, --letter and --withdraw go with --car")
    shop = shop_at(shop_folder)
    said = ""
    if car is not None:
        if withdraw is not None:
            said = service.withdraw_service(shop, car, withdraw, reason=note or "withdrawn").said
        elif rule:
            said = service.note_service(shop, car, rule, day=day, odometer=odometer or "", note=note).said
        elif odometer:
            said = service.note_odometer(shop, car, odometer, day=day).said
    plan = service.service_plan(shop, car, units=units, said=said)
    written = []
    if calendar is not None:
        from bellhousing.tasks.reminders import write_calendar

        written.append(f"{calendar}: {write_calendar(shop, plan, calendar)} days")
    if letter is not None:
        _write_letter(shop_folder, plan, letter)
        written.append(f"{letter}: letter")
    tell(plan, as_json, lambda: _shown(plan, written))


def _write_letter(folder: Path | None, plan: ServicePlanAnswer, path: Path) -> None:
    from bellhousing.errors import InputFileError
    from bellhousing.tasks.reminders import letter_pdf, letter_text

    shop = shop_at(folder)
    car = plan.cars[0]
    try:
        if path.suffix.lower() == ".pdf":
            path.write_bytes(letter_pdf(shop, car, plan.today))
        else:
            path.write_text(letter_text(shop, car, plan.today), encoding="utf-8")
    except OSError as error:
        raise InputFileError(f"the letter cannot be written: {error.strerror}", where=str(path)) from None


def _shown(plan: ServicePlanAnswer, written: list[str]) -> str:
    lines = [plan.said, ""] if plan.said else []
    if len(plan.cars) > 1 and plan.order:
        lines.append("First")
        lines += [line for item in plan.order for line in _item(item, with_car=True)]
        lines.append("")
    for car in plan.cars:
        lines += _car(car)
    if not plan.cars:
        lines.append("No car yet: bellhousing car add")
    return "\n".join([*lines, *written]).rstrip()


def _car(car: CarDueAnswer) -> list[str]:
    lines = [f"{car.name}" + (f", {car.odometer}" if car.odometer else ""), *_wrapped(car.habit)]
    for item in car.due:
        lines += _item(item)
    for text in car.advice:
        lines += _wrapped(text)
    for one in car.done:
        shown = f" at {one.odometer}" if one.odometer else ""
        lines += _wrapped(f"{one.number}: {one.name} done {one.day}{shown}")
    return [*lines, ""]


def _item(item: DueAnswer, *, with_car: bool = False) -> list[str]:
    car = f"{item.car_name}: " if with_car else ""
    head = f"{item.state}: {car}{item.name}"
    told = [f"by {item.by}" if item.by else "", item.why, item.expected]
    if item.would_tell:
        told.append(f"what would tell: {item.would_tell}")
    if item.last:
        told.append(f"last {item.last}")
    return _wrapped(f"{head}; {'; '.join(text for text in told if text)}")


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent="  ", subsequent_indent="      ")
