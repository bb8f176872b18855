"""The throttle signal of a linkage: a valve pushed by a rod from the accelerator."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellhousing.hydraulics.arrays import Array, Values
from bellhousing.hydraulics.modulator import ThrottleSignal


@dataclass(frozen=True)
class ThrottleValve:
    """Lumped throttle valve: pressure over pedal travel, three points joined by straight lines.

    Parameters
    ----------
    closed, half, full : pressure with the throttle shut, half open and fully open, rod set right [Pa]
    rod_gradient : pressure per length the rod is too long [Pa/m]
    rod_error : how much too long the rod is set; negative, too short [m]
    play : lost motion in the linkage, taken up before the valve moves [m]
    stuck : 1 where the valve is stuck, else 0
    stuck_at : signal of a stuck valve [Pa]
    ceiling : most the valve can pass, the line that feeds it [Pa]
    """

    closed: Values
    half: Values
    full: Values
    rod_gradient: Values = 0.0
    rod_error: Values = 0.0
    play: Values = 0.0
    stuck: Values = 0.0
    stuck_at: Values = 0.0
    ceiling: Values = np.inf


def throttle_valve_pressure(valve: ThrottleValve, travel: Values) -> Array:
    """Pressure of a free throttle valve, p(x) + gradient · (error - play), from nought to its ceiling [Pa].

    p(x) joins closed, half and full pressure by straight lines. Play acts only once the pedal has moved, and
    takes no more than what the travel has added. The three-point law is common practice, no source.

    Parameters
    ----------
    valve : the throttle valve
    travel : share of the accelerator's travel, 0 to 1 [-]
    """
    x = np.clip(np.asarray(travel, dtype=np.float64), 0.0, 1.0)
    first = np.subtract(valve.half, valve.closed) * np.minimum(2.0 * x, 1.0)
    second = np.subtract(valve.full, valve.half) * np.maximum(2.0 * x - 1.0, 0.0)
    added = first + second
    lost = np.minimum(np.multiply(valve.rod_gradient, valve.play), np.maximum(added, 0.0))
    free = valve.closed + added - lost + np.multiply(valve.rod_gradient, valve.rod_error)
    return np.asarray(np.minimum(np.maximum(free, 0.0), valve.ceiling), dtype=np.float64)


def linkage_signal(valve: ThrottleValve, travel: Values) -> ThrottleSignal:
    """The throttle signal at one pedal travel, as shift valves and regulator take it: no vacuum, no cut-back.

    Parameters
    ----------
    valve : the throttle valve
    travel : share of the accelerator's travel, 0 to 1 [-]
    """
    return ThrottleSignal(
        full=throttle_valve_pressure(valve, travel),
        slope=0.0,
        cutback=0.0,
        stuck=valve.stuck,
        stuck_at=np.minimum(valve.stuck_at, valve.ceiling),
    )
