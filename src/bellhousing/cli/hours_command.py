"""`bellhousing hours`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bellhousing.cli.doors import shop_at, tell
from bellhousing.cli.ledger_doors import common_of, reading_options, writing_options
from bellhousing.cli.lines import done, folded

if TYPE_CHECKING:
    from bellhousing.tasks.account_shapes import AccountAnswer


@click.group("hours")
def command() -> None:
    """Hours and money of a job: three authorisations, each variation, hours against estimate, the total.

    Sums the owner says yes to are with tax, prices and the rate are before it.  What goes beyond the
    authorised sum is said at once.
    """


@command.command("show")
@reading_options
def show(job: int, shop_folder: Path | None, as_json: bool) -> None:
    """Hours and money of a JOB."""
    from bellhousing.tasks import accounting

    answer = accounting.account_of_job(shop_at(shop_folder), job)
    tell(answer, as_json, lambda: _shown(answer))


@command.command("put")
@writing_options
@click.argument("hours")
@click.argument("what")
@click.option("--stage", default="", help="diagnose, open or repair; the furthest authorised without it.")
def put(job: int, hours: str, what: str, stage: str, **common: Any) -> None:
    """Put HOURS down: hours put 1 2:30 'box out'."""
    from bellhousing.tasks import accounting

    shop, as_json, sender = common_of(common)
    _tell(accounting.put_hours(shop, job, hours, what, stage=stage, **sender), as_json)


@command.command("price")
@writing_options
@click.argument("kind")
@click.argument("what")
@click.argument("sum", metavar="SUM")
def price(job: int, kind: str, what: str, sum: str, **common: Any) -> None:
    """Put something else on the bill, before tax: part, fluid, outside-work or other.

    What is on the order is on the bill by its own line.
    """
    from bellhousing.tasks import accounting

    shop, as_json, sender = common_of(common)
    _tell(accounting.put_price(shop, job, kind, what, sum, **sender), as_json)


@command.command("authorise")
@writing_options
@click.argument("stage")
@click.argument("sum", metavar="SUM")
@click.option("--by", default="", help="Who said yes.")
@click.option("--how", default="", help="How: in writing, by telephone, in person.")
@click.option("--when", default="", help="When, if not now.")
@click.option("--hours", default="", help="Hours it was said for, '9-12'; those of the plan without it.")
@click.option("--note", default="", help="In words.")
def authorise(
    job: int, stage: str, sum: str, by: str, how: str, when: str, hours: str, note: str, **common: Any
) -> None:
    """The owner's yes to a STAGE (diagnose, open, repair) up to a SUM with tax."""
    from bellhousing.tasks import accounting

    shop, as_json, sender = common_of(common)
    answer = accounting.authorise(
        shop, job, stage, sum, by=by, how=how, when=when, hours=hours, note=note, **sender
    )
    _tell(answer, as_json)


@command.command("variation")
@writing_options
@click.argument("sum", metavar="SUM")
@click.argument("why")
@click.option("--by", default="", help="Who said yes.")
@click.option("--how", default="", help="How: in writing, by telephone, in person.")
@click.option("--when", default="", help="When, if not now.")
def variation(job: int, sum: str, why: str, by: str, how: str, when: str, **common: Any) -> None:
    """The owner's yes to a SUM more with tax, and WHY."""
    from bellhousing.tasks import accounting

    shop, as_json, sender = common_of(common)
    _tell(accounting.vary(shop, job, sum, why, by=by, how=how, when=when, **sender), as_json)


@command.command("terms")
@writing_options
@click.option("--rate", default="", help="What an hour costs before tax: £80/h.")
@click.option("--tax", default="", help="Tax in per cent: 20.")
def terms(job: int, rate: str, tax: str, **common: Any) -> None:
    """Rate and tax of a JOB; they hold for later jobs until others are said."""
    from bellhousing.tasks import accounting

    shop, as_json, sender = common_of(common)
    _tell(accounting.set_terms(shop, job, rate=rate, tax=tax, **sender), as_json)


def _tell(answer: AccountAnswer, as_json: bool) -> None:
    tell(answer, as_json, lambda: done(answer.said, answer.entry, answer.warnings, f"  {answer.text}"))


def _shown(answer: AccountAnswer) -> str:
    lines = [f"Job {answer.job}: {answer.text}"]
    lines += [f"  Mind: {text}." for text in answer.warnings]
    for head, told in (
        ("Said yes to:", [one.text for one in (*answer.authorities, *answer.variations)]),
        ("Hours:", [one.text for one in answer.stages]),
        ("The bill:", [one.text for one in answer.charges]),
    ):
        if told:
            lines += ["", head, *(f"  {text}" for text in told)]
    lines += [f"Assumed: {text}." for text in answer.assumed]
    return "\n".join(folded(line) for line in lines)
