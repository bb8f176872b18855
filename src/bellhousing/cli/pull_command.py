"""`bellhousing pull`."""

from __future__ import annotations

import click

from bellhousing.cli.bolt_command import finish_option, grade_option, hole_options
from bellhousing.cli.doors import json_option, tell
from bellhousing.cli.lines import told


@click.command("pull")
@click.argument("thread", default="3/8-16")
@click.option("--apart", required=True, help="Distance between the two holes.")
@click.option("--turns", nargs=2, metavar="FIRST SECOND", help="Turns given to each screw so far.")
@click.option("--felt", nargs=2, metavar="FIRST SECOND", help="Torque last felt on each.")
@hole_options
@finish_option
@grade_option
@json_option
def command(
    thread: str,
    apart: str,
    turns: tuple[str, str] | None,
    felt: tuple[str, str] | None,
    engagement: str,
    metal: str,
    damaged: str,
    finish: str,
    grade: str,
    as_json: bool,
) -> None:
    """Pull a part with two screws in its opposed holes: largest safe torque, quarter turns alternately.

    With --turns and --felt it says which screw is next, or to stop and look.  3/8-16 is common practice;
    try the thread by hand first.
    """
    from bellhousing.tasks import bolting

    answer = bolting.pull(
        thread,
        engagement,
        apart,
        metal=metal,
        damaged=damaged,
        finish=finish,
        grade=grade,
        turns=turns or None,
        felt=felt or None,
    )
    lines = [answer.text]
    lines += [f"  Now: {answer.now}"] if answer.now else [f"  {step}" for step in answer.steps]
    tell(answer, as_json, lambda: told(lines, answer.cautions, answer.assumed))
