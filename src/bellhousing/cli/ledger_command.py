"""`bellhousing ledger`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from bellhousing.cli.doors import NUMBER, shop_at, tell, tell_all
from bellhousing.cli.ledger_doors import (
    book_text,
    common_of,
    open_lines,
    reading_options,
    shown,
    tell_ledger,
    writing_options,
)

POCKET = "The number is of a pocket of check balls, not of a hole."
HOLES = "Numbers of the holes, '1,2,5' or '1-4'; all as drawn without it."


@click.group("ledger")
def command() -> None:
    """Bolts, balls, seals and parts of a job: nothing lost, nothing left over.

    One word ticks all bolts of a flange as drawn; only what is not as drawn gets a line of its own, and that
    line wants an answer.  Nothing is ever overwritten: --corrects ENTRY puts an entry in place of another.
    """


@command.command("show")
@reading_options
@click.option("--flange", help="Only this flange, hole by hole.")
def show(job: int, flange: str | None, shop_folder: Path | None, as_json: bool) -> None:
    """Everything counted on a JOB: five lines, flanges, parts, bags, what is open."""
    from bellhousing.tasks import ledger
    from bellhousing.tasks.work_book import find_flange, read_book

    shop = shop_at(shop_folder)
    slug = None if flange is None else find_flange(read_book(shop, job).need_tree(), flange).slug
    answer = ledger.ledger_of_job(shop, job)
    tell(answer, as_json, lambda: shown(answer, slug))


@command.command("open")
@reading_options
def still_open(job: int, shop_folder: Path | None, as_json: bool) -> None:
    """What keeps a JOB from being closed, and what answers each."""
    from bellhousing.cli.lines import folded
    from bellhousing.tasks import ledger

    answer = ledger.open_on_job(shop_at(shop_folder), job)
    tell(
        answer,
        as_json,
        lambda: "\n".join(folded(line) for line in open_lines(answer.open, answer.closed_by_reason)),
    )


@command.command("out")
@writing_options
@click.argument("flange")
@click.option("--holes", default="all", help=HOLES)
@click.option("--bag", "tag", help="They went into this bag; its tag, such as B1.")
@click.option("--place", default="", help="Where the bag lies.")
def out(job: int, flange: str, holes: str, tag: str | None, place: str, **common: Any) -> None:
    """Bolts of a FLANGE came out: ledger out 1 'pump ring' --bag B1 --place 'shelf 3'."""
    from bellhousing.tasks import ledger

    shop, as_json, sender = common_of(common)
    kind = "bolts-out" if tag is None and not place else "bolts-bagged"
    tell_ledger(ledger.tick(shop, job, kind, flange, holes, tag=tag or "", place=place, **sender), as_json)


@command.command("back")
@writing_options
@click.argument("flange")
@click.option("--holes", default="all", help=HOLES)
def back(job: int, flange: str, holes: str, **common: Any) -> None:
    """Bolts of a FLANGE are in again; those with an open line only if named or answered."""
    from bellhousing.tasks import ledger

    shop, as_json, sender = common_of(common)
    tell_ledger(ledger.tick(shop, job, "bolts-back", flange, holes, **sender), as_json)


@command.command("except")
@writing_options
@click.argument("where", metavar="FLANGE_OR_PART")
@click.argument("number", type=NUMBER)
@click.argument("what")
@click.option("--note", default="", help="In words.")
@click.option("--where", "where_now", default="", help="Where the bolt is now.")
@click.option("--pocket", is_flag=True, help=POCKET)
def exception(
    job: int, where: str, number: int, what: str, note: str, where_now: str, pocket: bool, **common: Any
) -> None:
    """A hole is not as drawn: missing-on-arrival, wrong-length, stripped, shared-and-out or other.

    ledger except 1 'pump ring' 6 shared-and-out --where 'with the filler tube'
    """
    from bellhousing.tasks import ledger

    shop, as_json, sender = common_of(common)
    answer = ledger.note_exception(
        shop, job, where, number, what, note=note, where_now=where_now, pocket=pocket, **sender
    )
    tell_ledger(answer, as_json)


@command.command("answer")
@writing_options
@click.argument("where", metavar="FLANGE_OR_PART")
@click.argument("number", type=NUMBER)
@click.argument("how")
@click.option("--note", default="", help="In words; a reason needs them.")
@click.option("--what", default="", help="Only the exception of this kind.")
@click.option("--pocket", is_flag=True, help=POCKET)
def answer(
    job: int, where: str, number: int, how: str, note: str, what: str, pocket: bool, **common: Any
) -> None:
    """Answer what is open at a hole: refitted, replaced, thread-insert, or reason with --note."""
    from bellhousing.tasks import ledger

    shop, as_json, sender = common_of(common)
    found = ledger.answer_exception(
        shop, job, where, number, how, note=note, what=what, pocket=pocket, **sender
    )
    tell_ledger(found, as_json)


@command.command("balls")
@writing_options
@click.argument("part")
@click.argument("which", type=click.Choice(["out", "back"]))
@click.option("--pockets", default="all", help="Numbers of the pockets; all as drawn without it.")
def balls(job: int, part: str, which: str, pockets: str, **common: Any) -> None:
    """Check balls of a PART came out of their pockets, or lie in them again."""
    from bellhousing.tasks import ledger

    shop, as_json, sender = common_of(common)
    tell_ledger(ledger.tick_balls(shop, job, f"ball-{which}", part, pockets, **sender), as_json)


@command.command("puller")
@writing_options
@click.argument("flange")
@click.argument("which", type=click.Choice(["in", "out"]))
@click.option("--left", type=click.IntRange(0, 20), default=0, help="How many are still in.")
def puller(job: int, flange: str, which: str, left: int, **common: Any) -> None:
    """Puller bolts went into their holes, or came out again."""
    from bellhousing.tasks import ledger

    shop, as_json, sender = common_of(common)
    tell_ledger(ledger.puller(shop, job, flange, into=which == "in", left=left, **sender), as_json)


@command.command("renew")
@writing_options
@click.argument("what", metavar="SEAL_OR_FLANGE")
@click.option("--count", type=click.IntRange(0, 1000), help="How many are new, all told; all without it.")
def renew(job: int, what: str, count: int | None, **common: Any) -> None:
    """One-use parts are new: a seal by its name, or the sealing washers of a flange."""
    from bellhousing.tasks import ledger

    shop, as_json, sender = common_of(common)
    tell_ledger(ledger.renewed(shop, job, what, count, **sender), as_json)


@command.command("off")
@writing_options
@click.argument("part")
@click.option("--note", default="", help="Where it lies.")
def off(job: int, part: str, note: str, **common: Any) -> None:
    """A PART came off: ledger off 1 'front pump' --note 'tray 1'."""
    _move(job, part, True, note, common)


@command.command("on")
@writing_options
@click.argument("part")
@click.option("--note", default="")
def on(job: int, part: str, note: str, **common: Any) -> None:
    """A PART is on again."""
    _move(job, part, False, note, common)


def _move(job: int, part: str, off: bool, note: str, common: dict[str, Any]) -> None:
    from bellhousing.tasks import ledger_parts

    shop, as_json, sender = common_of(common)
    tell_ledger(ledger_parts.move_part(shop, job, part, off=off, note=note, **sender), as_json)


@command.command("before")
@writing_options
@click.argument("part")
@click.argument("measure")
@click.argument("value", default="")
@click.option("--declined", default="", help="Why it was not measured, from the short list.")
def before(job: int, part: str, measure: str, value: str, declined: str, **common: Any) -> None:
    """What was measured before a PART came off: ledger before 1 'front pump' front-end-play '0.019 in'."""
    from bellhousing.tasks import ledger_parts

    shop, as_json, sender = common_of(common)
    found = ledger_parts.note_baseline(shop, job, part, measure, value=value, declined=declined, **sender)
    tell_ledger(found, as_json)


@command.command("bag")
@writing_options
@click.argument("tag")
@click.argument("place")
@click.option("--flange", default="", help="The flange whose bolts are in it.")
def bag(job: int, tag: str, place: str, flange: str, **common: Any) -> None:
    """Where a bag or tray lies: ledger bag 1 B1 'shelf 3'."""
    from bellhousing.tasks import ledger_parts

    shop, as_json, sender = common_of(common)
    tell_ledger(ledger_parts.note_bag(shop, job, tag, place, flange=flange, **sender), as_json)


@command.command("part")
@writing_options
@click.argument("part")
@click.argument("condition")
@click.argument("decision")
@click.option("--reason", default="", help="Why.")
@click.option("--number", default="", help="What was measured.")
def part(job: int, part: str, condition: str, decision: str, reason: str, number: str, **common: Any) -> None:
    """The CONDITION of a PART in words, and the DECISION: reuse, replace or machine."""
    from bellhousing.tasks.part_looks import look_at_part

    shop, as_json, sender = common_of(common)
    found = look_at_part(shop, job, part, condition, decision, reason=reason, number=number, **sender)
    tell_ledger(found, as_json)


@command.command("reason")
@writing_options
@click.argument("item")
@click.argument("text")
def reason(job: int, item: str, text: str, **common: Any) -> None:
    """Close one open ITEM, as `ledger open` names it, by a reason in writing."""
    from bellhousing.tasks import ledger_parts

    shop, as_json, sender = common_of(common)
    tell_ledger(ledger_parts.give_reason(shop, job, item, text, **sender), as_json)


@command.command("tag")
@reading_options
@click.argument("tag", default="")
@click.option("--file", "path", type=click.Path(path_type=Path), help="Write it as .svg or .pdf.")
@click.option("--address", help="Where Bellhousing is reached by the tablet, such as http://shop.local:8350.")
def tag(
    job: int, tag: str, path: Path | None, address: str | None, shop_folder: Path | None, as_json: bool
) -> None:
    """The tag of a bag, or of every bag with bolts in it: in words, and to print with --file."""
    from bellhousing.errors import InputFileError
    from bellhousing.tasks import tagging
    from bellhousing.tasks.new_file import write_new

    base = address or tagging.HERE
    shop = shop_at(shop_folder)
    found = (
        (tagging.tag_of_bag(shop, job, tag, base=base),) if tag else tagging.tags_of_job(shop, job, base=base)
    )
    if path is not None:
        if path.suffix.lower() not in (".svg", ".pdf"):
            raise InputFileError("a tag is written as .svg or .pdf", where=str(path), remedy="name it so")
        if not found:
            raise InputFileError(
                "no bag holds any bolts", where=f"job {job}", remedy="ledger out JOB FLANGE --bag B1"
            )
        svg = tagging.drawn_tags(found)
        write_new(path, tagging.printed(svg) if path.suffix.lower() == ".pdf" else svg.encode())
    written = "" if path is None else f"\nWritten to {path}."
    tell_all(
        list(found),
        as_json,
        lambda: (
            "\n\n".join("\n".join((*one.lines, one.address)) for one in found) + written
            or "No bag holds any bolts: ledger out JOB FLANGE --bag B1"
        ),
    )


@command.command("book")
@reading_options
@click.option("--entry", type=NUMBER, help="Only the chain of corrections this entry belongs to.")
def book(job: int, entry: int | None, shop_folder: Path | None, as_json: bool) -> None:
    """Every entry of the book of work of a JOB, those corrected and withdrawn among them."""
    from bellhousing.tasks.work_book import book_lines

    lines = book_lines(shop_at(shop_folder), job, entry)
    tell_all(list(lines), as_json, lambda: book_text(lines))


@command.command("withdraw")
@reading_options
@click.argument("entry", type=NUMBER)
@click.argument("why", metavar="REASON")
@click.option("--who", default="shop", show_default=True)
def withdraw(job: int, entry: int, why: str, who: str, shop_folder: Path | None, as_json: bool) -> None:
    """An ENTRY no longer counts, for a REASON; it stays in the book."""
    from bellhousing.tasks.work_book import withdraw_work

    lines = withdraw_work(shop_at(shop_folder), job, entry, why, who=who)
    tell_all(list(lines), as_json, lambda: book_text(lines))
