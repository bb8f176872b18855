"""Forms of packs of plates and of bands."""

from __future__ import annotations

import math

from bellhousing.friction.linings import LININGS
from bellhousing.reports.limit_line import LimitLine
from bellhousing.tasks import packing
from bellhousing.web.pages import Sent
from bellhousing.web.tool_shapes import Entry, Shown, Tool, both, limit


def _pack(sent: Sent) -> packing.PackAnswer:
    return packing.plates(
        sent.text("lined"),
        sent.text("inner"),
        sent.text("outer"),
        (sent.given("piston_inner") or "0 in", sent.text("piston_outer")),
        sent.text("pressure"),
        springs=sent.given("springs") or "0 N",
        steels=sent.given("steels"),
        lining=sent.given("lining") or "paper",
        friction=sent.given("friction"),
        outer_friction=sent.given("outer_friction"),
        drum_speed=sent.given("drum_speed"),
        wanted=sent.given("holds"),
    )


def _pack_shown(answer: packing.PackAnswer) -> Shown:
    told = f"{answer.mean_psi:.0f} psi on the lining, which bears {answer.most_psi:.0f}"
    pressed = ("Pressure on the lining", limit(answer.mean_psi, 0.0, answer.most_psi, told, "psi"))
    lines = [*_held(answer.margin), pressed]
    more = [f"At this pressure {answer.faces_needed} faces would be enough."] if answer.faces_needed else []
    return Shown(answer.text, tuple(lines), (*more, f"Rule: {answer.rule}."), (), answer.assumed)


def _held(margin: float | None) -> list[tuple[str, LimitLine]]:
    if margin is None:
        return []
    told = f"{margin:.2f} times what is asked, it slips below 1"
    return [("Held, over what is asked", limit(margin, 1.0, math.inf, told, "times"))]


def _band(sent: Sent) -> packing.BandAnswer:
    two_arms = "a lever that both ends pull on has two arms", "give both"
    return packing.band(
        sent.text("wrap"),
        sent.text("drum"),
        pressure=sent.text("pressure"),
        piston=sent.text("piston"),
        springs=sent.given("springs") or "0 N",
        leverage=sent.given("leverage") or "1",
        friction=sent.given("friction") or "0.12",
        width=sent.given("width"),
        thickness=sent.given("thickness"),
        arms=both(sent, "slack_arm", "tight_arm", *two_arms),
        wanted=sent.given("holds"),
    )


def _band_shown(answer: packing.BandAnswer) -> Shown:
    lines = _held(answer.margin)
    if answer.most_tension_n is not None:
        told = f"{answer.tight_n:.0f} N in its steel, which bears {answer.most_tension_n:.0f}"
        lines.append(("Pull in its steel", limit(answer.tight_n, 0.0, answer.most_tension_n, told, "N")))
    return Shown(answer.text, tuple(lines), (f"Rule: {answer.rule}.",), (), answer.assumed)


LINE = Entry("pressure", "Line pressure", "For example 65 psi.")
SPRINGS = Entry("springs", "Force of the return springs", "For example 250 lbf. Left empty: none.")
HOLDS = Entry("holds", "Torque it has to hold", "For example 400 lb ft. May stay empty.")
PACKS = (
    Tool(
        "pack",
        "What a pack of plates holds",
        (
            Entry("lined", "Lined plates", "For example 5."),
            Entry("steels", "Steels, the backing plate with them", "Left empty: one more."),
            Entry("inner", "Lining, inner diameter", "For example 4.5 in."),
            Entry("outer", "Lining, outer diameter", "For example 6.4 in."),
            Entry("piston_inner", "Piston, inner diameter", "Left empty: a full disc."),
            Entry("piston_outer", "Piston, outer diameter", "For example 6 in."),
            LINE,
            SPRINGS,
            HOLDS,
            Entry("lining", "Lining", usual="paper", choices=tuple(LININGS)),
            Entry("friction", "Its friction, if known better", "For example 0.12."),
            Entry("outer_friction", "Friction at a glazed outer edge", "May stay empty."),
            Entry("drum_speed", "Speed of a drum that turns", "For example 2000 rpm. May stay empty."),
        ),
        _pack,
        _pack_shown,
    ),
    Tool(
        "band",
        "What a band holds",
        (
            Entry("wrap", "Angle it lies round", "For example 330 deg."),
            Entry("drum", "Diameter of the drum", "For example 6 in."),
            LINE,
            Entry("piston", "Diameter of the servo’s piston", "For example 2.4 in."),
            SPRINGS,
            Entry("leverage", "Lever between servo and band", "Left empty: 1."),
            HOLDS,
            Entry("friction", "Friction", "Left empty: 0.12."),
            Entry("width", "Its steel, width", "May stay empty."),
            Entry("thickness", "and thickness"),
            Entry("slack_arm", "Both ends on one lever: arm of the slack end", "May stay empty."),
            Entry("tight_arm", "and of the tight end"),
        ),
        _band,
        _band_shown,
    ),
)
