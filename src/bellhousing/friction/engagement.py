"""Engagement of a clutch between two inertias: time, energy and temperature rise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Engagement:
    """What a slipping engagement costs.

    time : from first torque to common speed, infinite where the clutch never gets there [s]
    energy : heat put into the faces, infinite where the clutch never gets there [J]
    """

    time: FloatArray
    energy: FloatArray


def effective_inertia(driving_inertia: ArrayLike, driven_inertia: ArrayLike) -> FloatArray:
    """Inertia that a clutch between two free inertias has to bring to rest.

    Formula: ``I = I1·I2/(I1 + I2)`` [kg·m²].

    Source: V. B. Bhandari, *Design of Machine Elements*, ch. 11 (title from memory).
    """
    first, second = _array(driving_inertia), _array(driven_inertia)
    return first * second / (first + second)


def common_speed(
    driving_speed: ArrayLike, driving_inertia: ArrayLike, driven_speed: ArrayLike, driven_inertia: ArrayLike
) -> FloatArray:
    """Speed at which two free inertias meet.

    Formula: ``w = (I1·w1 + I2·w2)/(I1 + I2)`` [rad/s].

    Source: conservation of angular momentum; R. S. Khurmi and J. K. Gupta, *Theory of Machines*, ch. 10.
    """
    first, second = _array(driving_inertia), _array(driven_inertia)
    return (first * _array(driving_speed) + second * _array(driven_speed)) / (first + second)


def engagement_energy(
    slip_speed: ArrayLike, driving_inertia: ArrayLike, driven_inertia: ArrayLike
) -> FloatArray:
    """Heat of stopping the slip of two free inertias, whatever the torque.

    Formula: ``E = ½·Δw²·I1·I2/(I1 + I2)`` [J], with slip Δw [rad/s], inertias [kg·m²].

    Source: V. B. Bhandari, *Design of Machine Elements*, ch. 11 (title from memory).
    """
    return kinetic_energy(effective_inertia(driving_inertia, driven_inertia), slip_speed)


def kinetic_energy(inertia: ArrayLike, speed: ArrayLike) -> FloatArray:
    """Energy of a turning inertia, and the heat of bringing it up to an unyielding driver's speed.

    Formula: ``E = ½·I·w²`` [J], with inertia I [kg·m²] and speed w [rad/s].

    Source: U. C. Jindal, *Machine Design*, ch. 22.
    """
    return 0.5 * _array(inertia) * _array(speed) ** 2


def temperature_rise(energy: ArrayLike, mass: ArrayLike, specific_heat: ArrayLike) -> FloatArray:
    """Temperature rise of the mass that takes up the heat, none being lost meanwhile.

    Formula: ``ΔT = E/(m·c)`` [K], with energy E [J], mass m [kg] and specific heat c [J/(kg·K)].

    Source: V. B. Bhandari, *Design of Machine Elements*, ch. 12 (title from memory);
    T. H. Wentzell, *Machine Design*, ch. 16.
    """
    return _array(energy) / (_array(mass) * _array(specific_heat))


def ramp_engagement(
    slip_speed: ArrayLike,
    driving_inertia: ArrayLike,
    driven_inertia: ArrayLike,
    *,
    start_torque: ArrayLike,
    end_torque: ArrayLike,
    ramp_time: ArrayLike,
    drive_torque: ArrayLike = 0.0,
    load_torque: ArrayLike = 0.0,
) -> Engagement:
    """Engagement while the accumulator raises the clutch torque evenly, then holds it.

    Formula: ``Δw' = T_drive/I1 + T_load/I2 − T(t)/I`` with ``T(t)`` rising from `start_torque` to
    `end_torque` within `ramp_time` and constant after; ``E = ∫ T·Δw dt`` up to ``Δw = 0``. Slip Δw is
    driving less driven speed, not negative [rad/s]; the drive torque speeds up the driving side, the
    load torque slows down the driven side [N·m]; inertias [kg·m²], times [s].

    Source: own integration of the two-inertia model (common practice, no source).
    """
    values = (slip_speed, driving_inertia, driven_inertia, start_torque, end_torque, ramp_time)
    slip, first, second, start, end, ramp, drive, load = np.broadcast_arrays(
        *(_array(v) for v in (*values, drive_torque, load_torque))
    )
    inertia = effective_inertia(first, second)
    gain = drive / first + load / second
    rate = np.divide(end - start, ramp, out=np.zeros(slip.shape), where=ramp > 0.0)
    in_ramp = _first_root(slip, gain - start / inertia, -rate / (2.0 * inertia))
    done = in_ramp <= ramp
    ramped = np.where(done, in_ramp, ramp)
    slip_left = slip + (gain - start / inertia) * ramped - rate / (2.0 * inertia) * ramped**2
    slip_left = np.where(done, 0.0, slip_left)
    energy = _ramp_energy(slip, gain, inertia, start, rate, ramped)
    fall = end / inertia - gain
    meets = done | (fall > 0.0)
    held = np.zeros(slip.shape)
    np.divide(slip_left, fall, out=held, where=meets & ~done)
    energy = energy + end * slip_left * held / 2.0
    return Engagement(time=np.where(meets, ramped + held, np.inf), energy=np.where(meets, energy, np.inf))


def _ramp_energy(
    slip: FloatArray,
    gain: FloatArray,
    inertia: FloatArray,
    start: FloatArray,
    rate: FloatArray,
    time: FloatArray,
) -> FloatArray:
    """``∫ (T0 + s·t)·(Δ0 + b·t − c·t²) dt`` from 0 to `time` [J]."""
    b = gain - start / inertia
    c = rate / (2.0 * inertia)
    powers = (start * slip, start * b + rate * slip, rate * b - start * c, -rate * c)
    energy = np.zeros(slip.shape)
    for order, coefficient in enumerate(powers, start=1):
        energy = energy + coefficient * time**order / order
    return energy


def _first_root(constant: FloatArray, linear: FloatArray, square: FloatArray) -> FloatArray:
    """Smallest t ≥ 0 with ``constant + linear·t + square·t² = 0``, infinite where there is none."""
    root = np.full(constant.shape, np.inf)
    discriminant = linear**2 - 4.0 * square * constant
    real = discriminant >= 0.0
    spread = np.sqrt(np.where(real, discriminant, 0.0))
    # q has the sign of −linear and never cancels; the two roots are q/square and constant/q
    q = -0.5 * (linear + np.where(linear >= 0.0, spread, -spread))
    for top, bottom in ((q, square), (constant, q)):
        candidate = np.full(constant.shape, np.inf)
        np.divide(top, bottom, out=candidate, where=real & (bottom != 0.0))
        root = np.where(candidate >= 0.0, np.minimum(root, candidate), root)
    return np.where(constant == 0.0, 0.0, root)


def _array(value: ArrayLike) -> FloatArray:
    return np.asarray(value, dtype=np.float64)
