"""What the commands of the book of work share: who did it, which entry it corrects, and how it is told."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

import click

from bellhousing.cli.doors import NUMBER, json_option, shop_at, shop_option, tell
from bellhousing.cli.lines import done, folded

if TYPE_CHECKING:
    from bellhousing.tasks.ledger_shapes import FlangeAnswer, LedgerAnswer, OpenAnswer
    from bellhousing.tasks.shop import Shop
    from bellhousing.tasks.work_book import BookLine

F = TypeVar("F", bound=Callable[..., Any])


def writing_options(function: F) -> F:
    """Adds --who, --corrects, --key, --shop and --json, and the number of the job."""
    function = json_option(shop_option(function))
    function = click.option("--key", help="Made by the sender: sent twice it is kept once.")(function)
    function = click.option(
        "--corrects", type=NUMBER, help="The entry this is put in place of; both stay in the book."
    )(function)
    function = click.option("--who", default="shop", show_default=True, help="Who did it.")(function)
    return click.argument("job", type=NUMBER)(function)


def reading_options(function: F) -> F:
    """Adds --shop and --json, and the number of the job."""
    return click.argument("job", type=NUMBER)(json_option(shop_option(function)))


def common_of(common: dict[str, Any]) -> tuple[Shop, bool, dict[str, Any]]:
    """The shop, whether JSON is wanted, and who sends."""
    sender = {name: common[name] for name in ("who", "key", "corrects")}
    return shop_at(common["shop_folder"]), bool(common["as_json"]), sender


def tell_ledger(answer: LedgerAnswer, as_json: bool) -> None:
    """Print what a command did and what to mind; with --json the whole ledger."""
    tell(answer, as_json, lambda: done(answer.said, answer.entry, answer.warnings))


def shown(answer: LedgerAnswer, flange: str | None = None) -> str:
    """The five lines, then each flange and part that anything happened to, then what is open."""
    if flange is not None:
        return "\n".join(folded(line) for one in answer.flanges if one.slug == flange for line in whole(one))
    lines = [f"Job {answer.job}, {answer.car}, {answer.box}", *(f"  {line}" for line in answer.five), ""]
    touched = [one for one in answer.flanges if one.touched]
    lines += [f"{one.slug}: {one.count.text}" for one in touched]
    lines += [
        f"{part.slug}: {part.balls.text}"
        for part in answer.parts
        if part.balls is not None and part.balls.never_out < part.balls.drawn
    ]
    off = [f"{part.name} (since {part.since}, {part.by})" for part in answer.parts if part.off]
    if off:
        lines.append(f"Off: {', '.join(off)}")
    lines += [
        f"Bag {bag.tag}: {bag.count} of {bag.flange or '?'}; {bag.place or 'no place noted'}"
        for bag in answer.bags
    ]
    lines += ["", *open_lines(answer.open, answer.closed_by_reason)]
    lines += [f"Entry {one.entry} ({one.subject}) moved nothing: {one.why}" for one in answer.ignored]
    return "\n".join(folded(line) for line in lines).replace("\n\n\n", "\n\n")


def whole(flange: FlangeAnswer) -> list[str]:
    """One flange, hole by hole."""
    seen = f", seen from {flange.seen_from}" if flange.seen_from else ""
    lines = [f"{flange.name} ({flange.slug}){seen}: {flange.count.text}"]
    for hole in flange.holes:
        drawn = [hole.length, hole.washer, hole.sealant]
        shared = f"shared with {hole.shared_with}" if hole.shared_with else ""
        hidden = f"hidden: {hole.hidden}" if hole.hidden else ""
        told = ", ".join(text for text in (*drawn, shared, hidden, hole.note) if text)
        lines.append(f"  {hole.number:>2}  {hole.text}" + (f"  ({told})" if told else ""))
    if flange.jack_bolts:
        lines.append(f"      {flange.jack_bolts} puller bolts are in")
    if flange.washers_needed:
        lines.append(f"      {flange.washers_new} of {flange.washers_needed} sealing washers are new")
    return lines


def open_lines(items: Sequence[OpenAnswer], closed: Sequence[OpenAnswer] = ()) -> list[str]:
    """What is open, with what answers it, and what a written reason closed."""
    if not items and not closed:
        return ["Nothing is open."]
    lines = [f"Open: {len(items)}"] if items else ["Nothing is open without a reason."]
    for item in items:
        where = f" ({item.where})" if item.where else ""
        lines.append(f"  {item.what}{where}: {item.next}")
        lines.append(f"      [{item.id}]  {item.why}".rstrip())
    lines += [f"  closed by a reason: {item.what}: “{item.reason}”" for item in closed]
    return lines


def book_text(lines: Sequence[BookLine]) -> str:
    """The book of work, entry by entry; what was corrected or withdrawn is marked."""
    told = [
        f"{line.number:>4}  {line.at[:16].replace('T', ' ')}  {line.who}: {line.text}"
        + ("" if line.stands else "  [no longer counts]")
        for line in lines
    ]
    return "\n".join(folded(line) for line in told) or "The book is empty."
