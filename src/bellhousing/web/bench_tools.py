"""Small sums of the bench on a page of their own: rings, gaskets, bolts, pulling screws, each a form."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from bellhousing.errors import QuantityError
from bellhousing.fits.fasteners import GRADES, NUT_FACTORS, TAPPED, WANTED_MARGIN
from bellhousing.fits.pulling import NEVER
from bellhousing.fits.seals import MOST_FILL, MOST_STRETCH, SQUEEZE
from bellhousing.reports.limit_line import LimitLine
from bellhousing.tasks import bolting, sealing
from bellhousing.web.pages import Sent


@dataclass(frozen=True)
class Entry:
    """One field of a form; `choices` make it a list, `tick` a box to tick."""

    name: str
    label: str
    hint: str = ""
    usual: str = ""
    choices: tuple[str, ...] = ()
    tick: bool = False


@dataclass(frozen=True)
class Shown:
    """An answer as the page shows it: the sentence, its limit lines with a name each, and what follows."""

    text: str
    lines: tuple[tuple[str, LimitLine], ...] = ()
    more: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True)
class Tool:
    """A small sum: what it asks, how it is worked out, how its answer is shown."""

    id: str
    title: str
    entries: tuple[Entry, ...]
    work: Callable[[Sent], BaseModel]
    show: Callable[[Any], Shown]
    cautions: tuple[str, ...] = ()

    def filled(self, sent: Mapping[str, str]) -> bool:
        """Whether anything was asked of it."""
        return any(sent.get(entry.name, "").strip() for entry in self.entries)


def _line(
    value: float, low: float, high: float, text: str, unit: str = "%", *, half: float = 0.0
) -> LimitLine:
    """A limit line; only its last end carries the unit, so that the two do not run into each other."""
    open_above = not math.isfinite(high)
    ends = f"{low:.3g} {unit}" if open_above else f"{low:.3g}", "" if open_above else f"{high:.3g} {unit}"
    return LimitLine(value, half, low, high, *ends, text)


# Rings and gaskets


def _groove(sent: Sent) -> sealing.GrooveAnswer:
    inside, section = sent.given("inside"), sent.given("section")
    if (inside is None) != (section is None):
        raise QuantityError(
            "a ring on hand is known by two figures", remedy="give its inside diameter and its section"
        )
    return sealing.groove(
        sent.text("floor"),
        sent.text("width"),
        depth=sent.given("depth"),
        bore=sent.given("bore"),
        sliding=bool(sent.given("sliding")),
        dash=sent.given("dash"),
        ring=(inside, section) if inside and section else None,
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
        lines.append((f"Squeeze of {ring.ring}", _line(middle, low, high, told, half=half)))
        most = 100 * MOST_STRETCH
        told = f"stretch {100 * ring.stretch:.1f} %, at most {most:.0f} %"
        lines.append(("Stretch", _line(100 * ring.stretch, -most, most, told)))
        most = 100 * MOST_FILL
        told = f"fills {100 * ring.fill:.0f} % of the groove, at most {most:.0f} %"
        lines.append(("Fill", _line(100 * ring.fill, 0.0, most, told)))
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
    lines = [("Squeeze left", _line(100 * answer.left_squeeze, 0.0, 100 * answer.new_squeeze, told))]
    return Shown(answer.text, tuple(lines), (answer.torque, f"Rule: {answer.rule}."), (), answer.assumed)


def _gasket(sent: Sent) -> sealing.GasketAnswer:
    return sealing.gasket(sent.text("thickness"), shrink=sent.text("shrink"), span=sent.text("span"))


def _gasket_shown(answer: sealing.GasketAnswer) -> Shown:
    told = f"{answer.regained_mm:.3g} mm comes back of {answer.lost_mm:.3g} mm"
    line = _line(answer.regained_mm, answer.lost_mm, math.inf, told, "mm")
    return Shown(
        answer.text, (("Comes back, of what was lost", line),), (f"Rule: {answer.rule}.",), (), answer.assumed
    )


# Bolts and pulling screws


def _finish(sent: Sent) -> dict[str, str]:
    return {"finish": sent.given("finish") or "oiled", "grade": sent.given("grade") or "5"}


def _hole_of(sent: Sent) -> dict[str, str]:
    metal, damaged = sent.given("metal") or "cast aluminium", sent.given("damaged") or "0"
    return {"metal": metal, "damaged": damaged, **_finish(sent)}


def _torque(sent: Sent) -> bolting.TorqueAnswer:
    clamped = sent.given("clamped")
    return bolting.torque(sent.text("thread"), wanted=sent.given("torque"), clamped=clamped, **_finish(sent))


def _torque_shown(answer: bolting.TorqueAnswer) -> Shown:
    greatest = 100 * answer.proof_share
    least = greatest * answer.preload_low_n / answer.preload_high_n
    told = f"pulls {least:.0f}–{greatest:.0f} % of what the bolt stands"
    line = _line((least + greatest) / 2, 0.0, 100.0, told, half=(greatest - least) / 2)
    return Shown(answer.text, (("Of what the bolt stands", line),), (), answer.cautions, answer.assumed)


def _hole(sent: Sent) -> bolting.HoleAnswer:
    return bolting.hole(sent.text("thread"), sent.text("engagement"), sent.text("torque"), **_hole_of(sent))


def _hole_shown(answer: bolting.HoleAnswer) -> Shown:
    told = f"the thread strips at {answer.margin:.1f} times the greatest pull, {WANTED_MARGIN:g} is wanted"
    line = _line(answer.margin, WANTED_MARGIN, math.inf, told, "times")
    return Shown(answer.text, (("In hand before it strips", line),), (), answer.cautions, answer.assumed)


def _order(sent: Sent) -> bolting.OrderOfTightening:
    text = sent.text("bolts").strip()
    if not (text.isascii() and text.isdigit() and len(text) < 4):
        raise QuantityError(
            "how many bolts is not said", where="bolts", remedy="give their number, such as 7"
        )
    rows = sent.given("rows") or "0"
    if not (rows.isascii() and rows.isdigit() and len(rows) < 4):
        raise QuantityError(
            "that is no number of rows", where="rows", remedy="such as 2, or nothing for a ring"
        )
    return bolting.order(int(text), sent.given("torque"), rows=int(rows))


def _pull(sent: Sent) -> bolting.PullAnswer:
    return bolting.pull(
        sent.given("thread") or "3/8-16",
        sent.text("engagement"),
        sent.text("apart"),
        turns=_two(sent, "turns", "0"),
        felt=_two(sent, "felt", "0 lb ft"),
        **_hole_of(sent),
    )


def _two(sent: Sent, name: str, nothing: str) -> tuple[str, str] | None:
    first, second = sent.given(f"{name}_first"), sent.given(f"{name}_second")
    return None if first is None and second is None else (first or nothing, second or nothing)


def _pull_shown(answer: bolting.PullAnswer) -> Shown:
    lines: tuple[tuple[str, LimitLine], ...] = ()
    if answer.felt_lb_ft is not None:
        told = f"{answer.felt_lb_ft:.3g} lb ft was felt, at most {answer.torque_lb_ft:.3g} lb ft"
        line = _line(answer.felt_lb_ft, 0.0, answer.torque_lb_ft, told, "lb ft")
        lines = (("Most felt on a screw", line),)
    text = answer.now or answer.text
    more = (answer.text,) if answer.now else answer.steps
    return Shown(text, lines, more, (), answer.assumed)


THREAD = Entry("thread", "Thread", "For example 3/8-16 or M8.")
TORQUE = Entry("torque", "Torque", "For example 18 lb ft.")
CLAMPED = Entry("clamped", "Length clamped", "Shows the turn from snug on. May stay empty.")
HOW = (
    Entry("finish", "Bolt’s finish", usual="oiled", choices=tuple(NUT_FACTORS)),
    Entry("grade", "Bolt’s grade", usual="5", choices=tuple(GRADES)),
)
TAP = (
    Entry("engagement", "Full thread the bolt takes hold of", "For example 0.5 in."),
    Entry("metal", "Tapped in", usual="cast aluminium", choices=tuple(TAPPED)),
    Entry("damaged", "Threads seen torn", "Left empty: none."),
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
        lambda sent: sealing.cut(
            sent.text("bore"), sent.text("thickness"), wanted=sent.given("squeeze") or "18 %"
        ),
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
BOLTS = (
    Tool("torque", "What a torque pulls", (THREAD, TORQUE, CLAMPED, *HOW), _torque, _torque_shown),
    Tool("hole", "Whether a tapped hole bears it", (THREAD, TORQUE, *TAP, *HOW), _hole, _hole_shown),
    Tool(
        "thread",
        "Which thread it is",
        (THREAD,),
        lambda sent: bolting.thread(sent.text("thread")),
        lambda answer: Shown(answer.text),
    ),
    Tool(
        "order",
        "In which order a flange or cover is tightened",
        (
            Entry("bolts", "Bolts", "For example 7."),
            Entry("rows", "Rows of a cover", "Left empty: a round flange."),
            TORQUE,
        ),
        _order,
        lambda answer: Shown(answer.text),
    ),
)
PULLING = (
    Tool(
        "pull",
        "Largest safe torque, and which screw is next",
        (
            Entry("thread", "Thread of the holes", "Left empty: 3/8-16; try it by hand first."),
            Entry("apart", "Between the two holes", "For example 7 in."),
            *TAP,
            *HOW,
            Entry("turns_first", "Turns given so far, first screw", "For example 0.5."),
            Entry("turns_second", "Turns given so far, second screw"),
            Entry("felt_first", "Torque last felt, first screw", "For example 5 lb ft."),
            Entry("felt_second", "Torque last felt, second screw"),
        ),
        _pull,
        _pull_shown,
        (NEVER,),
    ),
)
GROUPS = (
    ("rings", "Rings and gaskets", RINGS),
    ("bolts", "Bolts", BOLTS),
    ("pulling", "Pulling with two screws", PULLING),
)
TOOLS = {tool.id: tool for _, _, tools in GROUPS for tool in tools}
