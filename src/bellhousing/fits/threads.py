"""Screw threads: sizes, the least material the tolerances leave, and what shears when a thread strips."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from bellhousing.errors import QuantityError

INCH = 0.0254
COARSE = (
    (0.25, 20),
    (0.3125, 18),
    (0.375, 16),
    (0.4375, 14),
    (0.5, 13),
    (0.5625, 12),
    (0.625, 11),
    (0.75, 10),
)
FINE = ((0.25, 28), (0.3125, 24), (0.375, 24), (0.4375, 20), (0.5, 20), (0.5625, 18), (0.625, 18), (0.75, 16))
NUMBERED = (("#8-32", 0.164, 32), ("#10-24", 0.190, 24), ("#10-32", 0.190, 32))
METRIC = ((5, 0.8), (6, 1.0), (8, 1.25), (10, 1.5), (12, 1.75), (14, 2.0), (16, 2.0))
FRACTIONS = {
    0.25: "1/4", 0.3125: "5/16", 0.375: "3/8", 0.4375: "7/16",
    0.5: "1/2", 0.5625: "9/16", 0.625: "5/8", 0.75: "3/4",
}  # fmt: skip
"""Diameters [in, mm] with threads per inch or pitch [mm]; ASME B1.1 and ISO 261, from memory."""


@dataclass(frozen=True)
class Thread:
    """A thread of the 60° profile: name, diameter and pitch [m], and whether it is metric."""

    name: str
    diameter: float
    pitch: float
    metric: bool = False

    @property
    def height(self) -> float:
        """Height of the sharp triangle, ``H = (√3/2)·P`` [m]."""
        return math.sqrt(3.0) / 2.0 * self.pitch

    @property
    def pitch_diameter(self) -> float:
        """Basic pitch diameter, ``d − 0.649519·P`` [m]; ASME B1.1."""
        return self.diameter - 0.75 * self.height

    @property
    def internal_minor(self) -> float:
        """Basic minor diameter of the nut, ``d − 1.082532·P`` [m]; ASME B1.1."""
        return self.diameter - 1.25 * self.height

    @property
    def external_minor(self) -> float:
        """Minor diameter of the bolt at its rounded root, ``d − 1.190785·P`` [m]; ASME B1.1."""
        return self.diameter - 1.375 * self.height

    @property
    def stress_area(self) -> float:
        """Area that bears the tension.

        Formula: ``π/4·(d − 0.9743·P)²`` of an inch thread (ASME B1.1), ``π/4·(d − 0.9382·P)²`` of a metric
        one (ISO 898-1) [m²].
        """
        return math.pi / 4.0 * (self.diameter - (0.9382 if self.metric else 0.9743) * self.pitch) ** 2


@dataclass(frozen=True)
class LeastMaterial:
    """Least material of a bolt and its tapped hole [m].

    Parameters
    ----------
    major : least major diameter of the bolt
    pitch : least pitch diameter of the bolt
    hole_pitch : greatest pitch diameter of the hole
    hole_minor : greatest minor diameter of the hole
    """

    major: float
    pitch: float
    hole_pitch: float
    hole_minor: float


@cache
def threads() -> Mapping[str, Thread]:
    """The usual threads by name: "3/8-16", "#10-24", "#10-32"."""
    found = {}
    for inches, per_inch in (*COARSE, *FINE):
        name = f"{FRACTIONS[inches]}-{per_inch}"
        found[name] = Thread(name, inches * INCH, INCH / per_inch)
    for name, inches, per_inch in NUMBERED:
        found[name] = Thread(name, inches * INCH, INCH / per_inch)
    for millimetres, pitch in METRIC:
        found[f"M{millimetres}"] = Thread(f"M{millimetres}", millimetres * 1e-3, pitch * 1e-3, metric=True)
    return MappingProxyType(found)


def find_thread(name: str) -> Thread:
    """A thread by name, "3/8-16", "3/8-16 UNC", "M 10 x 1.5" or "M 10".

    Raises
    ------
    QuantityError : it is not known; the known ones are named
    """
    plain = name.strip().replace("×", "x").upper().replace(" ", "")
    for ending in ("UNC", "UNF", "UN"):
        plain = plain.removesuffix(ending)
    head, _, pitch = plain.partition("X")
    found = threads().get(head)
    if found is not None and (not pitch or _same_pitch(pitch, found)):
        return found
    raise QuantityError(f"no thread '{name[:40]}' is known here", remedy=f"known are {', '.join(threads())}")


def _same_pitch(text: str, thread: Thread) -> bool:
    try:
        return abs(float(text) - thread.pitch * 1e3) < 1e-9
    except ValueError:
        return False


def basic_sizes(thread: Thread) -> LeastMaterial:
    """Sizes without any tolerance, as some calculators take them."""
    return LeastMaterial(thread.diameter, thread.pitch_diameter, thread.pitch_diameter, thread.internal_minor)


def least_material(thread: Thread) -> LeastMaterial:
    """Least material within tolerance: classes 2A in 2B of an inch thread, 6g in 6H of a metric one.

    Inch [in]: ``Td2 = 0.0015·∛D + 0.0015·√Le + 0.015·∛P²`` with Le = D, allowance ``0.3·Td2``, tolerances of
    the bolt's major diameter ``0.06·∛P²``, of the hole's pitch diameter ``1.3·Td2`` and of its minor
    diameter ``0.25·P − 0.4·P²`` (below a quarter inch ``0.05·∛P² + 0.03·P/D − 0.002``).

    Source: ASME B1.1 and ISO 965-1, from memory.
    """
    return _least_metric(thread) if thread.metric else _least_inch(thread)


def _least_inch(thread: Thread) -> LeastMaterial:
    d, p = thread.diameter / INCH, thread.pitch / INCH
    two_thirds = p ** (2.0 / 3.0)
    bolt = 0.0015 * d ** (1.0 / 3.0) + 0.0015 * math.sqrt(d) + 0.015 * two_thirds
    play = 0.3 * bolt
    minor = 0.25 * p - 0.4 * p**2 if d >= 0.25 else 0.05 * two_thirds + 0.03 * p / d - 0.002
    return LeastMaterial(
        major=thread.diameter - (play + 0.06 * two_thirds) * INCH,
        pitch=thread.pitch_diameter - (play + bolt) * INCH,
        hole_pitch=thread.pitch_diameter + 1.3 * bolt * INCH,
        hole_minor=thread.internal_minor + minor * INCH,
    )


def _least_metric(thread: Thread) -> LeastMaterial:
    d, p = thread.diameter * 1e3, thread.pitch * 1e3
    play = 15.0 + 11.0 * p
    bolt = 90.0 * p**0.4 * d**0.1
    major = 180.0 * p ** (2.0 / 3.0) - 3.15 / math.sqrt(p)
    minor = 433.0 * p - 190.0 * p**1.22 if p < 1.0 else 230.0 * p**0.7
    return LeastMaterial(
        major=thread.diameter - (play + major) * 1e-6,
        pitch=thread.pitch_diameter - (play + bolt) * 1e-6,
        hole_pitch=thread.pitch_diameter + 1.32 * bolt * 1e-6,
        hole_minor=thread.internal_minor + minor * 1e-6,
    )


def hole_shear_area(thread: Thread, engagement: float, sizes: LeastMaterial | None = None) -> float:
    """Area that shears when the thread of the hole strips.

    Formula: ``AS = π·n·Le·Ds·(1/(2n) + 0.57735·(Ds − En))`` [m²], threads per length n, engagement Le, the
    bolt's least major diameter Ds and the hole's greatest pitch diameter En [m].

    Source: FED-STD-H28/2B.
    """
    limits = sizes or least_material(thread)
    high = thread.pitch / 2.0 + (limits.major - limits.hole_pitch) / math.sqrt(3.0)
    return math.pi / thread.pitch * engagement * limits.major * high


def bolt_shear_area(thread: Thread, engagement: float, sizes: LeastMaterial | None = None) -> float:
    """Area that shears when the thread of the bolt strips.

    Formula: ``AS = π·n·Le·Kn·(1/(2n) + 0.57735·(Es − Kn))`` [m²], the hole's greatest minor diameter Kn and
    the bolt's least pitch diameter Es [m].

    Source: FED-STD-H28/2B.
    """
    limits = sizes or least_material(thread)
    high = thread.pitch / 2.0 + (limits.pitch - limits.hole_minor) / math.sqrt(3.0)
    return math.pi / thread.pitch * engagement * limits.hole_minor * high


def engagement_for_bolt(thread: Thread, sizes: LeastMaterial | None = None) -> float:
    """Engagement at which a bolt breaks before its own thread strips.

    Formula: ``Le = 2·At/(π·n·Kn·(1/(2n) + 0.57735·(Es − Kn)))`` [m]: the thread shears at half the tensile
    strength.

    Source: FED-STD-H28/2B.
    """
    return 2.0 * thread.stress_area / bolt_shear_area(thread, 1.0, sizes)


def weaker_hole_factor(
    thread: Thread, bolt_strength: float, hole_strength: float, sizes: LeastMaterial | None = None
) -> float:
    """How many times longer the engagement must be because the tapped metal is softer; at least 1 [-].

    Formula: ``J = As·σ_bolt/(An·σ_hole)``, ``Le' = max(1, J)·Le``, shear areas As of the bolt and An of the
    hole, tensile strengths σ [Pa].

    Source: FED-STD-H28/2B.
    """
    ratio = bolt_shear_area(thread, 1.0, sizes) / hole_shear_area(thread, 1.0, sizes)
    return max(1.0, ratio * bolt_strength / hole_strength)


def engagement_needed(
    force: float, thread: Thread, shear_strength: float, sizes: LeastMaterial | None = None
) -> float:
    """Engagement at which the hole's thread just bears a force.

    Formula: ``Le = F/(τ·AS/Le)`` [m], force F [N] and shear strength τ [Pa].

    Source: FED-STD-H28/2B, shear area of the internal thread.
    """
    return force / (shear_strength * hole_shear_area(thread, 1.0, sizes))
