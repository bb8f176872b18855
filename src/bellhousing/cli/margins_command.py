"""`bellhousing margins`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import json_option, tell
from bellhousing.cli.lines import told

if TYPE_CHECKING:
    from bellhousing.tasks.margins import MarginsAnswer


@click.command("margins")
@click.argument("box", metavar="BOX")
@click.option(
    "--pressure", "pressures", multiple=True, help="Line pressure to tell the torque at; repeatable."
)
@json_option
def command(box: str, pressures: tuple[str, ...], as_json: bool) -> None:
    """What the clutches and bands of BOX hold at each line pressure, over what full throttle asks, and heat.

    BOX is the name of a shipped box or family, or the path of a box file.
    """
    from bellhousing.tasks.margins import margins_of_box

    answer = margins_of_box(box, pressures)
    tell(answer, as_json, lambda: _shown(answer))


def _shown(answer: MarginsAnswer) -> str:
    head = "".join(f"{pressure:>8g}" for pressure in answer.pressures)
    lines = [
        answer.box_name,
        "",
        answer.text,
        "",
        "Torque each holds by itself [lb ft], line pressure [psi]",
    ]
    lines.append(f"  {'':<30}{head}")
    for entry in answer.elements:
        lines.append(f"  {entry.element:<30}" + "".join(f"{value:>8.0f}" for value in entry.torque))
    lines += ["", "Torque held at the gear train's input [lb ft], and the margin at full throttle"]
    for gear in answer.gears:
        asked = f"asks {gear.demand:.0f} lb ft at {gear.line:.0f} psi"
        lines.append(f"  {gear.gear.replace('-', ' ')} ({gear.ratio:.2f}), full throttle {asked}")
        for group in gear.groups:
            lines.append(f"  {'':<30}" + "".join(f"{value:>8.0f}" for value in group.held))
            lines.append(f"    {group.text}")
    lines += ["", "Heat of a change up", *(f"  {entry.text}" for entry in answer.heats)]
    lines += ["", "Heat of going into gear", *(f"  {entry.text}" for entry in answer.engagements)]
    return told([*lines, ""], (), answer.assumed)
