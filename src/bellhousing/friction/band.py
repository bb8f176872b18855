"""Bands: tension along the wrap, torque with and against the drum's turning, servo force, self-locking."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def band_tension_ratio(friction: ArrayLike, wrap: ArrayLike) -> FloatArray:
    """Tension of the tight end over that of the slack end when the band is about to slip.

    Formula: ``T1/T2 = e^(μ·θ)`` [-], with friction coefficient μ [-] and wrap θ [rad].

    Source: U. C. Jindal, *Machine Design*, ch. 23, band brakes (the capstan equation).
    """
    return np.exp(np.asarray(friction, dtype=np.float64) * np.asarray(wrap, dtype=np.float64))


def band_torque(
    force: ArrayLike, friction: ArrayLike, wrap: ArrayLike, radius: ArrayLike, *, energising: ArrayLike
) -> FloatArray:
    """Torque a band can hold for a force at its apply end.

    Formula: ``T = F·r·(e^(μθ) − 1)`` when the drum turns so as to pull the band tighter (the apply end is
    the slack end) and ``T = F·r·(1 − e^(−μθ))`` when it turns the other way [N·m]; force F [N], drum
    radius r [m]. `energising` is true for the first.

    Source: ``T = (T1 − T2)·r``; U. C. Jindal, *Machine Design*, ch. 23.
    """
    ratio = band_tension_ratio(friction, wrap)
    factor = np.where(np.asarray(energising, dtype=np.bool_), ratio - 1.0, 1.0 - 1.0 / ratio)
    return np.asarray(force, dtype=np.float64) * np.asarray(radius, dtype=np.float64) * factor


def slack_tension(tight_tension: ArrayLike, friction: ArrayLike, wrap: ArrayLike) -> FloatArray:
    """Tension of the slack end when that of the tight end is known.

    Formula: ``T2 = T1/e^(μθ)`` [N].

    Source: U. C. Jindal, *Machine Design*, ch. 23, band brakes.
    """
    return np.asarray(tight_tension, dtype=np.float64) / band_tension_ratio(friction, wrap)


def tension_limit(stress: ArrayLike, width: ArrayLike, thickness: ArrayLike) -> FloatArray:
    """Largest tension the band itself bears.

    Formula: ``T1 = σ·w·t`` [N], with stress σ [Pa], width w [m] and thickness t [m].

    Source: U. C. Jindal, *Machine Design*, ch. 23, band brakes.
    """
    area = np.asarray(width, dtype=np.float64) * np.asarray(thickness, dtype=np.float64)
    return np.asarray(stress, dtype=np.float64) * area


def lever_force(
    tight_tension: ArrayLike,
    slack_tension: ArrayLike,
    tight_arm: ArrayLike,
    slack_arm: ArrayLike,
    lever_arm: ArrayLike,
) -> FloatArray:
    """Force on the lever of a differential band, both ends of which pull on the lever.

    Formula: ``P = (T2·d1 − T1·d2)/L`` [N]: the slack end T2 at arm d1 is pulled by the lever, the tight
    end T1 at arm d2 helps it; arms and lever L [m].

    Source: V. B. Bhandari, *Design of Machine Elements*, ch. 12 (title from memory).
    """
    slack = np.asarray(slack_tension, dtype=np.float64) * np.asarray(slack_arm, dtype=np.float64)
    tight = np.asarray(tight_tension, dtype=np.float64) * np.asarray(tight_arm, dtype=np.float64)
    return (slack - tight) / np.asarray(lever_arm, dtype=np.float64)


def self_locking(
    friction: ArrayLike, wrap: ArrayLike, tight_arm: ArrayLike, slack_arm: ArrayLike
) -> NDArray[np.bool_]:
    """Whether a differential band grips by itself, with no force on its lever.

    Formula: self-locking when ``d1/d2 ≤ e^(μθ)``, arms of the slack end d1 and the tight end d2 [m].

    Source: V. B. Bhandari, *Design of Machine Elements*, ch. 12 (title from memory).
    """
    arms = np.asarray(slack_arm, dtype=np.float64) / np.asarray(tight_arm, dtype=np.float64)
    return np.asarray(arms <= band_tension_ratio(friction, wrap), dtype=np.bool_)


def servo_force(
    pressure: ArrayLike, piston_area: ArrayLike, return_force: ArrayLike, leverage: ArrayLike = 1.0
) -> FloatArray:
    """Force of a servo on the apply end of its band, never below zero.

    Formula: ``F = max(0, p·A − F_return)·i`` [N], with pressure p [Pa], area A [m²] and leverage i [-].

    Source: force balance of the piston (common practice, no source).
    """
    pushed = np.asarray(pressure, dtype=np.float64) * np.asarray(piston_area, dtype=np.float64)
    net = np.maximum(0.0, pushed - np.asarray(return_force, dtype=np.float64))
    return net * np.asarray(leverage, dtype=np.float64)
