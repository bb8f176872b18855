"""The shift map: up-, down- and forced-downshift speed of both valves over throttle."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any, TypeVar

import numpy as np

from bellhousing.hydraulics.arrays import Array, Values
from bellhousing.hydraulics.shift_valve import downshift_speed, upshift_speed
from bellhousing.hydraulics.system import Hydraulics

T = TypeVar("T")


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


def shift_map(system: Hydraulics, vacuum: Values, *, range_name: str = "D") -> ShiftMap:
    """Shift speeds of every sample at every throttle position.

    Parameters
    ----------
    system : the hydraulics, fields of shape () or (n,)
    vacuum : throttle grid, vacuum at the modulator [Pa], (k,)
    range_name : range whose line pressure feeds the governor

    Returns
    -------
    arrays of shape (n, k), n = 1 where no field has samples
    """
    grid = np.atleast_1d(np.asarray(vacuum, dtype=np.float64))
    tall: Hydraulics = _column(system)
    shape = (_samples(system), grid.size)
    kicked = tall.detent_pressure
    resting = np.multiply(kicked, tall.detent_stuck)
    rows: dict[str, Array] = {}
    for name, valve, up, down, forced in (
        ("first_second", tall.first_second, "up_first_second", "down_second_first", "forced_second_first"),
        ("second_third", tall.second_third, "up_second_third", "down_third_second", "forced_third_second"),
    ):
        del name
        parts = (valve, tall.governor, tall.signal, grid)
        rows[up] = upshift_speed(*parts, detent=resting, regulator=tall.regulator, range_name=range_name)
        rows[down] = downshift_speed(*parts, detent=resting, regulator=tall.regulator, range_name=range_name)
        rows[forced] = downshift_speed(*parts, detent=kicked, regulator=tall.regulator, range_name=range_name)
    return ShiftMap(vacuum=grid, **{k: np.broadcast_to(v, shape).copy() for k, v in rows.items()})


def road_speed(output_speed: Values, axle_ratio: Values, tyre_radius: Values) -> Array:
    """Road speed from output-shaft speed, v = ω · r / i [m/s].

    Parameters
    ----------
    output_speed : [rad/s]
    axle_ratio : propshaft turns per wheel turn [-]
    tyre_radius : effective rolling radius [m]
    """
    return np.asarray(np.multiply(output_speed, tyre_radius) / axle_ratio, dtype=np.float64)


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
