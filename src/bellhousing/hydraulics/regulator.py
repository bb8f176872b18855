"""The pressure the regulator valve asks for, range by range."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellhousing.errors import QuantityError
from bellhousing.hydraulics.arrays import Array, Values

RANGES = ("P", "R", "N", "D", "second", "low")


@dataclass(frozen=True)
class Regulator:
    """Lumped pressure regulator: target = base + gain · signal, boosted in reverse, floored in low ranges.

    Parameters
    ----------
    base : spring pressure [Pa]
    gain : line pressure per throttle signal [-]
    reverse_ratio : line in reverse per line in drive at the same signal [-]
    second_floor, low_floor : least pressure in the second and low ranges [Pa]
    highest, lowest : ends the valve can reach; a valve stuck low or high brings them together [Pa]
    droop : pressure lost per flow taken by the circuits [Pa s/m³]
    """

    base: Values
    gain: Values = 1.0
    reverse_ratio: Values = 1.0
    second_floor: Values = 0.0
    low_floor: Values = 0.0
    highest: Values = np.inf
    lowest: Values = 0.0
    droop: Values = 0.0


def line_target(regulator: Regulator, signal: Values, range_name: str) -> Array:
    """Line pressure the regulator aims at, before droop and before what the pump can hold [Pa].

    Parameters
    ----------
    regulator : the regulator
    signal : throttle signal pressure [Pa]
    range_name : one of `RANGES`

    Raises
    ------
    QuantityError : no such range
    """
    if range_name not in RANGES:
        raise QuantityError(f"no range is called {range_name!r}", remedy="one of " + ", ".join(RANGES))
    target = regulator.base + np.multiply(regulator.gain, signal)
    if range_name == "R":
        target = target * regulator.reverse_ratio
    elif range_name == "second":
        target = np.maximum(target, regulator.second_floor)
    elif range_name == "low":
        target = np.maximum(target, regulator.low_floor)
    return np.asarray(np.minimum(np.maximum(target, regulator.lowest), regulator.highest), dtype=np.float64)
