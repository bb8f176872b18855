"""What passes a lip or ring that no longer reaches its wall all round."""

from __future__ import annotations

import numpy as np

from bellhousing.hydraulics.arrays import Array, Values

RUBBER_EXPANSION = 1.6e-4
"""Linear expansion of nitrile rubber [1/K]; from memory, 1.1e-4 to 1.8e-4."""
METAL_EXPANSION = 2.3e-5
"""Linear expansion of aluminium [1/K]; from memory."""
BENCH = 20.0
"""Temperature at which a seal is measured [degC]."""


def reach_at(reach: Values, height: Values, celsius: Values) -> Array:
    """How far rubber reaches beyond its wall at a temperature, r_20 + h (α_rubber - α_metal) (T - 20) [m].

    Parameters
    ----------
    reach : at 20 degC, negative where it stands clear [m]
    height : of the rubber across the gap [m]
    celsius : temperature [degC]

    Source: linear expansion; coefficients from memory.
    """
    warm = np.multiply(height, RUBBER_EXPANSION - METAL_EXPANSION) * (np.asarray(celsius) - BENCH)
    return np.asarray(reach + warm, dtype=np.float64)


def gap_cubed(reach: Values, out_of_round: Values) -> Array:
    """Integral round a wall out of round of the gap cubed, ∮ max(0, e cos θ - r)³ dθ [m³].

    Where the lip stands clear all round, r ≤ -e, it is 2π g³ (1 + 1.5 (e/g)²) with the mean gap g = -r, the
    law of an eccentric annulus; where it reaches everywhere, r ≥ e, it is nought.

    Parameters
    ----------
    reach : of the rubber beyond its wall, negative where it stands clear [m]
    out_of_round : amplitude by which the wall lies off the lip, eccentric or oval [m]

    Source: integral of the cube; where all is clear, the mean of (1 + e cos θ)³ of an eccentric annulus.
    """
    r, e = np.broadcast_arrays(
        np.asarray(reach, dtype=np.float64), np.asarray(out_of_round, dtype=np.float64)
    )
    e = np.maximum(e, 1e-9)
    x = np.clip(r / e, -1.0, 1.0)
    theta = np.arccos(x)
    sine = np.sin(theta)
    first, second, third = sine, 0.5 * (theta + sine * x), sine - sine**3 / 3.0
    partly = 2.0 * e**3 * (third - 3.0 * x * second + 3.0 * x**2 * first - x**3 * theta)
    gap = np.maximum(-r, 0.0)
    clear = 2.0 * np.pi * gap**3 + 3.0 * np.pi * gap * e**2
    return np.asarray(np.where(r <= -e, clear, np.where(r >= e, 0.0, np.maximum(partly, 0.0))))


def lip_leakage(
    reach: Values, out_of_round: Values, diameter: Values, contact: Values, viscosity: Values
) -> Array:
    """Flow per pressure past a lip or ring, G = d/2 · ∮ gap³ dθ / (12 μ L) [m³/s/Pa].

    Parameters
    ----------
    reach, out_of_round : as in `gap_cubed` [m]
    diameter : of the wall [m]
    contact : length of the lip along the flow [m]
    viscosity : dynamic viscosity [Pa s]

    Source: the slot law round the wall; clear all round it is that of an annulus, R. W. Fox and A. T.
    McDonald, Introduction to Fluid Mechanics, chapter 8, ex. 8.2.
    """
    around = 0.5 * np.asarray(diameter) * gap_cubed(reach, out_of_round)
    return np.asarray(around / (12.0 * np.multiply(viscosity, contact)))
