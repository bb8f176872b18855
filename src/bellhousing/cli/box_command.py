"""`bellhousing box`."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import json_option, shop_at, shop_option, tell, tell_all

if TYPE_CHECKING:
    from bellhousing.tasks.box_windows import BoxWindowsAnswer
    from bellhousing.tasks.shop_boxes import BoxAnswer, BoxSummary

WHOLE = "full"


@click.group("box")
def command() -> None:
    """Boxes: which there are, what is known of one, a blank file to fill in, keeping your own."""


@command.command("list")
@shop_option
@json_option
def list_boxes(shop_folder: Path | None, as_json: bool) -> None:
    """Every box the shop can name, its own first."""
    from bellhousing.cli import show
    from bellhousing.tasks import shop_boxes

    boxes = shop_boxes.boxes_of_shop(shop_at(shop_folder))
    tell_all(
        list(boxes),
        as_json,
        lambda: show.table((box.slug, _given(box), box.problem or box.name) for box in boxes),
    )


@command.command("show")
@click.argument("box", metavar="BOX")
@json_option
def show_box(box: str, as_json: bool) -> None:
    """What is known of BOX, part by part, and what cannot be worked out of it yet.

    BOX is the name of a shipped box or family, or the path of a box file; every fault of the file is listed
    with its line.
    """
    from bellhousing.tasks import shop_boxes

    answer = shop_boxes.box_known(box)
    tell(answer, as_json, lambda: "\n".join(_known(answer)))


@command.command("windows")
@click.argument("box", metavar="BOX")
@click.option("--axle", default="3.08", show_default=True, help="Axle ratio.")
@click.option("--tyre-radius", default="0.345 m", show_default=True, help="Rolling radius of the tyre.")
@click.option("--altitude", default="0 m", show_default=True, help="Altitude of the workshop.")
@json_option
def windows(box: str, axle: str, tyre_radius: str, altitude: str, as_json: bool) -> None:
    """The window of every reading for BOX in a car, and where each comes from.

    The less is known of the box, the wider the windows that are predicted.
    """
    from bellhousing.tasks.box_windows import windows_of_box

    answer = windows_of_box(box, axle_ratio=axle, tyre_radius=tyre_radius, altitude=altitude)
    tell(answer, as_json, lambda: _windows(answer))


@command.command("blank")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--four-speed", is_flag=True, help="The form for a four-speed with fluid coupling and linkage.")
def blank(file: Path, four_speed: bool) -> None:
    """Write a blank box FILE to fill in; a file that is there already is left alone."""
    from bellhousing.tasks import shop_boxes

    shop_boxes.write_blank(file, four_speed=four_speed)
    click.echo(f"A blank box file to fill in: {file}")


@command.command("keep")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--replace", is_flag=True, help="Take the place of the shop's own box of the same slug.")
@shop_option
@json_option
def keep(file: Path, replace: bool, shop_folder: Path | None, as_json: bool) -> None:
    """Keep a box FILE with the shop, so that cars can name it by its slug; the old one is kept beside it."""
    from bellhousing.tasks import shop_boxes

    answer = shop_boxes.keep_file(shop_at(shop_folder), file, replace=replace)
    tell(answer, as_json, lambda: f"{answer.name} is kept as {answer.slug}.")


def _given(box: BoxSummary) -> str:
    if box.problem:
        return "cannot be used"
    return f"{box.given} of {box.asked} figures" if box.given else "the kind only"


def _known(box: BoxAnswer) -> Iterator[str]:
    from bellhousing.cli import show
    from bellhousing.cli.lines import WIDTH

    yield f"{box.name} ({box.slug}, {box.kind}): {_given(box)}"
    yield ""
    yield from show.table(
        (f"  {part.name}", WHOLE if part.given == part.asked else f"{part.given} of {part.asked}")
        for part in box.parts
    ).splitlines()
    if box.fluid_index is not None:
        yield ""
        yield f"Viscosity index of the fluid: {box.fluid_index}"
    if box.gears:
        yield ""
        teeth = "the teeth" if box.own_teeth else "the usual teeth of its kind"
        yield f"Ratios by {teeth}: " + ", ".join(f"{gear}: {ratio:.3f}" for gear, ratio in box.gears)
    if box.applied:
        yield ""
        yield "Applied in each gear"
        yield from show.table((f"  {gear}", ", ".join(names)) for gear, names in box.applied).splitlines()
    if box.windows:
        yield ""
        yield "Limits typed from the manual"
        yield from show.table((f"  {name}", text) for name, text in box.windows).splitlines()
    if box.cannot:
        yield ""
        yield "What is lost by what is not known"
        for sentence in box.cannot:
            yield from textwrap.wrap(
                sentence, WIDTH, initial_indent="  - ", subsequent_indent="    ", break_on_hyphens=False
            )


def _windows(answer: BoxWindowsAnswer) -> str:
    from bellhousing.cli import show

    rows = show.table((entry.finding, entry.text, entry.source) for entry in answer.windows)
    return f"{answer.box_name}\n{answer.car}\n\n{rows}"
