"""Forms of bolts, tapped holes and pulling screws."""

from __future__ import annotations

import math

from bellhousing.errors import QuantityError
from bellhousing.fits.fasteners import GRADES, NUT_FACTORS, TAPPED, WANTED_MARGIN
from bellhousing.fits.pulling import NEVER
from bellhousing.reports.limit_line import LimitLine
from bellhousing.tasks import bolting
from bellhousing.web.pages import Sent, whole_of
from bellhousing.web.tool_shapes import Entry, Shown, Tool, limit


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
    line = limit((least + greatest) / 2, 0.0, 100.0, told, half=(greatest - least) / 2)
    return Shown(answer.text, (("Of what the bolt stands", line),), (), answer.cautions, answer.assumed)


def _hole(sent: Sent) -> bolting.HoleAnswer:
    return bolting.hole(sent.text("thread"), sent.text("engagement"), sent.text("torque"), **_hole_of(sent))


def _hole_shown(answer: bolting.HoleAnswer) -> Shown:
    told = f"the thread strips at {answer.margin:.1f} times the greatest pull, {WANTED_MARGIN:g} is wanted"
    line = limit(answer.margin, WANTED_MARGIN, math.inf, told, "times")
    return Shown(answer.text, (("In hand before it strips", line),), (), answer.cautions, answer.assumed)


def _thread(sent: Sent) -> bolting.ThreadAnswer:
    return bolting.thread(sent.text("thread"))


def _order(sent: Sent) -> bolting.OrderOfTightening:
    bolts, rows = whole_of(sent.text("bolts").strip(), 3), whole_of(sent.given("rows") or "0", 3)
    if bolts is None:
        raise QuantityError(
            "how many bolts is not said", where="bolts", remedy="give their number, such as 7"
        )
    if rows is None:
        raise QuantityError(
            "that is no number of rows", where="rows", remedy="such as 2, or nothing for a ring"
        )
    return bolting.order(bolts, sent.given("torque"), rows=rows)


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
        line = limit(answer.felt_lb_ft, 0.0, answer.torque_lb_ft, told, "lb ft")
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
BOLTS = (
    Tool("torque", "What a torque pulls", (THREAD, TORQUE, CLAMPED, *HOW), _torque, _torque_shown),
    Tool("hole", "Whether a tapped hole bears it", (THREAD, TORQUE, *TAP, *HOW), _hole, _hole_shown),
    Tool(
        "thread",
        "Which thread it is",
        (THREAD,),
        _thread,
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
