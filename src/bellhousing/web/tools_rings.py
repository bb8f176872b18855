"""Forms of rings and gaskets."""

from __future__ import annotations

import math

from bellhousing.fits.seals import MOST_FILL, MOST_STRETCH, SQUEEZE
from bellhousing.reports.limit_line import LimitLine
from bellhousing.tasks import sealing
from bellhousing.web.pages import Sent
from bellhousing.web.tool_shapes import Entry, Shown, Tool, both, limit


def _groove(sent: Sent) -> sealing.GrooveAnswer:
    known_by = "a ring on hand is known by two figures", "give its inside diameter and its section"
    return sealing.groove(
        sent.text("floor"),
        sent.text("width"),
        depth=sent.given("depth"),
        bore=sent.given("bore"),
        sliding=bool(sent.given("sliding")),
        dash=sent.given("dash"),
        ring=both(sent, "inside", "section", *known_by),
        square=bool(sent.given("square")),
    )


def _groove_shown(answer: sealing.GrooveAnswer) -> Shown:
    lines: list[tuple[str, LimitLine]] = []
    if answer.rings:
        ring = answer.rings[0]
        low, high = (100 * end for end in SQUEEZE["dynamic" if answer.duty == "slides" else "static"])
        middle = 50 * (ring.least_squeeze + ring.most_squeeze)
        half = 50 * (ring.most_squeeze - ring.least_squeeze)
        told = f"squeeze of {ring.ring} {100 * ring.squeeze:.0f} %, {low:.0f}–{high:.0f} % is right"
        lines.append((f"Squeeze of {ring.ring}", limit(middle, low, high, told, half=half)))
        most = 100 * MOST_STRETCH
        told = f"stretch {100 * ring.stretch:.1f} %, at most {most:.0f} %"
        lines.append(("Stretch", limit(100 * ring.stretch, -most, most, told)))
        most = 100 * MOST_FILL
        told = f"fills {100 * ring.fill:.0f} % of the groove, at most {most:.0f} %"
        lines.append(("Fill", limit(100 * ring.fill, 0.0, most, told)))
    more = tuple(ring.text for ring in answer.rings)
    return Shown(answer.text, tuple(lines), more, answer.cautions, answer.assumed)


def _aged(sent: Sent) -> sealing.AgedAnswer:
    return sealing.aged(
        sent.text("thickness"),
        depth=sent.text("depth"),
        lasting=sent.given("set") or "0 %",
        shrink=sent.given("shrink") or "0 %",
        swell=sent.given("swell") or "0 %",
        taken_out=sent.given("taken_out"),
        hardness=sent.given("hardness") or "75",
        square=bool(sent.given("square")),
        play=sent.given("play"),
    )


def _aged_shown(answer: sealing.AgedAnswer) -> Shown:
    told = f"{100 * answer.left_squeeze:.0f} % squeeze is left"
    lines = [("Squeeze left", limit(100 * answer.left_squeeze, 0.0, 100 * answer.new_squeeze, told))]
    return Shown(answer.text, tuple(lines), (answer.torque, f"Rule: {answer.rule}."), (), answer.assumed)


def _cut(sent: Sent) -> sealing.CutAnswer:
    return sealing.cut(sent.text("bore"), sent.text("thickness"), wanted=sent.given("squeeze") or "18 %")


def _gasket(sent: Sent) -> sealing.GasketAnswer:
    return sealing.gasket(sent.text("thickness"), shrink=sent.text("shrink"), span=sent.text("span"))


def _gasket_shown(answer: sealing.GasketAnswer) -> Shown:
    told = f"{answer.regained_mm:.3g} mm comes back of {answer.lost_mm:.3g} mm"
    line = limit(answer.regained_mm, answer.lost_mm, math.inf, told, "mm")
    return Shown(
        answer.text, (("Comes back, of what was lost", line),), (f"Rule: {answer.rule}.",), (), answer.assumed
    )


DEPTH = Entry("depth", "From the groove’s floor to the facing wall", "For example 0.113 in.")
RINGS = (
    Tool(
        "groove",
        "Which ring belongs in a groove",
        (
            Entry("floor", "Diameter of the groove’s floor", "For example 0.75 in."),
            Entry("width", "Width of the groove", "For example 0.187 in."),
            DEPTH,
            Entry("bore", "Or the bore it seals against", "Either this or the depth."),
            Entry("dash", "Only this dash number", "For example 210. May stay empty."),
            Entry("inside", "Or a ring on hand: inside diameter"),
            Entry("section", "and its section"),
            Entry("square", "The ring on hand is square-cut", tick=True),
            Entry("sliding", "It slides, as on a piston", tick=True),
        ),
        _groove,
        _groove_shown,
    ),
    Tool(
        "aged",
        "What years have left of a ring",
        (
            Entry("thickness", "Section when new", "For example 0.139 in."),
            DEPTH,
            Entry("set", "Share of its squeeze that has set", "For example 60 %."),
            Entry("taken_out", "Or its section as it came out", "For example 0.128 in."),
            Entry("swell", "Share the fluid adds to its section", "Left empty: none."),
            Entry("shrink", "Share by which the rubber has shrunk", "For example 4 %."),
            Entry("hardness", "Hardness, Shore A", "Left empty: 75."),
            Entry("play", "How far the faces move apart", "For example 0.05 mm. May stay empty."),
            Entry("square", "A square-cut ring", tick=True),
        ),
        _aged,
        _aged_shown,
    ),
    Tool(
        "cut",
        "Which groove to cut on a piston",
        (
            Entry("bore", "Bore the ring seals against", "For example 4 in."),
            Entry("thickness", "Section of the ring", "For example 0.139 in."),
            Entry("squeeze", "Squeeze wanted", "Left empty: 18 %."),
        ),
        _cut,
        lambda answer: Shown(answer.text, assumed=answer.assumed),
    ),
    Tool(
        "gasket",
        "Whether torque cures a paper gasket",
        (
            Entry("thickness", "Thickness as fitted", "For example 0.015 in."),
            Entry("shrink", "Share of it that has gone", "For example 15 %."),
            Entry("span", "From bolt to bolt", "For example 60 mm."),
        ),
        _gasket,
        _gasket_shown,
    ),
)
