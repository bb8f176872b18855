"""Bolts and pulling screws: torque and preload, tapped holes, order of tightening, when to stop."""

from __future__ import annotations

import math

from bellhousing.errors import QuantityError
from bellhousing.fits import fasteners, pulling
from bellhousing.fits.fasteners import Hole
from bellhousing.fits.threads import (
    Thread,
    basic_sizes,
    engagement_for_bolt,
    find_thread,
    weaker_hole_factor,
)
from bellhousing.quantities.show import show
from bellhousing.quantities.units import from_si
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.figures import Figures

MOST_BOLTS = 60
ROW = 2.0
"""Distance of rows of a cover, in those of its bolts along a row; common practice, no source."""

STEEL = 207e9
"""Modulus of a steel bolt [Pa]; from memory."""

CLEAN = "clean threads and dry holes: fluid in a blind hole cracks the case as the bolt goes in"
BOTTOMS = "measure the hole's depth: a bolt that bottoms shows its torque and clamps nothing"
MANUAL = "the manual's torque comes first; what stands here only says what the thread bears"


class TorqueAnswer(Shape):
    """A torque and the preload it gives, least to greatest: friction and wrench are not known better."""

    thread: str
    finish: str
    grade: str
    torque_lb_ft: float
    preload_low_n: float
    preload_high_n: float
    proof_share: float
    turn_degrees: tuple[float, float] | None = None
    text: str
    cautions: tuple[str, ...]
    assumed: tuple[str, ...]


class HoleAnswer(Shape):
    """Whether a tapped hole bears a torque; `needed_mm` is the engagement at which the bolt breaks first."""

    thread: str
    metal: str
    engagement_mm: float
    strip_n: float
    margin: float
    holds: bool
    insert: bool
    needed_mm: float
    text: str
    cautions: tuple[str, ...]
    assumed: tuple[str, ...]


class OrderOfTightening(Shape):
    """Bolts numbered round the flange in the order they are tightened, and the torques of the rounds."""

    order: tuple[int, ...]
    rounds_lb_ft: tuple[float, ...]
    text: str


class PullAnswer(Shape):
    """Two pulling screws: largest torque on either, and what to do now where turns and torques were given.

    `felt_lb_ft` is the greater of the torques felt, null where none was given.
    """

    thread: str
    torque_lb_ft: float
    force_n: float
    strips_at_n: float
    limited_by: str
    advance_mm: float
    steps: tuple[str, ...]
    now: str
    stop: bool
    text: str
    cautions: tuple[str, ...]
    assumed: tuple[str, ...]
    felt_lb_ft: float | None = None


def torque(
    thread: str,
    *,
    wanted: str | None = None,
    finish: str = "oiled",
    grade: str = "5",
    clamped: str | None = None,
) -> TorqueAnswer:
    """What a torque pulls, or without one the torque of three quarters of the bolt's proof strength.

    With the length clamped, also the turn from snug on, the joint taken as rigid.

    Raises
    ------
    QuantityError : a thread, finish, grade or torque that is not known or cannot be
    """
    figures = Figures()
    found = find_thread(thread)
    proof = fasteners.proof_preload(found, grade, 1.0)
    low, high = fasteners.nut_factors(finish)
    if wanted is None:
        value = fasteners.torque_for(0.75 * proof, found.diameter, math.sqrt(low * high))
    else:
        value = figures.read(wanted, "torque", "lb ft", 0.5, 400.0)
    least, greatest = fasteners.preload_band(value, found.diameter, finish)
    said = fasteners.preload_text(value, found, finish)
    share = greatest / proof
    turn: tuple[float, float] | None = None
    if clamped is not None:
        long = figures.read(clamped, "clamped length", "in", 0.05, 12.0)
        turn = (_turn(found, least, long), _turn(found, greatest, long))
        said += f"; from snug on {turn[0]:.0f}–{turn[1]:.0f}° of turn"
    verdict = f"at most {100 * share:.0f} in 100 of what a grade {grade} bolt stands"
    if share > 1.0:
        verdict += ": it may stretch for good; use less, or a stronger bolt"
    return TorqueAnswer(
        thread=found.name,
        finish=finish,
        grade=grade,
        torque_lb_ft=_lb_ft(value),
        preload_low_n=round(least, 1),
        preload_high_n=round(greatest, 1),
        proof_share=round(share, 4),
        turn_degrees=turn,
        text=f"{said}; {verdict}.",
        cautions=(MANUAL, CLEAN, BOTTOMS),
        assumed=tuple(figures.assumed),
    )


def _turn(thread: Thread, preload: float, length: float) -> float:
    angle = fasteners.turn_angle(preload, length, thread.stress_area, STEEL, thread.pitch)
    return round(math.degrees(angle), 1)


class ThreadAnswer(Shape):
    """A thread's basic sizes, to know it by: bolt outside, pitch and root, and the hole before tapping."""

    thread: str
    outside_mm: float
    pitch_mm: float
    per_inch: float
    pitch_diameter_mm: float
    root_mm: float
    hole_mm: float
    stress_area_mm2: float
    text: str


def thread(name: str) -> ThreadAnswer:
    """The sizes a thread is known by.

    Raises
    ------
    QuantityError : a thread that is not known
    """
    found = find_thread(name)
    sizes = basic_sizes(found)
    per_inch = 25.4e-3 / found.pitch
    pitch = f"{found.pitch * 1e3:.3g} mm" if found.metric else f"{per_inch:.0f} to the inch"
    name_in = "mm" if found.metric else "in"
    outside, root, bore = (
        show(size, name_in, digits=2 if found.metric else 3)
        for size in (sizes.major, found.external_minor, sizes.hole_minor)
    )
    return ThreadAnswer(
        thread=found.name,
        outside_mm=round(sizes.major * 1e3, 4),
        pitch_mm=round(found.pitch * 1e3, 4),
        per_inch=round(per_inch, 3),
        pitch_diameter_mm=round(sizes.pitch * 1e3, 4),
        root_mm=round(found.external_minor * 1e3, 4),
        hole_mm=round(sizes.hole_minor * 1e3, 4),
        stress_area_mm2=round(found.stress_area * 1e6, 3),
        text=f"{found.name}: {pitch}, {outside} outside, {root} at the root; hole before tapping {bore}.",
    )


def hole(
    thread: str,
    engagement: str,
    wanted: str,
    *,
    metal: str = "cast aluminium",
    damaged: str = "0",
    finish: str = "oiled",
    grade: str = "5",
) -> HoleAnswer:
    """Whether a tapped hole bears a torque, the engagement it needs, and whether an insert is due.

    Raises
    ------
    QuantityError : something that is not known or cannot be
    """
    figures = Figures()
    tapped = _hole(figures, thread, engagement, metal, damaged)
    value = figures.read(wanted, "torque", "lb ft", 0.5, 400.0)
    fasteners.proof_preload(tapped.thread, grade)
    advice = fasteners.thread_advice(tapped, value, finish)
    strength = fasteners.GRADES[grade].tensile
    needed = engagement_for_bolt(tapped.thread)
    needed *= weaker_hole_factor(tapped.thread, strength, tapped.strength)
    said = (
        f"In {metal} a grade {grade} bolt breaks before the thread strips from "
        f"{show(needed, 'mm', digits=1)} of engagement on ({needed / tapped.thread.diameter:.1f} diameters)"
    )
    return HoleAnswer(
        thread=tapped.thread.name,
        metal=metal,
        engagement_mm=round(tapped.sound_engagement * 1e3, 3),
        strip_n=round(tapped.strip_force, 1),
        margin=round(advice.margin, 3),
        holds=not advice.insert,
        insert=advice.insert,
        needed_mm=round(needed * 1e3, 3),
        text=f"{advice.text}. {said}.",
        cautions=(CLEAN, BOTTOMS),
        assumed=tuple(figures.assumed),
    )


def order(bolts: int, wanted: str | None = None, *, rows: int = 0) -> OrderOfTightening:
    """In which order bolts are tightened: across a round flange, or from the middle of a cover in rows.

    `rows` is how many rows a cover has, its bolts numbered along each row; 0 is a round flange.

    Raises
    ------
    QuantityError : no bolts, too many, or a torque that cannot be
    """
    if not 1 <= bolts <= MOST_BOLTS:
        raise QuantityError(f"a flange has 1 to {MOST_BOLTS} bolts", where="bolts")
    if rows and not (1 <= rows <= bolts and bolts % rows == 0):
        raise QuantityError(
            f"{bolts} bolts do not stand in {rows} rows alike",
            where="rows",
            remedy="leave rows out for a ring",
        )
    rounds: tuple[float, ...] = ()
    if rows:
        each = bolts // rows
        found = fasteners.middle_out([(bolt % each, (bolt // each) * ROW) for bolt in range(bolts)])
        said = f"From the middle outwards: {', '.join(str(bolt) for bolt in found)}"
    else:
        found = fasteners.star_pattern(bolts)
        said = f"Across and across: {', '.join(str(bolt) for bolt in found)}"
    if wanted is not None:
        value = Figures().read(wanted, "torque", "lb ft", 0.5, 400.0)
        rounds = tuple(_lb_ft(step) for step in fasteners.tightening_steps(value))
        shown = ", ".join(f"{step:.3g}" for step in rounds)
        said += f"; in rounds of {shown} lb ft"
    return OrderOfTightening(order=found, rounds_lb_ft=rounds, text=f"{said}.")


def pull(
    thread: str,
    engagement: str,
    apart: str,
    *,
    metal: str = "cast aluminium",
    damaged: str = "0",
    finish: str = "oiled",
    grade: str = "5",
    turns: tuple[str, str] | None = None,
    felt: tuple[str, str] | None = None,
) -> PullAnswer:
    """Pulling a part with two screws in its opposed threaded holes; with turns and torques, what to do now.

    Raises
    ------
    QuantityError : something that is not known or cannot be
    """
    figures = Figures()
    tapped = _hole(figures, thread, engagement, metal, damaged)
    between = figures.read(apart, "distance between the holes", "in", 1.0, 20.0)
    plan = pulling.pull(tapped, between, finish=finish, grade=grade)
    most = show(plan.torque, "lb ft", digits=1)
    now, stop, most_felt = "", False, None
    if turns is not None or felt is not None:
        given = [figures.read(text, "turns", "", 0.0, 100.0) for text in turns or ("0", "0")]
        hard = [
            figures.read(text, "torque felt", "lb ft", 0.0, 400.0) for text in felt or ("0 lb ft", "0 lb ft")
        ]
        step = pulling.next_turn(plan, tapped, (given[0], given[1]), (hard[0], hard[1]))
        now, stop = step.text, step.stop
        most_felt = None if felt is None else _lb_ft(max(hard))
    return PullAnswer(
        thread=tapped.thread.name,
        torque_lb_ft=_lb_ft(plan.torque),
        force_n=round(plan.force, 1),
        strips_at_n=round(plan.strips_at, 1),
        limited_by=plan.limited_by,
        advance_mm=round(plan.advance * 1e3, 4),
        steps=plan.steps,
        now=now,
        stop=stop,
        text=(
            f"At most {most} on either screw, a quarter turn on each in turn; the {plan.limited_by} sets it. "
            "When it is reached, stop and look."
        ),
        cautions=(pulling.NEVER,),
        assumed=tuple(figures.assumed),
        felt_lb_ft=most_felt,
    )


def _hole(figures: Figures, thread: str, engagement: str, metal: str, damaged: str) -> Hole:
    found: Thread = find_thread(thread)
    deep = figures.read(engagement, "engagement", "in", 0.02, 4.0)
    if metal not in fasteners.TAPPED:
        raise QuantityError(
            f"no tapped metal '{metal[:40]}' is known", remedy=f"say one of: {', '.join(fasteners.TAPPED)}"
        )
    torn = figures.read(damaged, "torn threads", "", 0.0, 100.0)
    return Hole(found, deep, fasteners.TAPPED[metal], torn)


def _lb_ft(newton_metres: float) -> float:
    return float(f"{float(from_si(newton_metres, 'lb ft')):.5g}")
