"""`bellhousing learn`."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import NUMBER, json_option, shop_at, shop_option, tell
from bellhousing.cli.lines import WIDTH

if TYPE_CHECKING:
    from bellhousing.tasks.learn_shapes import LearnAnswer

MOST_SHOWN = 20


@click.command("learn")
@click.option(
    "--use", type=click.Choice(["on", "off"]), help="Use the shop's own closed jobs, or leave them."
)
@click.option("--forget", type=NUMBER, help="Learn no more from this job.")
@click.option("--recall", type=NUMBER, help="Learn again from this job.")
@click.option(
    "--export", "out", type=click.Path(path_type=Path), help="Write the shop's counts to a new file."
)
@click.option("--import", "taken", type=click.Path(path_type=Path), help="Take in the counts of a file.")
@click.option("--take-back", help="Take a tally back, by the start of its digest.")
@shop_option
@json_option
def command(
    use: str | None,
    forget: int | None,
    recall: int | None,
    out: Path | None,
    taken: Path | None,
    take_back: str | None,
    shop_folder: Path | None,
    as_json: bool,
) -> None:
    """What closed jobs have taught: which figures moved, from what to what, and on how many counts.

    A job counts once it is closed with its causes confirmed (bellhousing job close N --cause CAUSE). A tally
    holds counts by fault and by what findings showed, and nothing else: no names, dates or job numbers.
    """
    from bellhousing.tasks import learning

    given = [value for value in (use, forget, recall, out, taken, take_back) if value is not None]
    if len(given) > 1:
        raise click.UsageError("one thing at a time")
    shop = shop_at(shop_folder)
    if use is not None:
        answer = learning.use_own(shop, use == "on")
    elif forget is not None:
        answer = learning.forget(shop, forget)
    elif recall is not None:
        answer = learning.recall(shop, recall)
    elif out is not None:
        answer = learning.export_tally(shop, out)
    elif taken is not None:
        answer = learning.import_tally(shop, taken)
    elif take_back is not None:
        answer = learning.take_back(shop, take_back)
    else:
        answer = learning.learning(shop)
    tell(answer, as_json, lambda: _shown(answer))


def _shown(answer: LearnAnswer) -> str:
    from bellhousing.cli.show import table

    lines = [answer.said, ""] if answer.said else []
    used = "used" if answer.own_used else "not used (bellhousing learn --use on)"
    counted = [job for job in answer.jobs if not job.forgotten]
    lines.append(f"The shop's own closed jobs are {used}: {len(counted)} with their causes confirmed.")
    if not answer.jobs:
        lines.append("Close a job with its causes: bellhousing job close N --cause CAUSE.")
    for job in answer.jobs:
        lines.append(f"  Job {job.job}: {', '.join(job.causes)}{' (forgotten)' if job.forgotten else ''}")
    for tally in answer.tallies:
        fits = "" if tally.counts else " (no longer fits)"
        lines.append(f"  Tally {tally.digest[:12]}: {_cars(tally.cars)}{fits}")
    lines.append(answer.prior)
    for kind in answer.kinds:
        lines += [
            "",
            f"{kind.kind.capitalize()}: {_cars(kind.cars)} {'counts' if kind.cars == 1 else 'count'}",
        ]
        counted_first = [entry for entry in kind.moved if entry.counted][:MOST_SHOWN]
        rows = [
            (
                textwrap.shorten(entry.what, 58, placeholder="…"),
                f"{100 * entry.before:.2f}",
                f"{100 * entry.after:.2f} ± {100 * entry.spread:.2f} in 100",
                f"{entry.counted} of {entry.of}",
            )
            for entry in counted_first
        ]
        lines += [f"  {line}" for line in table(rows).splitlines()]
        left = len(kind.moved) - len(rows)
        if left:
            lines.append(
                f"  {left} more figures moved less, or only because others were counted (see --json)."
            )
    return "\n".join(_folded(line) for line in lines)


def _folded(line: str) -> str:
    if len(line) <= WIDTH or " in 100  " in line:
        return line
    return textwrap.fill(line, WIDTH, subsequent_indent=" " * (len(line) - len(line.lstrip())))


def _cars(count: int) -> str:
    return f"{count} car" if count == 1 else f"{count} cars"
