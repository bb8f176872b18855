"""Bolts: torque and preload, what a tapped hole bears, when an insert is due, in which order to tighten."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from bellhousing.errors import QuantityError
from bellhousing.fits.threads import Thread, engagement_needed, hole_shear_area, least_material
from bellhousing.quantities.show import show, show_interval

KSI = 6894.757e3
SHEAR_SHARE = 0.6
"""Shear strength over tensile strength of a tapped metal [-]; usual in thread calculators."""

WRENCH = 0.04
"""Permissible error of a torque wrench, a share of the reading; ISO 6789, from memory."""

WANTED_MARGIN = 1.5
"""Strip strength over preload below which a tapped thread gets an insert [-]; common practice, no source."""

NUT_FACTORS: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "dry": (0.18, 0.27),
        "oiled": (0.10, 0.26),
        "zinc plated": (0.17, 0.35),
        "phosphated and oiled": (0.15, 0.22),
    }
)
"""Least and greatest nut factor of steel bolts [-]; fastener makers' engineering data, in print."""


@dataclass(frozen=True)
class Grade:
    """A bolt grade: proof strength and tensile strength [Pa]."""

    proof: float
    tensile: float


GRADES: Mapping[str, Grade] = MappingProxyType(
    {
        "2": Grade(55 * KSI, 74 * KSI),
        "5": Grade(85 * KSI, 120 * KSI),
        "8": Grade(120 * KSI, 150 * KSI),
        "8.8": Grade(600e6, 830e6),
        "10.9": Grade(830e6, 1040e6),
    }
)
"""SAE J429 grades of sizes up to 3/4 in (grade 5 up to 1 in), ISO 898-1 classes; the tensile strength of
grade 2, and grade 8 and the classes, from memory."""

TAPPED: Mapping[str, float] = MappingProxyType(
    {"cast aluminium": 45 * KSI, "wrought aluminium": 310e6, "cast iron": 30 * KSI, "steel": 60 * KSI}
)
"""Tensile strength of tapped metal [Pa]; from memory."""


def torque_for(preload: float, diameter: float, nut_factor: float) -> float:
    """Torque that gives a preload.

    Formula: ``T = K·d·F`` [N·m], nut factor K [-], diameter d [m] and preload F [N].

    Source: T. H. Wentzell, *Machine Design*, ch. 6, ex. 6.1, p. 120.
    """
    return nut_factor * diameter * preload


def preload_of(torque: float, diameter: float, nut_factor: float) -> float:
    """Preload a torque gives, ``F = T/(K·d)`` [N].

    Source: as `torque_for`.
    """
    if not (diameter > 0.0 and nut_factor > 0.0):
        raise QuantityError("a bolt needs a diameter and a nut factor", where="torque")
    return torque / (nut_factor * diameter)


def preload_band(
    torque: float, diameter: float, finish: str, *, wrench: float = WRENCH
) -> tuple[float, float]:
    """Least and greatest preload of a torque: friction and the wrench are not known better [N].

    Formula: ``T·(1 ∓ w)/(K·d)`` with the greatest nut factor K for the least.

    Raises
    ------
    QuantityError : a finish that is not in `NUT_FACTORS`

    Source: bands of `NUT_FACTORS`; wrench by ISO 6789, from memory.
    """
    low, high = nut_factors(finish)
    least = preload_of(torque * (1.0 - wrench), diameter, high)
    return least, preload_of(torque * (1.0 + wrench), diameter, low)


def nut_factors(finish: str) -> tuple[float, float]:
    """Least and greatest nut factor of a finish [-].

    Raises
    ------
    QuantityError : a finish that is not in `NUT_FACTORS`
    """
    if finish not in NUT_FACTORS:
        raise QuantityError(
            f"no bolts are '{finish[:40]}' here", remedy=f"say one of: {', '.join(NUT_FACTORS)}"
        )
    return NUT_FACTORS[finish]


def proof_preload(thread: Thread, grade: str, share: float = 0.75) -> float:
    """Usual preload of a bolt that is to be undone again, ``F = share·S_p·A_t`` [N].

    Raises
    ------
    QuantityError : a grade that is not in `GRADES`

    Source: T. H. Wentzell, *Machine Design*, ch. 6 (0.85 there); 0.75 is usual for joints undone again.
    """
    if grade not in GRADES:
        raise QuantityError(f"no grade '{grade[:40]}' is known", remedy=f"known are {', '.join(GRADES)}")
    return share * GRADES[grade].proof * thread.stress_area


def turn_angle(preload: float, length: float, area: float, modulus: float, pitch: float) -> float:
    """Angle by which a nut is turned to stretch its bolt to a preload, the joint taken as rigid.

    Formula: ``θ = 2π·F·L/(A·E·P)`` [rad], clamped length L [m], area A [m²], modulus E [Pa], pitch P [m].

    Source: T. H. Wentzell, *Machine Design*, ch. 6, ex. 6.2.
    """
    return 2.0 * math.pi * preload * length / (area * modulus * pitch)


@dataclass(frozen=True)
class Hole:
    """A tapped hole.

    Parameters
    ----------
    thread : of the hole
    engagement : length of full thread the bolt takes hold of [m]
    strength : tensile strength of the tapped metal [Pa]
    damaged : threads seen torn or pulled, counted off the engagement [-]
    """

    thread: Thread
    engagement: float
    strength: float
    damaged: float = 0.0

    @property
    def sound_engagement(self) -> float:
        """Engagement without the torn threads [m]."""
        return max(self.engagement - self.damaged * self.thread.pitch, 0.0)

    @property
    def strip_force(self) -> float:
        """Force at which the hole's thread strips, least material taken: ``F = τ·AS`` [N]."""
        return SHEAR_SHARE * self.strength * hole_shear_area(self.thread, self.sound_engagement)


def insert_strip_force(hole: Hole) -> float:
    """Force at which a wire insert would tear out: its own outer thread shears the parent metal [N].

    The hole is tapped larger by ``1.299·P``, so the metal shears further out.

    Source: wire thread inserts, tap of d + 1.299·P, from memory; shear area by FED-STD-H28/2B.
    """
    wide = Thread(
        f"{hole.thread.name} insert",
        hole.thread.diameter + 1.5 * hole.thread.height,
        hole.thread.pitch,
        hole.thread.metric,
    )
    least = least_material(wide)
    return SHEAR_SHARE * hole.strength * hole_shear_area(wide, hole.engagement, least)


@dataclass(frozen=True)
class ThreadAdvice:
    """What to do about a tapped hole: its strip strength over the greatest preload [-], and words."""

    margin: float
    insert: bool
    text: str


def thread_advice(hole: Hole, torque: float, finish: str, *, wanted: float = WANTED_MARGIN) -> ThreadAdvice:
    """Whether a tapped hole bears a torque, and what to do where it does not.

    The greatest preload of the torque's band is taken: oil on the thread pulls far harder than a dry one.

    Source: strip strength by FED-STD-H28/2B; when to fit an insert is common practice.
    """
    greatest = preload_band(torque, hole.thread.diameter, finish)[1]
    margin = hole.strip_force / greatest if greatest > 0.0 else math.inf
    needed = engagement_needed(wanted * greatest, hole.thread, SHEAR_SHARE * hole.strength)
    said = (
        f"{show(torque, 'lb ft')} may pull {show(greatest, 'N', digits=0)}; the thread strips at "
        f"{show(hole.strip_force, 'N', digits=0)}, {margin:.1f} times that"
    )
    if margin >= wanted:
        return ThreadAdvice(margin, False, f"{said}: it holds")
    with_insert = insert_strip_force(hole) / greatest
    longer = f"a bolt that takes hold over {show(needed, 'mm', digits=1)}"
    if with_insert >= wanted:
        cure = f"fit a wire insert ({with_insert:.1f} times)"
        if hole.damaged == 0.0:
            cure += f", or {longer} if the hole is deep enough"
    else:
        cure = f"even an insert gives only {with_insert:.1f} times: {longer}, a bush, or less torque"
    return ThreadAdvice(margin, True, f"{said}: {cure}")


def star_pattern(bolts: int) -> tuple[int, ...]:
    """Order in which the bolts of a ring are tightened, numbered round it from 1: across, then across again.

    Each next bolt is the one furthest from all those done, the least number where several are.

    Raises
    ------
    QuantityError : no bolts

    Source: common practice, no source.
    """
    if bolts < 1:
        raise QuantityError("a flange has at least one bolt", where="tightening order")

    def apart(one: int, other: int) -> int:
        round_ = abs(one - other) % bolts
        return min(round_, bolts - round_)

    order = [0]
    while len(order) < bolts:
        left = [bolt for bolt in range(bolts) if bolt not in order]
        order.append(max(left, key=lambda b: (min(apart(b, d) for d in order), apart(b, order[-1]), -b)))
    return tuple(bolt + 1 for bolt in order)


def middle_out(places: Sequence[tuple[float, float]]) -> tuple[int, ...]:
    """Order for a pan, cover or valve body: from the middle outwards, sides in turn; numbered from 1.

    Parameters
    ----------
    places : of the bolts in any unit, along and across

    Raises
    ------
    QuantityError : no bolts

    Source: common practice, no source.
    """
    if not places:
        raise QuantityError("a flange has at least one bolt", where="tightening order")
    along = sum(x for x, _ in places) / len(places)
    across = sum(y for _, y in places) / len(places)
    far = [math.hypot(x - along, y - across) for x, y in places]
    left = sorted(range(len(places)), key=lambda i: (round(far[i], 9), i))
    order = [left.pop(0)]
    while left:
        here = places[order[-1]]
        # Among those about as far from the middle as the nearest left, the one most opposite the last.
        near = [i for i in left if far[i] <= far[left[0]] * 1.25 + 1e-12]
        pick = max(near, key=lambda i: (math.dist(places[i], here), -i))
        left.remove(pick)
        order.append(pick)
    return tuple(i + 1 for i in order)


def tightening_steps(torque: float) -> tuple[float, ...]:
    """Torques of the rounds: a third, two thirds, the whole, and the whole once more to be sure [N·m].

    Source: common practice, no source.
    """
    return torque / 3.0, 2.0 * torque / 3.0, torque, torque


def preload_text(torque: float, thread: Thread, finish: str) -> str:
    """A torque and what it pulls, in words."""
    # Friction is known to a part in two: more than three figures would say what nobody knows.
    low, high = (float(f"{end:.3g}") for end in preload_band(torque, thread.diameter, finish))
    return f"{show(torque, 'lb ft')} on {thread.name}, {finish}: {show_interval(low, high, 'N', digits=0)}"
