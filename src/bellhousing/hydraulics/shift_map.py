"""The shift map: up-, down- and forced-downshift speed of both valves over throttle."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any, TypeVar

import numpy as np

from bellhousing.hydraulics.arrays import Array, Values
from bellhousing.hydraulics.governor import GovernorCurve
from bellhousing.hydraulics.modulator import ThrottleSignal
from bellhousing.hydraulics.shift_valve import ShiftValve, shift_speed
from bellhousing.hydraulics.system import Hydraulics

T = TypeVar("T")
_Parts = tuple[ShiftValve, GovernorCurve, ThrottleSignal, Array]


@dataclass(frozen=True)
class ShiftMap:
    """Output-shaft speeds [rad/s] by sample (n) and vacuum (k); inf = never.

    Parameters
    ----------
    vacuum : the throttle grid, as vacuum at the modulator [Pa], (k,)
    up_first_second, up_second_third : upshifts, (n, k)
    down_second_first, down_third_second : downshifts at that throttle, (n, k)
    forced_second_first, forced_third_second : downshifts with the pedal on its stop, (n, k)
    """

    vacuum: Array
    up_first_second: Array
    up_second_third: Array
    down_second_first: Array
    down_third_second: Array
    forced_second_first: Array
    forced_third_second: Array


def shift_map(
    system: Hydraulics, vacuum: Values, *, range_name: str = "D", line: Values = np.inf
) -> ShiftMap:
    """Shift speeds of every sample at every throttle position.

    Parameters
    ----------
    system : the hydraulics, fields of shape () or (n,)
    vacuum : throttle grid, vacuum at the modulator [Pa], (k,)
    range_name : range whose line pressure feeds the governor
    line : most line pressure there is otherwise, such as what a worn pump holds [Pa], () or (n,)

    Returns
    -------
    arrays of shape (n, k), n = 1 where no field has samples
    """
    grid = np.atleast_1d(np.asarray(vacuum, dtype=np.float64))
    tall: Hydraulics = _column(system)
    cap = np.asarray(line, dtype=np.float64)[..., np.newaxis]
    shape = (max(_samples(system), cap.size), grid.size)
    kicked = tall.detent_pressure
    resting = np.multiply(kicked, tall.detent_stuck)
    first = (tall.first_second, tall.governor, tall.signal, grid)
    second = (tall.second_third, tall.governor, tall.signal, grid)

    def speed(parts: _Parts, detent: Values, *, up: bool) -> Array:
        found = shift_speed(
            *parts, up=up, detent=detent, regulator=tall.regulator, range_name=range_name, line=cap
        )
        return np.array(np.broadcast_to(found, shape))

    return ShiftMap(
        vacuum=grid,
        up_first_second=speed(first, resting, up=True),
        up_second_third=speed(second, resting, up=True),
        down_second_first=speed(first, resting, up=False),
        down_third_second=speed(second, resting, up=False),
        forced_second_first=speed(first, kicked, up=False),
        forced_third_second=speed(second, kicked, up=False),
    )


def road_speed(output_speed: Values, axle_ratio: Values, tyre_radius: Values) -> Array:
    """Road speed from output-shaft speed, v = ω · r / i [m/s].

    Parameters
    ----------
    output_speed : [rad/s]
    axle_ratio : propshaft turns per wheel turn [-]
    tyre_radius : effective rolling radius [m]
    """
    return np.asarray(np.multiply(output_speed, np.divide(tyre_radius, axle_ratio)), dtype=np.float64)


def output_speed(road_speed: Values, axle_ratio: Values, tyre_radius: Values) -> Array:
    """Output-shaft speed from road speed, ω = v · i / r [rad/s].

    Parameters
    ----------
    road_speed : [m/s]
    axle_ratio : propshaft turns per wheel turn [-]
    tyre_radius : effective rolling radius [m]
    """
    return np.asarray(np.multiply(road_speed, axle_ratio) / tyre_radius, dtype=np.float64)


def _column(part: T) -> T:
    """The same parameter object with every (n,) field turned into (n, 1)."""
    changed: dict[str, Any] = {}
    for field in fields(part):  # type: ignore[arg-type]
        value = getattr(part, field.name)
        changed[field.name] = (
            _column(value) if hasattr(value, "__dataclass_fields__") else np.asarray(value)[..., np.newaxis]
        )
    return type(part)(**changed)


def _samples(part: Any) -> int:
    """Number of samples the fields of a parameter object hold."""
    sizes = [
        _samples(value) if hasattr(value, "__dataclass_fields__") else np.size(value)
        for value in (getattr(part, field.name) for field in fields(part))
    ]
    return max(sizes)
