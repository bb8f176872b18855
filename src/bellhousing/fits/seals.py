"""O-rings and square-cut rings in their grooves: squeeze, stretch, fill, and what age leaves of them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from bellhousing.errors import QuantityError
from bellhousing.fits.dash_sizes import DashSize, dash_sizes

Duty = Literal["static", "dynamic"]
Shape = Literal["round", "square"]

SQUEEZE: Mapping[Duty, tuple[float, float]] = MappingProxyType(
    {"static": (0.15, 0.30), "dynamic": (0.10, 0.16)}
)
"""Least and most squeeze of a ring that stands still, and of one that slides; seal makers' guides."""

MOST_FILL = 0.85
"""Most of a groove that a ring may fill, so that it can swell [-]; seal makers' guides."""

MOST_STRETCH = 0.05
"""Most an inside diameter may be stretched on its groove [-]; seal makers' guides."""

HARDNESS = (70.0, 80.0)
"""Usual hardness of rings [Shore A]; *Mechanical Engineer's Handbook*, vol. 3, p. 290."""

STONE = 95.0
"""Hardness at which rubber no longer springs back while one waits [Shore A]; common practice, no source."""


def squeeze(section: float, depth: float) -> float:
    """Share of its section by which a ring is pressed together.

    Formula: ``s = (W − depth)/W`` [-], section W [m] and depth from groove floor to the facing wall [m];
    negative where the ring does not reach across. The same for round and square sections.

    Raises
    ------
    QuantityError : a section or depth that is not positive

    Source: seal makers' guides to O-ring glands.
    """
    _positive(section=section, depth=depth)
    return (section - depth) / section


def squeeze_span(section: float, tolerance: float, shallowest: float, deepest: float) -> tuple[float, float]:
    """Least and most squeeze within the tolerances of ring and gland.

    Formula: ``(W ∓ tol − depth)/(W ∓ tol)`` with the deepest gland for the least and the shallowest for the
    most [-]; lengths [m].

    Source: seal makers' gland tables, which are reproduced by it to half a point.
    """
    return squeeze(section - tolerance, deepest), squeeze(section + tolerance, shallowest)


@dataclass(frozen=True)
class Groove:
    """A groove on a piston in its bore: diameter of its floor and its width [m]."""

    diameter: float
    width: float


def piston_groove(bore: float, section: float, wanted: float) -> Groove:
    """The groove that gives a ring the squeeze wanted on a piston, the clearance of the piston left out.

    Formula: ``Gd = D − 2·(1 − s)·W``, ``width = W + 2·s·W`` [m], bore D and section W [m], squeeze s [-].

    Source: J. Sullivan, *Fluid Power: Theory and Applications*, 4th ed., ch. 11, ex. 11.1, p. 269.
    """
    _positive(bore=bore, section=section)
    return Groove(bore - 2.0 * (1.0 - wanted) * section, section * (1.0 + 2.0 * wanted))


def stretch(inside_diameter: float, installed_diameter: float) -> float:
    """Share by which a ring's inside diameter is stretched in its groove; negative where it is loose [-].

    Formula: ``d_installed/ID − 1``.

    Source: definition.
    """
    _positive(inside_diameter=inside_diameter, installed_diameter=installed_diameter)
    return installed_diameter / inside_diameter - 1.0


def stretched_section(section: float, inside_diameter: float, installed_diameter: float) -> float:
    """Section left of a stretched ring: rubber keeps its volume.

    Formula: ``W' = W·√(ID/d_installed)`` [m].

    Source: constant volume of rubber; the formula is from memory.
    """
    _positive(section=section, inside_diameter=inside_diameter, installed_diameter=installed_diameter)
    return section * math.sqrt(inside_diameter / installed_diameter)


def ring_volume(section: float, inside_diameter: float, shape: Shape = "round") -> float:
    """Volume of a ring.

    Formula: ``¼·π²·W²·(ID + W)`` of a round section, ``π·W²·(ID + W)`` of a square-cut one [m³].

    Source: volume of a body of revolution (Pappus).
    """
    around = math.pi * (inside_diameter + section)
    return around * section**2 * (math.pi / 4.0 if shape == "round" else 1.0)


def gland_fill(
    section: float,
    inside_diameter: float,
    width: float,
    depth: float,
    *,
    shape: Shape = "round",
    floor: float | None = None,
) -> float:
    """Share of a groove on a shaft or piston that a ring fills [-].

    Formula: ring volume over ``π·(d + depth)·width·depth`` with the diameter d of the groove's floor, the
    ring's inside diameter as it lies there unless given; lengths [m].

    Source: definition; at most 0.85 by seal makers' guides.
    """
    _positive(width=width, depth=depth)
    gland = math.pi * ((inside_diameter if floor is None else floor) + depth) * width * depth
    return ring_volume(section, inside_diameter, shape) / gland


def squeeze_budget(new: float, swell: float, lost: float) -> float:
    """Squeeze after swelling and loss by setting or shrinking, all as shares of the section [-].

    Formula: ``s = s_new + swell − lost``.

    Source: J. Sullivan, *Fluid Power: Theory and Applications*, 4th ed., ch. 11, ex. 11.3.
    """
    return new + swell - lost


def compression_set(thickness: float, spacer: float, recovered: float) -> float:
    """Compression set of a sample kept at constant deflection, as a share of that deflection.

    Formula: ``C_B = (t0 − ti)/(t0 − tn)`` [-], first thickness t0, spacer tn, thickness after ti [m].

    Raises
    ------
    QuantityError : the spacer is not thinner than the sample

    Source: ASTM D395-16, method B.
    """
    if not 0.0 < spacer < thickness:
        raise QuantityError("a spacer must be thinner than the sample", where="compression set")
    return (thickness - recovered) / (thickness - spacer)


def section_after(section: float, depth: float, *, set_share: float = 0.0, shrink: float = 0.0) -> float:
    """Section a ring springs back to after years in its groove.

    Formula: ``W' = (W − C·(W − depth))·(1 − shrink)`` [m]: of the squeeze the share C has become permanent,
    and the rubber has shrunk by losing what was softening it.

    Source: compression set as of ASTM D395-16, method B; the shrinking multiplies it, own derivation.
    """
    squeezed = max(section - depth, 0.0)
    return (section - set_share * squeezed) * (1.0 - shrink)


def remaining_squeeze(
    section: float, depth: float, *, set_share: float = 0.0, shrink: float = 0.0, swell: float = 0.0
) -> float:
    """Squeeze left after years, as a share of the new section; negative where the ring stands clear [-].

    Formula: ``s_new + swell − (W − W')/W`` with W' of `section_after`.

    Source: `squeeze_budget`; own derivation from `section_after`.
    """
    lost = (section - section_after(section, depth, set_share=set_share, shrink=shrink)) / section
    return squeeze_budget(squeeze(section, depth), swell, lost)


def spring_back(hardness: float) -> float:
    """Share of its squeeze that a ring gives back as its faces move apart.

    Formula: 1 up to 80 Shore A, falling evenly to 0 at 95 [-].

    Source: usual hardness of 70 to 80, *Mechanical Engineer's Handbook*, vol. 3, p. 290; the fall is common
    practice, no source.
    """
    return min(1.0, max(0.0, (STONE - hardness) / (STONE - HARDNESS[1])))


def follows(
    section: float,
    depth: float,
    *,
    set_share: float = 0.0,
    shrink: float = 0.0,
    swell: float = 0.0,
    hardness: float = 75.0,
) -> float:
    """How far the faces may move apart, by heat, pressure or play, before the ring lets go.

    Formula: ``s·W·spring-back`` [m] with s of `remaining_squeeze`, negative where it stands clear already.

    Source: own derivation from `remaining_squeeze` and `spring_back`.
    """
    left = section * remaining_squeeze(section, depth, set_share=set_share, shrink=shrink, swell=swell)
    return left * spring_back(hardness) if left > 0.0 else left


OUT_OF_REACH = 0.2
"""Stretch, or looseness, beyond which a ring is not even looked at [-]; common practice, no source."""


@dataclass(frozen=True)
class Fitted:
    """A standard ring in a groove.

    Parameters
    ----------
    size : the ring
    stretch, squeeze, fill : as it lies there [-]
    least_squeeze, most_squeeze : with the tolerance of its section [-]
    problems : what speaks against it, in words; empty if it fits
    """

    size: DashSize
    stretch: float
    squeeze: float
    least_squeeze: float
    most_squeeze: float
    fill: float
    problems: tuple[str, ...]

    @property
    def fits(self) -> bool:
        """Whether nothing speaks against it."""
        return not self.problems


def fitted(
    size: DashSize,
    floor: float,
    depth: float,
    width: float,
    duty: Duty = "static",
    shape: Shape = "round",
) -> Fitted:
    """A ring judged in a groove on a shaft or piston.

    Parameters
    ----------
    size : the ring
    floor : diameter of the groove's floor [m]
    depth : from the floor to the facing wall [m]
    width : of the groove [m]
    duty : whether the ring stands still or slides
    shape : of its section

    Source: limits of `SQUEEZE`, `MOST_FILL`, `MOST_STRETCH`.
    """
    _positive(floor=floor, depth=depth, width=width)
    pulled = stretch(size.inside_diameter, floor)
    # A loose ring is not thickened: it is pressed outwards by its own oil and lies against the wall.
    lying = max(floor, size.inside_diameter)
    thin = stretched_section(size.section, size.inside_diameter, lying)
    fill = gland_fill(thin, lying, width, depth, shape=shape, floor=floor)
    within = squeeze(thin, depth)
    return Fitted(
        size,
        pulled,
        within,
        *squeeze_span(thin, size.section_tolerance, depth, depth),
        fill,
        _problems(pulled, within, fill, thin > width, duty),
    )


def _problems(pulled: float, within: float, fill: float, wide: bool, duty: Duty) -> tuple[str, ...]:
    least, most = SQUEEZE[duty]
    found = []
    if within <= 0.0:
        found.append("it does not reach across the gland")
    elif within < least:
        found.append(f"squeeze of {100 * within:.0f} %, less than {100 * least:.0f} %")
    if within > most:
        found.append(f"squeeze of {100 * within:.0f} %, more than {100 * most:.0f} %")
    if pulled > MOST_STRETCH:
        found.append(f"stretched by {100 * pulled:.0f} %, more than {100 * MOST_STRETCH:.0f} %")
    if pulled < -MOST_STRETCH:
        found.append(f"loose by {100 * -pulled:.0f} %: it folds when the parts go together")
    if wide:
        found.append("thicker than the groove is wide")
    elif fill > MOST_FILL:
        found.append(f"fills {100 * fill:.0f} % of the groove, more than {100 * MOST_FILL:.0f} %")
    return tuple(found)


def sizes_for(
    floor: float, depth: float, width: float, duty: Duty = "static", *, most: int = 3
) -> tuple[Fitted, ...]:
    """Standard rings for a measured groove, those that fit first, each with what speaks against it.

    Among those that fit, the one stretched least beyond two in a hundred comes first, then the one nearest
    the middle of the squeeze allowed. Boss rings are for tube fittings only and are left out; empty where no
    ring is anywhere near.

    Parameters
    ----------
    floor, depth, width, duty : of the groove, as for `fitted`
    most : how many are returned

    Source: limits of `SQUEEZE`, `MOST_FILL`, `MOST_STRETCH`; the order is common practice.
    """
    middle = sum(SQUEEZE[duty]) / 2.0
    near = (
        size
        for size in dash_sizes().values()
        if not size.tube and abs(stretch(size.inside_diameter, floor)) <= OUT_OF_REACH
    )
    tried = [fitted(size, floor, depth, width, duty) for size in near]
    tried.sort(
        key=lambda entry: (
            entry.squeeze <= 0.0,
            len(entry.problems),
            round(abs(entry.stretch - 0.02), 3) if abs(entry.stretch - 0.02) > 0.02 else 0.0,
            abs(entry.squeeze - middle),
        )
    )
    return tuple(tried[:most])


def _positive(**lengths: float) -> None:
    for name, value in lengths.items():
        if not value > 0.0:
            raise QuantityError(f"{name.replace('_', ' ')} must be more than nothing", where="seal")
