"""Engine: full-throttle torque over speed, and the vacuum it gives at idle and under load."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bellhousing.hydraulics.atmosphere import manifold_vacuum
from bellhousing.road.cars import Cars

FloatArray = NDArray[np.float64]

INHG = 3386.389
"""One inch of mercury at 0 degC [Pa]."""

FALL_OFF = 0.35
"""Share of peak torque lost at rest and at twice the peak speed: a parabola, common practice, no source."""

THROTTLE_VACUUM = {"light": 15.5, "medium": 9.5, "full": 0.5}
"""Manifold vacuum by which the trade names the throttle [inHg]; common practice, no source."""

SHUT_VACUUM = 20.0 * INHG
"""Manifold vacuum with the throttle shut and the car rolling [Pa]; common practice, no source."""

THROTTLE_SPREAD = {"light": 0.7, "medium": 0.7, "full": 0.2}


def full_torque(cars: Cars, speed: FloatArray | float) -> FloatArray:
    """Full-throttle torque, T = T_peak (1 - c ((w - w_peak)/w_peak)^2) [N m], at engine speed [rad/s]."""
    apart = (np.asarray(speed) - cars["engine.peak_speed"]) / cars["engine.peak_speed"]
    torque = cars["engine.peak_torque"] * cars["engine.torque_share"] * (1.0 - FALL_OFF * apart**2)
    return np.maximum(torque, 0.0)


def idle_vacuum(cars: Cars, altitude: float) -> FloatArray:
    """Manifold vacuum at a warm idle [Pa], less what altitude and the engine's faults take."""
    return np.asarray(
        np.maximum(manifold_vacuum(cars["engine.idle_vacuum"], altitude) - cars["engine.vacuum_loss"], 0.0)
    )


def vacuum_under_way(cars: Cars, throttle: str) -> FloatArray:
    """Manifold vacuum while driving at "light", "medium" or "full" throttle by foot [Pa]."""
    named = INHG * (THROTTLE_VACUUM[throttle] + THROTTLE_SPREAD[throttle] * cars[f"driver.{throttle}"])
    short = cars["throttle.short"] if throttle == "full" else 0.0
    return _kept(cars, named) + short


def vacuum_at_travel(cars: Cars, travel: FloatArray | float) -> FloatArray:
    """Manifold vacuum under way at a pedal travel x from 0 to 1 [Pa], p = p_shut (1 - x).

    That it falls in proportion is common practice, no source; a pedal that stops short leaves what it leaves.
    """
    named = SHUT_VACUUM * (1.0 - np.clip(np.asarray(travel, dtype=np.float64), 0.0, 1.0))
    return np.asarray(np.maximum(_kept(cars, named), cars["throttle.short"]))


def _kept(cars: Cars, named: FloatArray) -> FloatArray:
    """What a worn or choked engine keeps of a sound one's vacuum [Pa]."""
    share = np.maximum(0.0, 1.0 - cars["engine.vacuum_loss"] / cars["engine.idle_vacuum"])
    sag = 1.0 - 0.6 * cars["engine.back_pressure"]
    return np.asarray(np.maximum(named, 0.0) * share * sag)
