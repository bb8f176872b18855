"""The throttle signal of a vacuum modulator."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellhousing.hydraulics.arrays import Array, Values


@dataclass(frozen=True)
class ThrottleSignal:
    """Lumped modulator: m = max(0, full - slope · vacuum - cutback · governor).

    Parameters
    ----------
    full : signal without vacuum, car standing; spring force over valve area [Pa]
    slope : signal lost per vacuum; diaphragm area over valve area [-]
    cutback : signal lost per governor pressure [-]
    stuck : 1 where the valve is stuck, else 0
    stuck_at : signal of a stuck valve [Pa]
    ceiling : most the valve can pass, the line that feeds it [Pa]
    """

    full: Values
    slope: Values
    cutback: Values
    stuck: Values = 0.0
    stuck_at: Values = 0.0
    ceiling: Values = np.inf


def modulator_from_parts(
    diaphragm_area: Values,
    spring_force: Values,
    valve_area: Values,
    cutback: Values,
    *,
    stuck: Values = 0.0,
    stuck_at: Values = 0.0,
    ceiling: Values = np.inf,
) -> ThrottleSignal:
    """Lump diaphragm, spring and valve into the signal curve: full = F / A_v, slope = A_d / A_v.

    Parameters
    ----------
    diaphragm_area : effective area of the diaphragm [m²]
    spring_force : spring force on the valve, screw setting included [N]
    valve_area : modulator valve area [m²]
    cutback : area governor pressure acts on, over valve area [-]
    stuck, stuck_at, ceiling : as in `ThrottleSignal` [-], [Pa], [Pa]

    Source: force balance of a spring-loaded valve, A. Esposito, Fluid Power with Applications, ex. 8.1.
    """
    return ThrottleSignal(
        full=np.asarray(np.divide(spring_force, valve_area), dtype=np.float64),
        slope=np.asarray(np.divide(diaphragm_area, valve_area), dtype=np.float64),
        cutback=cutback,
        stuck=stuck,
        stuck_at=stuck_at,
        ceiling=ceiling,
    )


def standing_signal(signal: ThrottleSignal, vacuum: Values) -> Array:
    """Signal before cut-back and before the valve's ends, full - slope · vacuum [Pa]; may be negative.

    Parameters
    ----------
    signal : the modulator
    vacuum : vacuum at the modulator, positive below atmosphere [Pa]
    """
    return np.asarray(signal.full - np.multiply(signal.slope, vacuum), dtype=np.float64)


def throttle_signal(signal: ThrottleSignal, vacuum: Values, governor: Values = 0.0) -> Array:
    """Throttle signal pressure, m = max(0, full - slope · vacuum - cutback · governor) [Pa].

    Parameters
    ----------
    signal : the modulator
    vacuum : vacuum at the modulator, positive below atmosphere [Pa]
    governor : governor pressure [Pa]
    """
    free = np.maximum(standing_signal(signal, vacuum) - np.multiply(signal.cutback, governor), 0.0)
    free = np.minimum(free, signal.ceiling)
    return np.asarray(np.where(np.greater(signal.stuck, 0.5), signal.stuck_at, free), dtype=np.float64)
