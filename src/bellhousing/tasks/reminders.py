"""What goes out of the service plan: the calendar file, and letters to owners as text and on paper."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path

from bellhousing.errors import InputFileError, RecordError
from bellhousing.reports.calendar import Reminder, calendar_file
from bellhousing.reports.printing import print_pdf
from bellhousing.tasks.report_pdf import FONTS
from bellhousing.tasks.report_units import day as in_words
from bellhousing.tasks.service_shapes import CarDueAnswer, DueAnswer, ServicePlanAnswer
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.shop_settings import shop_settings

WIDTH = 78
TOLD = ("overdue", "soon")
IN_WORDS = {"overdue": "overdue", "soon": "due soon", "cannot tell": "cannot be told yet", "later": "later"}


def plan_calendar(shop: Shop, plan: ServicePlanAnswer) -> bytes:
    """Every service that has a day, as an iCalendar file; days by distance are expected, and say so."""
    settings = shop_settings(shop)
    reminders = [
        Reminder(
            name=f"{item.car}/{item.rule}",
            day=date.fromisoformat(item.day),
            summary=f"{item.car_name}: {item.name}",
            text=_text(item),
        )
        for car in plan.cars
        for item in car.due
        if item.day is not None
    ]
    title = f"Service, {settings.name}" if settings.name else "Service"
    # Midnight of the day: the same plan on the same day is the same file.
    at = datetime.fromisoformat(plan.today).astimezone()
    return calendar_file(reminders, title=title, at=at)


def _text(item: DueAnswer) -> str:
    told = [f"{item.todo}.", f"Due {item.by}."]
    if item.first == "distance":
        told.append(f"The day is expected from the odometer's history: {item.expected}.")
    if item.would_tell:
        told.append(f"What would tell: {item.would_tell}.")
    told.append(f"Last: {item.last}.")
    return "\n".join(told)


def write_calendar(shop: Shop, plan: ServicePlanAnswer, path: Path) -> int:
    """Write the calendar file; how many days it holds.

    Raises
    ------
    InputFileError : a file that cannot be written.
    """
    content = plan_calendar(shop, plan)
    try:
        path.write_bytes(content)
    except (OSError, ValueError) as error:
        raise InputFileError(
            f"the calendar cannot be written: {getattr(error, 'strerror', None) or error}",
            where=str(path)[:200],
        ) from None
    return content.count(b"BEGIN:VEVENT")


def letter_text(shop: Shop, car: CarDueAnswer, today: str) -> str:
    """The letter to the owner of a car, as plain text.

    Raises
    ------
    RecordError : nothing is due on it.
    """
    settings = shop_settings(shop)
    head = [text for text in (settings.name, *settings.lines) if text]
    opening, rows, closing = _letter(car)
    lines = [*head, *([""] if head else [])]
    lines += [car.owner] if car.owner else []
    lines += [in_words(date.fromisoformat(today)), "", f"Service of your car: {car.name}", ""]
    for text in opening:
        lines += [*textwrap.wrap(text, WIDTH), ""]
    for row in rows:
        told = f"- {row['name']}: by {row['by']} ({row['state']})"
        lines += textwrap.wrap(told, WIDTH, subsequent_indent="  ")
    lines.append("")
    for text in closing:
        lines += [*textwrap.wrap(text, WIDTH), ""]
    return "\n".join(lines).rstrip() + "\n"


def letter_pdf(shop: Shop, car: CarDueAnswer, today: str) -> bytes:
    """The same letter on paper; raises as `letter_text`."""
    settings = shop_settings(shop)
    opening, rows, closing = _letter(car)
    data = {
        "title": f"Service of your car: {car.name}",
        "shop": settings.name,
        "shop_lines": list(settings.lines),
        "paper": settings.paper,
        "owner": car.owner,
        "date": in_words(date.fromisoformat(today)),
        "opening": opening,
        "rows": rows,
        "closing": closing,
    }
    at = datetime.fromisoformat(today).astimezone()
    return print_pdf("letter.typ", data, at=at, fonts=shop.folder / FONTS)


def _letter(car: CarDueAnswer) -> tuple[list[str], list[dict[str, str]], list[str]]:
    asked = [item for item in car.due if item.state in TOLD]
    unread = [item for item in car.due if item.state == "cannot tell" and item.last]
    if not asked and not unread:
        raise RecordError(f"nothing is due on {car.name}", remedy="see bellhousing due for what comes later")
    rows = [{"name": item.name, "by": item.by, "state": IN_WORDS[item.state]} for item in (*asked, *unread)]
    opening = ["This is due on your car, by time or by distance, whichever comes first:"]
    closing = [f"What it is for: {_reasons(asked or unread)}"]
    if unread:
        closing.append("Please read the odometer and tell us: without it we cannot say more.")
    if car.odometer:
        closing.append(f"We last read {car.odometer}.")
    closing += list(car.advice)
    return opening, rows, closing


def _reasons(items: Sequence[DueAnswer]) -> str:
    return " ".join(dict.fromkeys(item.because for item in items if item.because))
