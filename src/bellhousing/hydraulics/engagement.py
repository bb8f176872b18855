"""How long a clutch takes to fill."""

from __future__ import annotations

import numpy as np

from bellhousing.hydraulics.arrays import Array, Values
from bellhousing.hydraulics.leakage import pipe_flow
from bellhousing.hydraulics.line import circuit_flow
from bellhousing.hydraulics.root import bracket_root

DISCHARGE_COEFFICIENT = 0.62
"""Sharp-edged orifice [-]; from memory, 0.60-0.65."""


def feed_flow(
    feed_diameter: Values,
    pressure_drop: Values,
    density: Values,
    viscosity: Values,
    passage_length: Values = 0.3,
    coefficient: Values = DISCHARGE_COEFFICIENT,
) -> Array:
    """Flow through a feed orifice and the passage of the same bore behind it [m³/s].

    Orifice and laminar passage in series: Δp = ρ/2 · (Q / (C_d A))² + 128 μ L / (π d⁴) · Q, whose
    positive root is exact. Cold oil chokes the passage, hot oil only meets the orifice.

    Parameters
    ----------
    feed_diameter : [m]
    pressure_drop : across both [Pa]
    density : of the fluid [kg/m³]
    viscosity : dynamic viscosity [Pa s]
    passage_length : [m]
    coefficient : discharge coefficient of the orifice [-]

    Source: sum of the laws of `leakage.orifice_flow` and `leakage.pipe_flow`.
    """
    square = np.square(feed_diameter)
    drop = np.maximum(np.asarray(pressure_drop, dtype=np.float64), 0.0)
    area = np.multiply(coefficient, 0.25 * np.pi * square)
    a = 0.5 * np.asarray(density) / np.square(area)
    b = 1.0 / pipe_flow(feed_diameter, 1.0, viscosity, passage_length)
    return np.asarray(2.0 * drop / (b + np.sqrt(b * b + 4.0 * a * drop)))


def filling_flow(
    target: Values,
    delivery: Values,
    laminar_conductance: Values,
    orifice_conductance: Values,
    feed_diameter: Values,
    *,
    density: Values,
    viscosity: Values,
    pump_leakage: Values = 0.0,
    return_pressure: Values = 0.0,
    passage_length: Values = 0.3,
) -> Array:
    """Flow into a clutch while it fills: what its feed passes, or what the pump has to spare if less [m³/s].

    While the pump has flow to spare the line stays at its target; else the line sinks to the one
    pressure at which circuits, pump leakage and feed together take the whole delivery, found by
    bracketing to 1e-9.

    Parameters
    ----------
    target : line pressure while the pump has flow to spare [Pa]
    delivery : pump flow against no pressure [m³/s]
    laminar_conductance, orifice_conductance : of all other circuits [m³/s/Pa], [m³/s/√Pa]
    feed_diameter : of the feed orifice [m]
    density, viscosity : of the fluid, dynamic viscosity [kg/m³], [Pa s]
    pump_leakage : internal loss of the pump per pressure [m³/s/Pa]
    return_pressure : pressure that moves the piston against its springs [Pa]
    passage_length : of the feed passage [m]
    """
    full = np.asarray(target, dtype=np.float64)
    laminar = np.add(laminar_conductance, pump_leakage)

    def feed(pressure: Array) -> Array:
        return feed_flow(feed_diameter, pressure - return_pressure, density, viscosity, passage_length)

    def spare(pressure: Array) -> Array:
        return delivery - circuit_flow(pressure, laminar, orifice_conductance) - feed(pressure)

    left = spare(full)
    high = np.broadcast_to(full, left.shape)
    if np.all(left >= 0.0):
        return feed(high)
    sunk = bracket_root(spare, np.zeros(left.shape), high)
    return feed(np.where(left >= 0.0, high, np.where(np.isnan(sunk), 0.0, sunk)))


def fill_time(volume: Values, flow: Values, *, extra_volume: Values = 0.0, leak: Values = 0.0) -> Array:
    """Time from selecting a range to a full clutch, t = (V + V_extra) / (Q - Q_leak) [s].

    Parameters
    ----------
    volume : of the apply chamber and its passages [m³]
    flow : into the clutch, from `filling_flow` [m³/s]
    extra_volume : drained passages, worn plates [m³]
    leak : flow lost past the seals while filling [m³/s]

    Returns
    -------
    time; inf where the leak takes all that comes
    """
    left = np.maximum(np.subtract(flow, leak), 0.0)
    with np.errstate(divide="ignore"):
        return np.asarray(np.add(volume, extra_volume) / left, dtype=np.float64)
