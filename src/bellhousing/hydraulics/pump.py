"""The gear pump: what it delivers, what it loses inside."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellhousing.hydraulics.arrays import Array, Values
from bellhousing.hydraulics.leakage import slot_flow

_TURN = 2.0 * np.pi


@dataclass(frozen=True)
class Pump:
    """An engine-driven pump.

    Parameters
    ----------
    displacement : per revolution [m³]
    efficiency : volumetric efficiency before pressure losses [-]
    leakage : internal loss per pressure with fluid at its reference temperature [m³/s/Pa]
    flow_limit : most the intake and filter pass [m³/s]
    """

    displacement: Values
    efficiency: Values = 1.0
    leakage: Values = 0.0
    flow_limit: Values = np.inf


def pump_flow(
    displacement: Values, speed: Values, efficiency: Values = 1.0, flow_limit: Values = np.inf
) -> Array:
    """Flow a pump delivers against no pressure, Q = min(V · n · η_v, limit) [m³/s].

    Parameters
    ----------
    displacement : per revolution [m³]
    speed : pump speed [rad/s]
    efficiency : volumetric efficiency [-]
    flow_limit : most the intake and filter pass [m³/s]

    Source: A. Esposito, Fluid Power with Applications, chapter 5, ex. 5.2.
    """
    free = np.multiply(displacement, efficiency) * (np.asarray(speed) / _TURN)
    return np.asarray(np.minimum(free, flow_limit), dtype=np.float64)


def pump_leakage(
    side_clearance: Values,
    tip_clearance: Values,
    *,
    seal_length: Values,
    seal_width: Values,
    gear_width: Values,
    tip_length: Values,
    viscosity: Values,
) -> Array:
    """Internal loss per pressure of a gear pump: two side slots and one tip slot in parallel [m³/s/Pa].

    Parameters
    ----------
    side_clearance : clearance at each face, taken on both [m]
    tip_clearance : gear tip to crescent [m]
    seal_length, seal_width : path from pressure to intake across a face, and its width [m]
    gear_width : width of the tip slot [m]
    tip_length : length of tip lands in series along the crescent [m]
    viscosity : dynamic viscosity [Pa s]

    Source of the slot law: `leakage.slot_flow`; the arrangement of the slots is common practice.
    """
    faces = 2.0 * slot_flow(seal_width, side_clearance, 1.0, viscosity, seal_length)
    return np.asarray(faces + slot_flow(gear_width, tip_clearance, 1.0, viscosity, tip_length))
