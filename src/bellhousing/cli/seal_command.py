"""`bellhousing seal`."""

from __future__ import annotations

import click

from bellhousing.cli.doors import json_option, tell
from bellhousing.cli.lines import told

SHOWN_RULE = "Rule: "


@click.group("seal")
def command() -> None:
    """Rings and gaskets: sizes for a measured groove, and what age leaves of them."""


@command.command("groove")
@click.option("--floor", required=True, help="Diameter of the groove's floor, for example '0.984 in'.")
@click.option("--width", required=True, help="Width of the groove.")
@click.option("--depth", help="From the groove's floor to the facing wall.")
@click.option("--bore", help="The bore the ring seals against, instead of the depth.")
@click.option("--sliding", is_flag=True, help="The ring slides, as on a piston; else it stands still.")
@click.option("--dash", help="Judge this dash number instead of choosing one.")
@click.option("--ring", nargs=2, metavar="INSIDE SECTION", help="Judge a ring on hand instead.")
@click.option("--square", is_flag=True, help="The ring on hand is square-cut.")
@json_option
def groove(
    floor: str,
    width: str,
    depth: str | None,
    bore: str | None,
    sliding: bool,
    dash: str | None,
    ring: tuple[str, str] | None,
    square: bool,
    as_json: bool,
) -> None:
    """Which standard ring belongs in a groove measured on a shaft or piston."""
    from bellhousing.tasks import sealing

    answer = sealing.groove(
        floor, width, depth=depth, bore=bore, sliding=sliding, dash=dash, ring=ring or None, square=square
    )
    shown = [answer.text, *(f"  {entry.text}" for entry in answer.rings)]
    tell(answer, as_json, lambda: told(shown, answer.cautions, answer.assumed))


@command.command("aged")
@click.option("--section", required=True, help="Thickness of the ring when new.")
@click.option("--depth", required=True, help="From the groove's floor to the facing wall.")
@click.option("--set", "lasting", default="0 %", show_default=True, help="Share of its squeeze that has set.")
@click.option("--shrink", default="0 %", show_default=True, help="Share by which the rubber has shrunk.")
@click.option("--swell", default="0 %", show_default=True, help="Share the fluid adds to its section.")
@click.option("--out", "taken_out", help="Section of the ring as it came out, in place of --set.")
@click.option("--hardness", default="75", show_default=True, help="Shore A.")
@click.option("--play", help="How far the faces move apart, by heat or pressure.")
@click.option("--square", is_flag=True, help="A square-cut ring.")
@json_option
def aged(
    section: str,
    depth: str,
    lasting: str,
    shrink: str,
    swell: str,
    taken_out: str | None,
    hardness: str,
    play: str | None,
    square: bool,
    as_json: bool,
) -> None:
    """What years have left of a ring's squeeze, and why more torque does not bring it back."""
    from bellhousing.tasks import sealing

    answer = sealing.aged(
        section,
        depth=depth,
        lasting=lasting,
        shrink=shrink,
        swell=swell,
        taken_out=taken_out,
        hardness=hardness,
        square=square,
        play=play,
    )
    shown = [answer.text, answer.torque, f"{SHOWN_RULE}{answer.rule}."]
    tell(answer, as_json, lambda: told(shown, (), answer.assumed))


@command.command("cut")
@click.option("--bore", required=True, help="The ring seals against it.")
@click.option("--section", required=True, help="Thickness of the ring.")
@click.option("--squeeze", default="18 %", show_default=True, help="Share of its section pressed together.")
@json_option
def cut(bore: str, section: str, squeeze: str, as_json: bool) -> None:
    """The groove to cut on a piston for a ring in its bore."""
    from bellhousing.tasks import sealing

    answer = sealing.cut(bore, section, wanted=squeeze)
    tell(answer, as_json, lambda: told([answer.text], (), answer.assumed))


@command.command("gasket")
@click.option("--thickness", required=True, help="As fitted, for example '0.015 in'.")
@click.option("--shrink", required=True, help="Share of it that has gone, for example '15 %'.")
@click.option("--span", required=True, help="Distance from bolt to bolt.")
@json_option
def gasket(thickness: str, shrink: str, span: str, as_json: bool) -> None:
    """Why a paper gasket fitted dry is not cured by tightening its bolts again."""
    from bellhousing.tasks import sealing

    answer = sealing.gasket(thickness, shrink=shrink, span=span)
    tell(answer, as_json, lambda: told([answer.text, f"{SHOWN_RULE}{answer.rule}."], (), answer.assumed))
