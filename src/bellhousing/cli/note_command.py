"""`bellhousing note`."""

from __future__ import annotations

from pathlib import Path

import click

from bellhousing.cli.doors import NUMBER, json_option, leave_not_understood, shop_at, shop_option, tell


@click.command("note")
@click.argument("job", type=NUMBER)
@click.argument("words", nargs=-1, metavar="TEXT...")
@click.option("--correct", type=NUMBER, help="Number of the finding this one replaces.")
@click.option("--withdraw", type=NUMBER, help="Number of a finding to take back; TEXT says why.")
@shop_option
@json_option
@click.pass_context
def command(
    context: click.Context,
    job: int,
    words: tuple[str, ...],
    correct: int | None,
    withdraw: int | None,
    shop_folder: Path | None,
    as_json: bool,
) -> None:
    """Write down on JOB what was found, in the trade's own words.

    What is understood is shown; what is not is kept as a note and says so (exit status 1).  A finding is
    never overwritten: --correct and --withdraw add an entry that points at the old one.  A closed job is
    opened again before anything is written on it.
    """
    from bellhousing.cli import show
    from bellhousing.tasks import noting

    if correct is not None and withdraw is not None:
        raise click.UsageError("use --correct or --withdraw, not both")
    text = " ".join(words)
    shop = shop_at(shop_folder)
    if withdraw is not None:
        answer = noting.withdraw(shop, job, withdraw, text)
    elif correct is not None:
        answer = noting.correct(shop, job, correct, text)
    else:
        answer = noting.note(shop, job, text)
    tell(answer, as_json, lambda: "\n".join(show.noted(answer)))
    leave_not_understood(context, answer.problems, as_json)
