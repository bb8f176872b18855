"""Where pressure goes: slot, pipe, orifice, sealing ring, and a clutch fed through an orifice."""

from __future__ import annotations

import numpy as np

from bellhousing.hydraulics.arrays import Array, Values

SEAT_FILM = 3.0e-6
"""Oil film a sound sealing ring rides on [m]; common practice, no source."""
RING_TILT = 0.05
"""Share of the side clearance by which a ring lifts off its seat; common practice, no source."""


def slot_flow(
    width: Values, height: Values, pressure_drop: Values, viscosity: Values, length: Values
) -> Array:
    """Laminar flow between parallel faces, Q = b h³ Δp / (12 μ L) [m³/s].

    Parameters
    ----------
    width : across the flow [m]
    height : of the gap [m]
    pressure_drop : along the slot [Pa]
    viscosity : dynamic viscosity [Pa s]
    length : along the flow [m]

    Source: R. W. Fox and A. T. McDonald, Introduction to Fluid Mechanics, chapter 8.
    """
    gap = np.asarray(height, dtype=np.float64)
    drive = np.multiply(width, pressure_drop) * (gap * gap * gap)
    return np.asarray(drive / (12.0 * np.multiply(viscosity, length)))


def pipe_flow(diameter: Values, pressure_drop: Values, viscosity: Values, length: Values) -> Array:
    """Laminar flow through a round passage, Q = π d⁴ Δp / (128 μ L) [m³/s].

    Parameters
    ----------
    diameter : of the passage [m]
    pressure_drop : along it [Pa]
    viscosity : dynamic viscosity [Pa s]
    length : of the passage [m]

    Source: R. W. Fox and A. T. McDonald, Introduction to Fluid Mechanics, chapter 8, ex. 8.4.
    """
    square = np.square(diameter)
    return np.asarray(np.pi * square * square * pressure_drop / (128.0 * np.multiply(viscosity, length)))


def orifice_flow(coefficient: Values, area: Values, pressure_drop: Values, density: Values) -> Array:
    """Flow through an orifice, Q = C_d A √(2 Δp / ρ) [m³/s].

    Parameters
    ----------
    coefficient : discharge coefficient [-]
    area : of the orifice [m²]
    pressure_drop : across it, not negative [Pa]
    density : of the fluid [kg/m³]

    Source: A. Esposito, Fluid Power with Applications, chapter 8, ex. 8.4.
    """
    root = np.sqrt(2.0 * np.asarray(pressure_drop) / density)
    return np.asarray(np.multiply(coefficient, area) * root, dtype=np.float64)


def sealing_ring_flow(
    diameter: Values,
    side_clearance: Values,
    end_gap: Values,
    pressure_drop: Values,
    viscosity: Values,
    *,
    shaft_clearance: Values = 1.0e-4,
    ring_width: Values = 2.4e-3,
    ring_height: Values = 2.0e-3,
) -> Array:
    """Leak past one sealing ring [m³/s]: it holds most of the fluid, never all.

    A film under the seated face, Q₁ = slot(π d, film + tilt · side clearance, length = ring height),
    beside the open end gap, Q₂ = slot(end gap, shaft clearance, length = ring width). The film never
    closes, so neither does the leak.

    Parameters
    ----------
    diameter : of the bore the ring runs in [m]
    side_clearance : ring in its groove [m]
    end_gap : of the ring in its bore [m]
    pressure_drop : across the ring [Pa]
    viscosity : dynamic viscosity [Pa s]
    shaft_clearance : radial, shaft to bore [m]
    ring_width, ring_height : axial width and radial height of the ring [m]

    Source of the slot law: `slot_flow`; film and tilt are common practice, no source.
    """
    film = SEAT_FILM + RING_TILT * np.asarray(side_clearance, dtype=np.float64)
    seat = slot_flow(np.pi * np.asarray(diameter), film, pressure_drop, viscosity, ring_height)
    return seat + slot_flow(end_gap, shaft_clearance, pressure_drop, viscosity, ring_width)


def clutch_pressure(line: Values, feed_conductance: Values, leak_conductance: Values) -> Array:
    """Pressure left at a leaking clutch behind its feed orifice [Pa].

    The feed K √(L - p) equals the leak G · p; the one root is p = 2 L / (1 + √(1 + 4 L G² / K²)).

    Parameters
    ----------
    line : line pressure [Pa]
    feed_conductance : K of the feed orifice, C_d A √(2 / ρ) [m³/s/√Pa]
    leak_conductance : G of the laminar leaks [m³/s/Pa]

    Returns
    -------
    apply pressure; the whole line where nothing leaks, 0 where nothing is fed but something leaks
    """
    pressure = np.asarray(line, dtype=np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.square(np.divide(leak_conductance, feed_conductance))
    ratio = np.where(np.equal(leak_conductance, 0.0), 0.0, ratio)
    return np.asarray(2.0 * pressure / (1.0 + np.sqrt(1.0 + 4.0 * pressure * ratio)))
