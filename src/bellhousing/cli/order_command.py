"""`bellhousing order`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bellhousing.cli.doors import shop_at, tell
from bellhousing.cli.ledger_doors import common_of, reading_options, writing_options
from bellhousing.cli.lines import done, folded

if TYPE_CHECKING:
    from bellhousing.tasks.order_shapes import OrdersAnswer

LINE = "LINE"
PLAN = "A part the strip is to reach: what that destroys is wanted too; again for each."


@click.group("order")
def command() -> None:
    """What has to be got for a job: what is wanted, what is on order, what came, what blocks the job.

    The list comes from what is off, what was decided on each part and what the fits found wanting; it is
    ordered by the numbers the box asks for.  The new is laid against the old before the old is binned.
    """


@command.command("list")
@reading_options
@click.option("--plan", "planned", multiple=True, help=PLAN)
def list_orders(job: int, planned: tuple[str, ...], shop_folder: Path | None, as_json: bool) -> None:
    """What is wanted for a JOB, what is on order, and what blocks it."""
    from bellhousing.tasks import ordering

    answer = ordering.orders_of_job(shop_at(shop_folder), job, planned=planned)
    tell(answer, as_json, lambda: _shown(answer))


@command.command("number")
@writing_options
@click.argument("name")
@click.argument("value")
def number(job: int, name: str, value: str, **common: Any) -> None:
    """A number the supplier asks for, as read off: order number 1 'casting number' '8 624 117'."""
    from bellhousing.tasks import ordering

    shop, as_json, sender = common_of(common)
    _tell(ordering.note_number(shop, job, name, value, **sender), as_json)


@command.command("add")
@writing_options
@click.argument("what", metavar="LINE_OR_NAME")
@click.option("--count", type=click.IntRange(1, 1000), help="How many; as wanted without it.")
@click.option("--hard", is_flag=True, help="A hard part: its old one is offered back.")
@click.option("--why", default="", help="What it is needed for.")
@click.option("--plan", "planned", multiple=True, help=PLAN)
def add(
    job: int, what: str, count: int | None, hard: bool, why: str, planned: tuple[str, ...], **common: Any
) -> None:
    """Put something on the order: a LINE of `order list`, all of them, or anything else by its name."""
    from bellhousing.tasks import ordering

    shop, as_json, sender = common_of(common)
    answer = ordering.add_line(shop, job, what, count=count, hard=hard, why=why, planned=planned, **sender)
    _tell(answer, as_json)


@command.command("status")
@writing_options
@click.argument("line", metavar=LINE)
@click.argument("status")
@click.option("--supplier", default="", help="From whom.")
@click.option("--price", default="", help="Of the whole line, before tax.")
@click.option("--promised", default="", help="The day it was promised for: 2026-06-01, in 3 weeks.")
@click.option("--note", default="", help="In words.")
@click.option("--without-numbers", default="", help="Why it is ordered although numbers are not read off.")
def status(
    job: int,
    line: str,
    status: str,
    supplier: str,
    price: str,
    promised: str,
    note: str,
    without_numbers: str,
    **common: Any,
) -> None:
    """How a LINE stands: to-order, ordered, sent, fitted, returned or cancelled."""
    from bellhousing.tasks import ordering

    shop, as_json, sender = common_of(common)
    answer = ordering.set_status(
        shop,
        job,
        line,
        status,
        supplier=supplier,
        price=price,
        promised=promised,
        note=note,
        without_numbers=without_numbers,
        **sender,
    )
    _tell(answer, as_json)


@command.command("arrived")
@writing_options
@click.argument("line", metavar=LINE)
@click.argument("check")
@click.option("--note", default="", help="In what it differs.")
def arrived(job: int, line: str, check: str, note: str, **common: Any) -> None:
    """A LINE came and was laid against the old one: same, differs or no-old-part."""
    from bellhousing.tasks import ordering

    shop, as_json, sender = common_of(common)
    _tell(ordering.note_arrival(shop, job, line, check, note=note, **sender), as_json)


@command.command("old")
@writing_options
@click.argument("line", metavar=LINE)
@click.argument("what")
@click.option("--note", default="", help="In words.")
def old(job: int, line: str, what: str, note: str, **common: Any) -> None:
    """What became of the old part: kept, offered, taken-by-owner, declined, sent-in-exchange, scrapped."""
    from bellhousing.tasks import ordering

    shop, as_json, sender = common_of(common)
    _tell(ordering.note_old_part(shop, job, line, what, note=note, **sender), as_json)


def _tell(answer: OrdersAnswer, as_json: bool) -> None:
    tell(answer, as_json, lambda: done(answer.said, answer.entry, answer.warnings))


def _shown(answer: OrdersAnswer) -> str:
    lines = [f"Job {answer.job}, {answer.box}"]
    lines += [f"  {one.name}: {one.value or 'not read off yet'}" for one in answer.numbers]
    for hardness, head in (("soft", "Wanted, soft kit:"), ("hard", "Wanted, hard parts:")):
        wanted = [need for need in answer.wanted if need.hardness == hardness]
        if wanted:
            lines += ["", head]
            lines += [f"  {need.count} × {need.name} [{need.line}]  {need.why}" for need in wanted]
    if answer.lines:
        lines += ["", "On the order:", *(f"  {line.text}  [{line.line}]" for line in answer.lines)]
    if not answer.wanted and not answer.lines:
        lines += ["", "Nothing is wanted and nothing is on order."]
    lines += ["", answer.blocked]
    lines += [f"  {line.text}" for line in answer.blocking]
    lines += [f"Offer the old {name} back to the owner." for name in answer.offer_back]
    lines += [f"Of the fits: {note}" for note in answer.notes]
    return "\n".join(folded(line) for line in lines)
