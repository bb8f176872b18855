"""`bellhousing bolt`."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

from bellhousing.cli.doors import json_option, tell
from bellhousing.cli.lines import folded, told

F = TypeVar("F", bound=Callable[..., Any])


def finish_option(function: F) -> F:
    """Adds --finish."""
    return click.option(
        "--finish",
        default="oiled",
        show_default=True,
        help="dry, oiled, zinc plated or phosphated and oiled.",
    )(function)


def grade_option(function: F) -> F:
    """Adds --grade."""
    return click.option("--grade", default="5", show_default=True, help="2, 5, 8, 8.8 or 10.9.")(function)


def hole_options(function: F) -> F:
    """Adds what describes a tapped hole."""
    for name, kind, says in (
        ("--damaged", {"default": "0", "show_default": True}, "Threads seen torn or pulled."),
        ("--metal", {"default": "cast aluminium", "show_default": True}, "What the hole is tapped in."),
        ("--engagement", {"required": True}, "Length of full thread the bolt takes hold of."),
    ):
        function = click.option(name, help=says, **kind)(function)
    return function


@click.group("bolt")
def command() -> None:
    """Bolts: torque and preload, tapped holes, order of tightening."""


@command.command("torque")
@click.argument("thread")
@click.option(
    "--torque", help="For example '30 lb ft'; without it, that of three quarters of proof strength."
)
@click.option("--length", help="Length clamped; shows the turn from snug on as well.")
@finish_option
@grade_option
@json_option
def torque(
    thread: str, torque: str | None, length: str | None, finish: str, grade: str, as_json: bool
) -> None:
    """What a torque pulls on a THREAD such as 3/8-16 or M8."""
    from bellhousing.tasks import bolting

    answer = bolting.torque(thread, wanted=torque, finish=finish, grade=grade, clamped=length)
    tell(answer, as_json, lambda: told([answer.text], answer.cautions, answer.assumed))


@command.command("thread")
@click.argument("thread")
@json_option
def thread(thread: str, as_json: bool) -> None:
    """The sizes a THREAD is known by, and its hole before tapping."""
    from bellhousing.tasks import bolting

    answer = bolting.thread(thread)
    tell(answer, as_json, lambda: folded(answer.text))


@command.command("hole")
@click.argument("thread")
@click.option("--torque", required=True, help="For example '30 lb ft'.")
@hole_options
@finish_option
@grade_option
@json_option
def hole(
    thread: str,
    torque: str,
    engagement: str,
    metal: str,
    damaged: str,
    finish: str,
    grade: str,
    as_json: bool,
) -> None:
    """Whether a tapped hole bears a torque, and what to do where it does not."""
    from bellhousing.tasks import bolting

    answer = bolting.hole(
        thread, engagement, torque, metal=metal, damaged=damaged, finish=finish, grade=grade
    )
    tell(answer, as_json, lambda: told([answer.text], answer.cautions, answer.assumed))


@command.command("order")
@click.argument("bolts", type=int)
@click.option("--torque", help="Shows the torques of the rounds.")
@click.option(
    "--rows", type=int, default=0, help="A cover with its bolts in so many rows, from the middle out."
)
@json_option
def order(bolts: int, torque: str | None, rows: int, as_json: bool) -> None:
    """In which order the BOLTS of a round flange, or of a cover, are tightened.

    They are numbered round a flange, and along each row of a cover.
    """
    from bellhousing.tasks import bolting

    answer = bolting.order(bolts, torque, rows=rows)
    tell(answer, as_json, lambda: folded(answer.text))
