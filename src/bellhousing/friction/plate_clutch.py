"""Plate clutches: mean radius, pressure on the faces, apply force and torque."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bellhousing.errors import QuantityError

FloatArray = NDArray[np.float64]


def mean_radius_uniform_wear(inner_radius: ArrayLike, outer_radius: ArrayLike) -> FloatArray:
    """Mean friction radius of a worn-in face.

    Formula: ``R = (ro + ri)/2`` [m].

    Raises
    ------
    QuantityError : an outer radius is not larger than its inner radius

    Source: R. S. Khurmi and J. K. Gupta, *Theory of Machines*, ch. 10, uniform wear.
    """
    inner, outer = _radii(inner_radius, outer_radius)
    return (outer + inner) / 2.0


def mean_radius_uniform_pressure(inner_radius: ArrayLike, outer_radius: ArrayLike) -> FloatArray:
    """Mean friction radius of a new face.

    Formula: ``R = ⅔·(ro³ − ri³)/(ro² − ri²)`` [m].

    Raises
    ------
    QuantityError : an outer radius is not larger than its inner radius

    Source: R. S. Khurmi and J. K. Gupta, *Theory of Machines*, ch. 10, uniform pressure.
    """
    inner, outer = _radii(inner_radius, outer_radius)
    return 2.0 / 3.0 * (outer**3 - inner**3) / (outer**2 - inner**2)


def friction_faces(driving_plates: ArrayLike, driven_plates: ArrayLike) -> FloatArray:
    """Number of pairs of rubbing faces in a pack with plates turn about.

    Formula: ``n = n1 + n2 − 1`` [-].

    Source: R. S. Khurmi and J. K. Gupta, *Theory of Machines*, ch. 10, multiple disc clutch.
    """
    return _array(driving_plates) + _array(driven_plates) - 1.0


def plate_clutch_torque(
    faces: ArrayLike, friction: ArrayLike, force: ArrayLike, radius: ArrayLike
) -> FloatArray:
    """Torque a plate clutch can carry.

    Formula: ``T = n·μ·F·R`` [N·m], with pairs of faces n [-], friction coefficient μ [-], force F [N]
    and mean radius R [m].

    Source: R. S. Khurmi and J. K. Gupta, *Theory of Machines*, ch. 10.
    """
    return _array(faces) * _array(friction) * _array(force) * _array(radius)


def plate_clutch_force(
    torque: ArrayLike, faces: ArrayLike, friction: ArrayLike, radius: ArrayLike
) -> FloatArray:
    """Force a plate clutch needs for a torque.

    Formula: ``F = T/(n·μ·R)`` [N].

    Source: R. S. Khurmi and J. K. Gupta, *Theory of Machines*, ch. 10.
    """
    return _array(torque) / plate_clutch_torque(faces, friction, 1.0, radius)


def faces_needed(torque: ArrayLike, friction: ArrayLike, force: ArrayLike, radius: ArrayLike) -> FloatArray:
    """Whole number of pairs of faces a torque needs.

    Formula: ``n = ⌈T/(μ·F·R)⌉`` [-].

    Source: R. S. Khurmi and J. K. Gupta, *Theory of Machines*, ch. 10, solved for the faces.
    """
    return np.ceil(_array(torque) / plate_clutch_torque(1.0, friction, force, radius))


def peak_pressure_uniform_wear(
    force: ArrayLike, inner_radius: ArrayLike, outer_radius: ArrayLike
) -> FloatArray:
    """Pressure at the inner edge of a worn-in face, where it is highest.

    Formula: ``p = F/(2π·ri·(ro − ri))`` [Pa]; it falls as 1/r to ``p·ri/ro`` at the outer edge.

    Raises
    ------
    QuantityError : an outer radius is not larger than its inner radius

    Source: R. S. Khurmi and J. K. Gupta, *Theory of Machines*, ch. 10, uniform wear.
    """
    return _array(force) / force_from_peak_pressure(1.0, inner_radius, outer_radius)


def edge_pressure_uniform_wear(
    force: ArrayLike, inner_radius: ArrayLike, outer_radius: ArrayLike
) -> FloatArray:
    """Pressure at the outer edge of a worn-in face, where it is lowest.

    Formula: ``p = F/(2π·ro·(ro − ri))`` [Pa].

    Raises
    ------
    QuantityError : an outer radius is not larger than its inner radius

    Source: R. S. Khurmi and J. K. Gupta, *Theory of Machines*, ch. 10, uniform wear.
    """
    inner, outer = _radii(inner_radius, outer_radius)
    return peak_pressure_uniform_wear(force, inner, outer) * inner / outer


def force_from_peak_pressure(
    peak_pressure: ArrayLike, inner_radius: ArrayLike, outer_radius: ArrayLike
) -> FloatArray:
    """Force that a worn-in face bears at a given pressure at its inner edge.

    Formula: ``F = 2π·p·ri·(ro − ri)`` [N].

    Raises
    ------
    QuantityError : an outer radius is not larger than its inner radius

    Source: R. S. Khurmi and J. K. Gupta, *Theory of Machines*, ch. 10, uniform wear.
    """
    inner, outer = _radii(inner_radius, outer_radius)
    return 2.0 * np.pi * _array(peak_pressure) * inner * (outer - inner)


def mean_pressure(force: ArrayLike, inner_radius: ArrayLike, outer_radius: ArrayLike) -> FloatArray:
    """Mean pressure on a face.

    Formula: ``p = F/(π·(ro² − ri²))`` [Pa].

    Raises
    ------
    QuantityError : an outer radius is not larger than its inner radius

    Source: R. S. Khurmi and J. K. Gupta, *Theory of Machines*, ch. 10.
    """
    inner, outer = _radii(inner_radius, outer_radius)
    return _array(force) / (np.pi * (outer**2 - inner**2))


def apply_force(
    pressure: ArrayLike,
    piston_area: ArrayLike,
    return_force: ArrayLike,
    centrifugal: ArrayLike = 0.0,
) -> FloatArray:
    """Force of an apply piston on the pack, never below zero.

    Formula: ``F = max(0, p·A + F_centrifugal − F_return)`` [N], with pressure p [Pa] and area A [m²].

    Source: force balance of the piston (common practice, no source).
    """
    balance = _array(pressure) * _array(piston_area) + _array(centrifugal) - _array(return_force)
    return np.maximum(0.0, balance)


def centrifugal_force(
    density: ArrayLike,
    speed: ArrayLike,
    inner_radius: ArrayLike,
    outer_radius: ArrayLike,
    feed_radius: ArrayLike = 0.0,
) -> FloatArray:
    """Force of the spinning oil behind an annular piston; it adds to apply and opposes release.

    Formula: ``F = ¼·π·ρ·ω²·(ro² − ri²)·(ro² + ri² − 2·r0²)`` [N], the integral over the piston of
    ``½·ρ·ω²·(r² − r0²)``, with the oil's density ρ [kg/m³], the drum's speed ω [rad/s], the piston's
    radii [m] and the radius r0 [m] from which the oil is fed; 0 for a drum that stands.

    Raises
    ------
    QuantityError : an outer radius is not larger than its inner radius

    Source: own derivation from hydrostatics of a rotating fluid (common practice, no source).
    """
    inner, outer = _radii(inner_radius, outer_radius)
    spread = (outer**2 - inner**2) * (outer**2 + inner**2 - 2.0 * _array(feed_radius) ** 2)
    return np.pi / 4.0 * _array(density) * _array(speed) ** 2 * spread


def torque_of_uneven_friction(
    pressure: ArrayLike,
    inner_friction: ArrayLike,
    outer_friction: ArrayLike,
    inner_radius: ArrayLike,
    outer_radius: ArrayLike,
) -> FloatArray:
    """Torque of one pair of faces under even pressure whose friction goes evenly from edge to edge.

    Formula: ``T = ∫ 2π·r²·μ(r)·p dr = 2π·p·(a·(ro³ − ri³)/3 + b·(ro⁴ − ri⁴)/4)`` [N·m] with
    ``μ = a + b·r`` [-], b = (μo − μi)/(ro − ri), pressure p [Pa] and radii [m].

    Raises
    ------
    QuantityError : an outer radius is not larger than its inner radius

    Source: integral of the friction on the face; R. S. Khurmi and J. K. Gupta, *Theory of Machines*, ch. 10.
    """
    inner, outer = _radii(inner_radius, outer_radius)
    rise = (_array(outer_friction) - _array(inner_friction)) / (outer - inner)
    level = _array(inner_friction) - rise * inner
    turning = level * (outer**3 - inner**3) / 3.0 + rise * (outer**4 - inner**4) / 4.0
    return 2.0 * np.pi * _array(pressure) * turning


def _array(value: ArrayLike) -> FloatArray:
    return np.asarray(value, dtype=np.float64)


def _radii(inner: ArrayLike, outer: ArrayLike) -> tuple[FloatArray, FloatArray]:
    inside, outside = _array(inner), _array(outer)
    if np.any(inside < 0.0) or np.any(outside <= inside):
        raise QuantityError("the outer radius must be larger than the inner radius", where="friction face")
    return inside, outside
