"""`bellhousing build`."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import NUMBER, json_option, shop_at, shop_option, tell
from bellhousing.cli.lines import WIDTH

if TYPE_CHECKING:
    from bellhousing.tasks.building_shapes import BuildAnswer, BuildStepAnswer, GateAnswer

MARKS = {"passed": "x", "failed": "!", "passed over": "~", "open": " "}


@click.group("build", invoke_without_command=False)
def command() -> None:
    """Building up again on JOB: the order, torques by rounds, and gates that want a number."""


@command.command("show")
@click.argument("job", type=NUMBER)
@click.option(
    "--all", "everything", is_flag=True, help="Say of every step what to mind, not of the next only."
)
@shop_option
@json_option
def show(job: int, everything: bool, shop_folder: Path | None, as_json: bool) -> None:
    """Show what goes back in which order on JOB, and the next thing."""
    from bellhousing.tasks import building

    answer = building.building(shop_at(shop_folder), job)
    tell(answer, as_json, lambda: "\n".join(_shown(answer, everything)))


@command.command("gate")
@click.argument("job", type=NUMBER)
@click.argument("gate")
@click.argument("words", nargs=-1, required=True, metavar="TEXT...")
@click.option("--by", "who", default="shop", show_default=True, help="Who measured or checked.")
@shop_option
@json_option
def gate(
    job: int, gate: str, words: tuple[str, ...], who: str, shop_folder: Path | None, as_json: bool
) -> None:
    """Note on JOB what GATE showed: a figure such as "0.015 in", "done", or "no, and what is wrong"."""
    from bellhousing.tasks import building

    answer = building.note_gate(shop_at(shop_folder), job, gate, " ".join(words), who=who)
    tell(answer, as_json, lambda: f"{answer.said}\n{answer.next}")


@command.command("torque")
@click.argument("job", type=NUMBER)
@click.argument("flange")
@click.option("--round", "step", type=click.IntRange(1, 9), help="One round; all that are left without it.")
@click.option("--by", "who", default="shop", show_default=True, help="Who had the wrench.")
@shop_option
@json_option
def torque(
    job: int, flange: str, step: int | None, who: str, shop_folder: Path | None, as_json: bool
) -> None:
    """Note on JOB that the fasteners of FLANGE were torqued."""
    from bellhousing.tasks import building

    answer = building.note_torque(shop_at(shop_folder), job, flange, step, who=who)
    tell(answer, as_json, lambda: f"{answer.said}\n{answer.next}")


@command.command("returned")
@click.argument("job", type=NUMBER)
@shop_option
@json_option
def returned(job: int, shop_folder: Path | None, as_json: bool) -> None:
    """Say what earlier work on the car of JOB may have to do with its coming back."""
    from bellhousing.tasks import building

    answer = building.returned(shop_at(shop_folder), job)
    if answer is None:
        click.echo("null" if as_json else "No work on this car's gearbox in the book of the last two years.")
        return
    tell(answer, as_json, lambda: textwrap.fill(answer.text, WIDTH))


def _shown(answer: BuildAnswer, everything: bool) -> Iterator[str]:
    yield f"Job {answer.job}, {answer.car}, {answer.box}. {answer.next}"
    if answer.minutes_left:
        yield f"About {answer.minutes_left:.0f} min of refitting are left."
    current = next((step.part for step in answer.steps if not step.done), None)
    for number, step in enumerate(answer.steps, start=1):
        yield from _step(number, step, everything or step.part == current)
    if answer.final:
        yield "Before the hand-over:" if answer.binding else "Before the hand-over, as far as it applies:"
        yield from (_gate(state) for state in answer.final)


def _step(number: int, step: BuildStepAnswer, whole: bool) -> Iterator[str]:
    mark = "x" if step.done else ("-" if step.back else " ")
    by = f" (by {step.on_by})" if step.on_by else ""
    yield f"{number:>3}. [{mark}] {step.name}{by}"
    if whole:
        told = [*(f"Caution: {caution}" for caution in step.cautions), *step.todo]
        yield from (_filled(text) for text in told)
        if step.torque_left:
            rounds = ", ".join(map(str, step.torque_left))
            yield _filled(f"Torque {step.torque}; left: round {rounds} of {step.torque_steps}.")
    if whole or any(state.state != "passed" for state in step.gates):
        yield from (_gate(state) for state in step.gates)


def _gate(state: GateAnswer) -> str:
    hold = " HOLD" if state.hold and state.state == "open" else ""
    reason = f"; reason: {state.reason}" if state.reason else ""
    by = f"; {state.who}" if state.who else ""
    return _filled(f"[{MARKS[state.state]}]{hold} {state.slug}: {state.text}{by}{reason}")


def _filled(text: str) -> str:
    return textwrap.fill(text, WIDTH, initial_indent="        ", subsequent_indent="          ")
