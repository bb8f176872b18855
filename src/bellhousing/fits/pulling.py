"""Pulling a part with two screws in its opposed threaded holes: how hard, how evenly, when to stop."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bellhousing.errors import QuantityError
from bellhousing.fits.fasteners import GRADES, Hole, nut_factors, torque_for
from bellhousing.quantities.show import show

SAFETY = 2.0
"""Strip strength over the force of a pulling screw [-]; common practice, no source."""

QUARTER = 0.25
"""Turn given to each screw before the other has its own; common practice, no source."""

TOO_FAR_APART = 1.0
"""Turns one screw may be ahead of the other before the part jams in its bore; common practice, no source."""

NEVER = "Never lever on the case face: it is the joint that has to seal again."

LOOK_FOR = (
    "a bolt still in, often one hidden under paint or another part",
    "a bracket still clamped to it",
    "paint, varnish or a swollen ring holding it: warm it and tap all round",
    "a screw that bottoms on something it must not push on",
)


@dataclass(frozen=True)
class Pull:
    """Two pulling screws.

    Parameters
    ----------
    torque : largest on either screw before one stops and looks [N·m]
    force : most that torque pulls with one screw [N]
    strips_at : force at which the hole's thread strips [N]
    advance : of a screw in a quarter turn [m]
    tilt : slope of the part when one screw is a quarter turn ahead [rad]
    limited_by : "thread in the part" or "screw"
    steps : what to do, in order
    """

    torque: float
    force: float
    strips_at: float
    advance: float
    tilt: float
    limited_by: str
    steps: tuple[str, ...]


def pull(
    hole: Hole,
    apart: float,
    *,
    finish: str = "oiled",
    grade: str = "5",
    safety: float = SAFETY,
) -> Pull:
    """Largest safe torque of two screws in opposed threaded holes, by what the thread in the part bears.

    Formula: ``T = K·d·F`` with ``F = min(F_strip/safety, 0.75·S_p·A_t)`` and the *least* nut factor of the
    finish, so that the torque never pulls harder than F [N·m].

    Parameters
    ----------
    hole : one of the two holes, the worse of them
    apart : distance between them [m]
    finish : of the screws
    grade : of the screws
    safety : strip strength over pull [-]

    Raises
    ------
    QuantityError : holes that are not apart, a safety below 1, an unknown finish or grade, no thread left

    Source: shear area by FED-STD-H28/2B; two screws, quarter turns and the safety are common practice.
    """
    if not apart > 0.0:
        raise QuantityError("the two holes must be apart", where="pulling screws")
    if not safety >= 1.0:
        raise QuantityError("the safety is at least 1", where="pulling screws")
    if grade not in GRADES:
        raise QuantityError(f"no grade '{grade[:40]}' is known", remedy=f"known are {', '.join(GRADES)}")
    if not hole.strip_force > 0.0:
        raise QuantityError(
            "no sound thread is left in the hole", where="pulling screws", remedy="fit an insert first"
        )
    by_thread = hole.strip_force / safety
    by_screw = 0.75 * GRADES[grade].proof * hole.thread.stress_area
    force = min(by_thread, by_screw)
    torque = torque_for(force, hole.thread.diameter, nut_factors(finish)[0])
    advance = QUARTER * hole.thread.pitch
    limited = "thread in the part" if by_thread <= by_screw else "screw"
    return Pull(
        torque, force, hole.strip_force, advance, math.atan2(advance, apart), limited, _steps(hole, torque)
    )


def _steps(hole: Hole, torque: float) -> tuple[str, ...]:
    most = show(torque, "lb ft", digits=1)
    return (
        f"Try the two opposed holes by hand first: {hole.thread.name} must run in for its whole depth.",
        "Take every bolt of the ring out and count them; oil the screws.",
        "Turn a quarter turn on one, then a quarter turn on the other, and watch the gap all round.",
        f"Never more than {most} on either. If that is reached: stop and look for {'; '.join(LOOK_FOR)}.",
        NEVER,
        "Catch the thrust washer and any plates behind it; take both screws out again and note it.",
    )


@dataclass(frozen=True)
class NextTurn:
    """What to do with the screws now: which one, or stop, with the reason."""

    screw: str
    stop: bool
    text: str


def next_turn(plan: Pull, hole: Hole, turns: tuple[float, float], torques: tuple[float, float]) -> NextTurn:
    """Which screw has its quarter turn next, or that it is time to stop and look.

    Parameters
    ----------
    plan : of `pull`
    hole : the hole it was made for
    turns : given to the first and the second screw so far
    torques : last felt on each [N·m]

    Source: common practice, no source.
    """
    most = max(torques)
    if most >= plan.torque:
        text = (
            f"Stop: {show(most, 'lb ft', digits=1)} felt, at most {show(plan.torque, 'lb ft', digits=1)}. "
            f"Look for {'; '.join(LOOK_FOR)}. {NEVER}"
        )
        return NextTurn("", True, text)
    ahead = turns[0] - turns[1]
    slope = math.degrees(math.atan2(abs(ahead) * hole.thread.pitch, plan.advance / math.tan(plan.tilt)))
    behind = "first" if ahead < 0.0 else "second" if ahead > 0.0 else "first"
    if abs(ahead) > TOO_FAR_APART:
        text = (
            f"Stop: one side is {abs(ahead):.2g} turns ahead, the part stands {slope:.1f}° askew. "
            f"Back that one off and bring the {behind} up."
        )
        return NextTurn(behind, True, text)
    return NextTurn(behind, False, f"A quarter turn on the {behind} screw.")
