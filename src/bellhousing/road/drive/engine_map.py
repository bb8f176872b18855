"""Engine torque and manifold vacuum over speed and throttle."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bellhousing.hydraulics.atmosphere import manifold_vacuum, standard_pressure
from bellhousing.road.cars import Cars
from bellhousing.road.engine import FALL_OFF, INHG, THROTTLE_SPREAD, THROTTLE_VACUUM

FloatArray = NDArray[np.float64]

WIDE_OPEN = 0.985
"""Manifold over outside pressure with the pedal on the floor at peak-torque speed [-]; common practice, no
source."""


@dataclass(frozen=True)
class EngineMap:
    """Engines of n cars, each field (n,).

    The throttle is an orifice of area a and the engine a pump of speed w, so that the manifold's share of
    the outside pressure is x = a / √(a² + w²), the area measured in rad/s. Torque goes as the charge beyond
    what an idling engine needs for itself: T = T_full(w) (x - x₀) / (1 - x₀). Own closed form; common
    practice, no source.

    Parameters
    ----------
    peak_torque : [N m], faults of the engine counted
    peak_speed : [rad/s]
    own_share : x₀, the manifold's share at a free idle [-]
    shut, wide : throttle area shut and wide open [rad/s]
    outside : outside pressure [Pa]
    shown : share of the vacuum that worn valves and a choked exhaust leave [-]
    short : vacuum left with the pedal on the floor [Pa]
    named : vacuum this driver calls light, medium and full [Pa]
    """

    peak_torque: FloatArray
    peak_speed: FloatArray
    own_share: FloatArray
    shut: FloatArray
    wide: FloatArray
    outside: float
    shown: FloatArray
    short: FloatArray
    named: dict[str, FloatArray]

    def share(self, speed: FloatArray, area: FloatArray, least: FloatArray) -> FloatArray:
        """Manifold over outside pressure [-] at an engine speed [rad/s], never below what the foot holds."""
        whole = speed * speed
        whole += area * area
        np.sqrt(whole, out=whole)
        np.divide(area, whole, out=whole)
        return np.maximum(whole, least, out=whole)

    def torque(self, speed: FloatArray, share: FloatArray) -> FloatArray:
        """Torque [N m] at an engine speed [rad/s] and a manifold share [-]; negative on the overrun."""
        constant, slope, bend = self._ready
        full = bend * speed
        full += slope
        full *= speed
        full += constant
        np.maximum(full, 0.0, out=full)
        full *= share - self.own_share
        return full

    @cached_property
    def _ready(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Full-throttle torque per manifold share as a parabola of engine speed, its three numbers."""
        per_share = self.peak_torque / (1.0 - self.own_share)
        fall = FALL_OFF * per_share / self.peak_speed
        return (1.0 - FALL_OFF) * per_share, 2.0 * fall, -fall / self.peak_speed

    def vacuum(self, share: FloatArray, floor: FloatArray) -> FloatArray:
        """Manifold vacuum a gauge shows [Pa]; `floor` is 1 with the pedal on its stop."""
        return np.asarray(self.outside * (1.0 - share) * self.shown + self.short * floor)


def some_engines(engines: EngineMap, rows: NDArray[np.intp]) -> EngineMap:
    """The engines of some of the cars, as far as they make torque."""
    names = ("peak_torque", "peak_speed", "own_share")
    return replace(engines, **{name: getattr(engines, name)[rows] for name in names})


def engine_map(cars: Cars, altitude: float) -> EngineMap:
    """The engines of these cars at an altitude [m]."""
    outside = float(standard_pressure(altitude))
    idle = np.asarray(manifold_vacuum(cars["engine.idle_vacuum"], altitude))
    own = np.clip(1.0 - idle / outside, 0.05, 0.9)
    worn = np.maximum(0.0, 1.0 - cars["engine.vacuum_loss"] / cars["engine.idle_vacuum"])
    return EngineMap(
        peak_torque=cars["engine.peak_torque"] * cars["engine.torque_share"] * outside / 101325.0,
        peak_speed=cars["engine.peak_speed"],
        own_share=own,
        shut=cars["engine.idle_speed"] * own / np.sqrt(1.0 - own * own),
        wide=cars["engine.peak_speed"] * WIDE_OPEN / np.sqrt(1.0 - WIDE_OPEN**2),
        outside=outside,
        shown=worn * (1.0 - 0.6 * cars["engine.back_pressure"]),
        short=cars["throttle.short"],
        named={
            name: INHG * (THROTTLE_VACUUM[name] + THROTTLE_SPREAD[name] * cars[f"driver.{name}"])
            for name in THROTTLE_VACUUM
        },
    )
