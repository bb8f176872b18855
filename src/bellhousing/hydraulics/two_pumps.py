"""Line pressure where a pump on the output shaft joins the engine's through a check valve."""

from __future__ import annotations

import numpy as np

from bellhousing.hydraulics.arrays import Array, Values
from bellhousing.hydraulics.line import held_pressure, regulated_pressure


def held_by_two_pumps(
    front: Values,
    rear: Values,
    laminar_conductance: Values,
    orifice_conductance: Values,
    *,
    front_leakage: Values = 0.0,
    rear_leakage: Values = 0.0,
    check_open: Values = 0.0,
) -> Array:
    """Pressure at which the circuits take all that both pumps deliver [Pa].

    D_f - G_f p + max(D_r - G_r p, c (D_r - G_r p)) = G p + K √p: the check valve lets the rear pump in only
    where it would pass the line, and a check valve that leaks lets the share c of what it lacks flow back.
    The left side falls and the right rises with p, so there is one root: it is that with the front pump
    alone where the rear pump could not reach that pressure, else that with both.

    Parameters
    ----------
    front, rear : pump flows against no pressure [m³/s]
    laminar_conductance, orifice_conductance : as in `line.circuit_flow`
    front_leakage, rear_leakage : internal losses per pressure [m³/s/Pa]
    check_open : share by which the check valve fails to close, 0 to 1 [-]
    """
    alone = held_pressure(front, laminar_conductance, orifice_conductance, front_leakage)
    joins = np.greater(rear, np.multiply(rear_leakage, np.where(np.isfinite(alone), alone, 0.0)))
    share = np.where(joins, 1.0, check_open)
    return held_pressure(
        front + share * rear,
        laminar_conductance,
        orifice_conductance,
        front_leakage + share * rear_leakage,
    )


def line_of_two_pumps(
    target: Values,
    droop: Values,
    front: Values,
    rear: Values,
    laminar_conductance: Values,
    orifice_conductance: Values,
    *,
    front_leakage: Values = 0.0,
    rear_leakage: Values = 0.0,
    check_open: Values = 0.0,
) -> Array:
    """Line pressure with both pumps: the lower of what the regulator leaves and what they can hold [Pa].

    Parameters
    ----------
    target : regulator target [Pa]
    droop : pressure lost per flow taken [Pa s/m³]
    front, rear, laminar_conductance, orifice_conductance : as in `held_by_two_pumps`
    front_leakage, rear_leakage, check_open : as there
    """
    left = regulated_pressure(target, droop, laminar_conductance, orifice_conductance)
    held = held_by_two_pumps(
        front,
        rear,
        laminar_conductance,
        orifice_conductance,
        front_leakage=front_leakage,
        rear_leakage=rear_leakage,
        check_open=check_open,
    )
    return np.minimum(left, held)
