"""`bellhousing fits`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import JOB_OR_FILE, job_number, json_option, shop_at, shop_option, tell
from bellhousing.cli.lines import folded
from bellhousing.cli.rules import rule_of, rule_options

if TYPE_CHECKING:
    from bellhousing.tasks.fits_shapes import FitsAnswer, PieceAnswer, StackAnswer


@click.command("fits")
@click.argument("job_or_file", metavar=JOB_OR_FILE)
@rule_options
@click.option("--budget", is_flag=True, help="Show the members of each stack, their shares, and the rule.")
@shop_option
@json_option
def command(
    job_or_file: str,
    rule_name: str | None,
    confidence: str | None,
    budget: bool,
    shop_folder: Path | None,
    as_json: bool,
) -> None:
    """Which washer, snap ring, backing plate, steel and pin go where, all stacks at once, and what to order.

    A fits file lists `stacks` (window, members that open or close the gap) and `stock` (parts with their
    sizes and how many there are); it needs no database.  For a job the stacks are those of its box, set by
    what was measured on it, and the parts are those of bellhousing stock and the box file.  The old part and
    the new one are shown as a sum: check it first.
    """
    from bellhousing.tasks import fits

    number, rule = job_number(job_or_file), rule_of(rule_name, confidence)
    if number is None:
        answer = fits.fits_of_file(Path(job_or_file), rule=rule)
    else:
        answer = fits.fits_of_job(shop_at(shop_folder), number, rule=rule)
    tell(answer, as_json, lambda: _shown(answer, budget))


def _shown(answer: FitsAnswer, budget: bool = False) -> str:
    from bellhousing.quantities.odds import in_100

    lines: list[str] = []
    for entry in answer.stacks:
        lines += [*_stack(entry), *(_budget(entry) if budget else ()), ""]
    if answer.buy:
        bought = "; ".join(_piece(piece) for piece in answer.buy)
        lines.append(f"To buy: {bought}. Together {answer.price:.2f}.")
    if sum(entry.fits for entry in answer.stacks) > 1:
        lines.append(f"All of them inside at once: {in_100(answer.joint)}.")
    lines += [f"Not fitted again, {text}." for text in answer.left_out]
    lines += [f"{text}." for text in answer.notes]
    lines.append("Nothing better exists." if answer.proven else "Time ran out: something better may exist.")
    if budget:
        lines.append(f"Rule: {answer.rule}.")
    return "\n".join(folded(line) for line in lines)


def _stack(entry: StackAnswer) -> list[str]:
    lines = [f"{entry.name} ({entry.basis})"]
    if entry.fits:
        lines += [f"  Fit {_piece(piece)}{_from(piece)}." for piece in entry.parts]
        lines += [f"  {text}" for text in entry.arithmetic]
        if entry.spread is not None:
            lines.append(f"  {entry.spread.text}")
        lines.append(f"  Clearance {entry.shown}: {entry.verdict}.")
        return lines
    lines.append(f"  Nothing fits: {entry.why}.")
    lines += [f"  {'Or ' if place else 'Then '}{order.text}." for place, order in enumerate(entry.orders)]
    return lines


def _budget(entry: StackAnswer) -> list[str]:
    if entry.uncertainty is None:
        return []
    lines = [f"  Standard uncertainty of the clearance {entry.uncertainty:.3g} {entry.unit}"]
    if entry.spread is not None:
        lines += [
            f"    {member.name}: {member.size:g} ± {member.tolerance:.3g} {entry.unit}, "
            f"{100 * member.share:.0f} in 100"
            for member in entry.spread.members
        ]
    return lines


def _piece(piece: PieceAnswer) -> str:
    mark = f" ({piece.mark})" if piece.mark else ""
    count = f"{piece.count} × " if piece.count > 1 else ""
    return f"{count}{piece.name} {piece.shown}{mark}"


def _from(piece: PieceAnswer) -> str:
    told = []
    if piece.on_order:
        told.append(f"{piece.on_order} on order" if piece.count > 1 else "on order")
    if piece.bought:
        told.append(f"{piece.bought} to buy" if piece.count > 1 else "to buy")
    return f", {', '.join(told)}" if told else ""
