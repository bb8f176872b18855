"""`bellhousing stock`."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from bellhousing.cli.doors import NUMBER, json_option, shop_at, shop_option, tell, tell_all

F = TypeVar("F", bound=Callable[..., Any])

NOTHING = "Nothing is in stock: bellhousing stock add front-washer '0.080 in' --box A --count 2"


def piece_options(function: F) -> F:
    """Adds what names pieces of a part: part, size, box, count and mark."""
    function = click.option("--mark", default="", help="Colour or number it is known by.")(function)
    function = click.option("--count", type=int, default=1, show_default=True)(function)
    function = click.option("--box", required=True, help="The box it is for, by name or path.")(function)
    function = click.argument("size")(function)
    return click.argument("part")(function)


@click.group("stock", invoke_without_command=True)
@click.option("--box", help="Only parts for this box.")
@shop_option
@json_option
@click.pass_context
def command(context: click.Context, box: str | None, shop_folder: Path | None, as_json: bool) -> None:
    """Selective parts on the shelf and on order; without a command, list them.

    bellhousing fits JOB chooses from what is booked here.  Nothing booked is ever changed: what there is now
    is the sum of what came and went.
    """
    if context.invoked_subcommand is None:
        from bellhousing.tasks.stocking import stock_of_shop

        found = stock_of_shop(shop_at(shop_folder), box)
        tell_all(list(found), as_json, lambda: "\n".join(entry.text for entry in found) or NOTHING)


@command.command("add")
@piece_options
@click.option("--ordered", is_flag=True, help="They are on order and will come.")
@click.option("--arrived", is_flag=True, help="They were on order and lie on the shelf now.")
@shop_option
@json_option
def add(
    part: str,
    size: str,
    box: str,
    count: int,
    mark: str,
    ordered: bool,
    arrived: bool,
    shop_folder: Path | None,
    as_json: bool,
) -> None:
    """Put pieces of a PART of a SIZE on the shelf: add front-washer '0.080 in' --box A --count 2."""
    from bellhousing.tasks import stocking

    if ordered and arrived:
        raise click.UsageError("either they are on order, or they have arrived")
    shop = shop_at(shop_folder)
    if arrived:
        answer = stocking.arrived(shop, box, part, size, count, mark=mark)
    else:
        answer = stocking.add_stock(shop, box, part, size, count, mark=mark, ordered=ordered)
    tell(answer, as_json, lambda: answer.text)


@command.command("use")
@piece_options
@click.option("--job", type=NUMBER, help="The job they were fitted on.")
@shop_option
@json_option
def use(
    part: str,
    size: str,
    box: str,
    count: int,
    mark: str,
    job: int | None,
    shop_folder: Path | None,
    as_json: bool,
) -> None:
    """Take pieces of a PART of a SIZE off the shelf."""
    from bellhousing.tasks import stocking

    answer = stocking.use_stock(shop_at(shop_folder), box, part, size, count, mark=mark, job=job)
    tell(answer, as_json, lambda: answer.text)


@command.command("count")
@click.argument("part")
@click.argument("size")
@click.option("--box", required=True, help="The box it is for, by name or path.")
@click.option("--shelf", type=int, required=True, help="How many lie on the shelf.")
@click.option("--ordered", type=int, help="How many are on order; left out, that stays as it is.")
@click.option("--mark", default="", help="Colour or number it is known by.")
@shop_option
@json_option
def count(
    part: str,
    size: str,
    box: str,
    shelf: int,
    ordered: int | None,
    mark: str,
    shop_folder: Path | None,
    as_json: bool,
) -> None:
    """Put the book right by what was counted of a PART of a SIZE."""
    from bellhousing.tasks import stocking

    answer = stocking.count_stock(shop_at(shop_folder), box, part, size, shelf, ordered, mark=mark)
    tell(answer, as_json, lambda: answer.text)
