"""`bellhousing pack`."""

from __future__ import annotations

import click

from bellhousing.cli.doors import json_option, tell
from bellhousing.cli.lines import told


@click.group("pack")
def command() -> None:
    """Packs of plates and bands, from their own measures."""


@command.command("plates")
@click.argument("lined")
@click.option("--inner", required=True, help="Inner diameter of the lining.")
@click.option("--outer", required=True, help="Outer diameter of the lining.")
@click.option(
    "--piston", nargs=2, required=True, metavar="INNER OUTER", help="Diameters of the apply piston."
)
@click.option("--pressure", required=True, help="Line pressure at the clutch, for example '65 psi'.")
@click.option("--springs", default="0 N", show_default=True, help="Force of the return springs.")
@click.option("--steels", help="Steel plates, the backing plate with them; one more than lined if left out.")
@click.option(
    "--lining", default="paper", show_default=True, help="paper, woven, moulded, sintered and so on."
)
@click.option("--friction", help="Friction of the lining, if it is known better.")
@click.option("--outer-friction", help="Friction at the outer edge, where that is glazed.")
@click.option("--drum-speed", help="Speed of a drum that turns, for example '2000 rpm'.")
@click.option("--holds", "wanted", help="Torque it has to hold, for example '400 lb ft'.")
@json_option
def plates(
    lined: str,
    inner: str,
    outer: str,
    piston: tuple[str, str],
    pressure: str,
    springs: str,
    steels: str | None,
    lining: str,
    friction: str | None,
    outer_friction: str | None,
    drum_speed: str | None,
    wanted: str | None,
    as_json: bool,
) -> None:
    """What a pack of LINED plates holds at a line pressure, and what would be enough."""
    from bellhousing.tasks import packing

    answer = packing.plates(
        lined,
        inner,
        outer,
        piston,
        pressure,
        springs=springs,
        steels=steels,
        lining=lining,
        friction=friction,
        outer_friction=outer_friction,
        drum_speed=drum_speed,
        wanted=wanted,
    )
    lines = [
        answer.text,
        f"  On the lining {answer.mean_psi:.0f} psi, at its inner edge {answer.inner_edge_psi:.0f}, "
        f"at its outer {answer.outer_edge_psi:.0f}; it bears {answer.most_psi:.0f}.",
    ]
    if answer.faces_needed is not None:
        lines.append(f"  At this pressure {answer.faces_needed} faces would be enough.")
    if answer.heat_into_steel is not None:
        lines.append(f"  Of the heat {100 * answer.heat_into_steel:.0f} in 100 go into the steels.")
    tell(answer, as_json, lambda: told([*lines, f"  Rule: {answer.rule}."], (), answer.assumed))


@command.command("band")
@click.option("--wrap", required=True, help="Angle it lies round the drum, for example '330 deg'.")
@click.option("--drum", required=True, help="Diameter of the drum.")
@click.option("--pressure", required=True, help="Line pressure at the servo.")
@click.option("--piston", required=True, help="Diameter of the servo's piston.")
@click.option("--springs", default="0 N", show_default=True, help="Force of the servo's return spring.")
@click.option("--leverage", default="1", show_default=True, help="Of the lever between servo and band.")
@click.option("--friction", default="0.12", show_default=True)
@click.option("--steel", nargs=2, metavar="WIDTH THICKNESS", help="Of the band's steel.")
@click.option("--stress", default="60 MPa", show_default=True, help="What the steel is to bear at most.")
@click.option("--arms", nargs=2, metavar="SLACK TIGHT", help="Where both ends pull on one lever: their arms.")
@click.option("--lever", help="Length of that lever.")
@click.option("--holds", "wanted", help="Torque it has to hold.")
@json_option
def band(
    wrap: str,
    drum: str,
    pressure: str,
    piston: str,
    springs: str,
    leverage: str,
    friction: str,
    steel: tuple[str, str] | None,
    stress: str,
    arms: tuple[str, str] | None,
    lever: str | None,
    wanted: str | None,
    as_json: bool,
) -> None:
    """What a band holds with its drum's turning and against it."""
    from bellhousing.tasks import packing

    width, thickness = steel or (None, None)
    answer = packing.band(
        wrap,
        drum,
        pressure=pressure,
        piston=piston,
        springs=springs,
        leverage=leverage,
        friction=friction,
        width=width,
        thickness=thickness,
        stress=stress,
        arms=arms or None,
        lever=lever,
        wanted=wanted,
    )
    tell(answer, as_json, lambda: told([answer.text, f"  Rule: {answer.rule}."], (), answer.assumed))
