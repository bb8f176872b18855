"""How long a clutch takes to fill."""

from __future__ import annotations

import numpy as np

from bellhousing.hydraulics.arrays import Array, Values

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
    b = 128.0 * np.multiply(viscosity, passage_length) / (np.pi * square * square)
    return np.asarray(2.0 * drop / (b + np.sqrt(b * b + 4.0 * a * drop)))


def fill_time(
    volume: Values,
    feed_diameter: Values,
    line: Values,
    surplus: Values,
    *,
    density: Values,
    viscosity: Values,
    extra_volume: Values = 0.0,
    return_pressure: Values = 0.0,
    leak: Values = 0.0,
    passage_length: Values = 0.3,
) -> Array:
    """Time from selecting a range to a full clutch, t = (V + V_extra) / (min(Q_pump, Q_feed) - Q_leak) [s].

    Parameters
    ----------
    volume : of the apply chamber and its passages [m³]
    feed_diameter : of the feed orifice [m]
    line : line pressure while filling [Pa]
    surplus : flow the pump has to spare at that pressure [m³/s]
    density, viscosity : of the fluid, dynamic viscosity [kg/m³], [Pa s]
    extra_volume : drained passages, worn plates [m³]
    return_pressure : pressure that moves the piston against its springs [Pa]
    leak : flow lost past the seals while filling [m³/s]
    passage_length : of the feed passage [m]

    Returns
    -------
    time; inf where the leak takes all that comes
    """
    drop = np.subtract(line, return_pressure)
    feed = feed_flow(feed_diameter, drop, density, viscosity, passage_length)
    flow = np.maximum(np.minimum(feed, surplus) - leak, 0.0)
    with np.errstate(divide="ignore"):
        return np.asarray(np.add(volume, extra_volume) / flow, dtype=np.float64)
