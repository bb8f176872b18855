"""The two-stage centrifugal governor: output-shaft speed to pressure, and back."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellhousing.hydraulics.arrays import Array, Values


@dataclass(frozen=True)
class GovernorCurve:
    """Lumped governor: p = residual + scale · (high · ω² + min(low · ω², stop)).

    Parameters
    ----------
    low : pressure the heavy primary weights give per squared speed, below their stop [Pa s²]
    stop : most pressure the primary weights can give [Pa]
    high : pressure the light secondary weights give per squared speed [Pa s²]
    scale : share of the sound curve that is left; 0 = drive stripped or valve shut [-]
    residual : pressure with the shaft at rest [Pa]
    friction : half the dead band of a sticking valve [Pa]
    """

    low: Values
    stop: Values
    high: Values
    scale: Values = 1.0
    residual: Values = 0.0
    friction: Values = 0.0


def centrifugal_force(mass: Values, radius: Values, speed: Values) -> Array:
    """Centrifugal force of a weight, F = m · r · ω².

    Parameters
    ----------
    mass : weight [kg]
    radius : radius of its centre of mass [m]
    speed : speed of its carrier [rad/s]

    Source: R. S. Khurmi and J. K. Gupta, Theory of Machines, 14th ed., chapter 18.
    """
    return np.asarray(np.multiply(mass, radius) * np.square(speed), dtype=np.float64)


def lever_force(force: Values, force_arm: Values, load_arm: Values) -> Array:
    """Force at the other end of a lever, F₂ = F₁ · a₁ / a₂.

    Parameters
    ----------
    force : force applied [N]
    force_arm : arm on which it acts [m]
    load_arm : arm of the load [m]
    """
    return np.asarray(np.multiply(force, force_arm) / load_arm, dtype=np.float64)


def governor_from_parts(
    primary_mass: Values,
    secondary_mass: Values,
    radius: Values,
    primary_stop: Values,
    area: Values,
    *,
    lever: Values = 1.0,
    scale: Values = 1.0,
    residual: Values = 0.0,
    friction: Values = 0.0,
) -> GovernorCurve:
    """Lump the governor's weights, stop and valve area into its curve, p = F · lever / A.

    Parameters
    ----------
    primary_mass, secondary_mass : heavy and light weights, sum over the carrier [kg]
    radius : radius of their centres of mass [m]
    primary_stop : force at which the primary weights meet their stop [N]
    area : governor valve area [m²]
    lever : force at the valve per force at the weights [-]
    scale, residual, friction : as in `GovernorCurve` [-], [Pa], [Pa]
    """
    return GovernorCurve(
        low=lever_force(centrifugal_force(primary_mass, radius, 1.0), lever, 1.0) / area,
        stop=lever_force(primary_stop, lever, 1.0) / area,
        high=lever_force(centrifugal_force(secondary_mass, radius, 1.0), lever, 1.0) / area,
        scale=scale,
        residual=residual,
        friction=friction,
    )


def governor_pressure(
    curve: GovernorCurve, speed: Values, line: Values = np.inf, *, direction: int = 0
) -> Array:
    """Governor pressure at an output-shaft speed, never above the line pressure that feeds it.

    Parameters
    ----------
    curve : the governor
    speed : output-shaft speed [rad/s]
    line : line pressure [Pa]
    direction : +1 gathering speed, -1 losing it, 0 between: a sticking valve lags by its friction
    """
    square = np.square(speed)
    pressure = curve.residual + curve.scale * (
        curve.high * square + np.minimum(curve.low * square, curve.stop)
    )
    if direction:
        pressure = pressure - direction * curve.friction
    return np.asarray(np.minimum(np.maximum(pressure, 0.0), line), dtype=np.float64)


def governor_speed(curve: GovernorCurve, pressure: Values, *, direction: int = 0) -> Array:
    """Output-shaft speed at which the governor gives a pressure (exact inverse of its curve).

    The curve is concave in ω², so its inverse is the greater of the inverses of its two stages:
    ω² = max(q / (low + high), (q - stop) / high) with q = (p - residual) / scale.

    Parameters
    ----------
    curve : the governor
    pressure : governor pressure asked for [Pa]
    direction : +1 gathering speed, -1 losing it, 0 between

    Returns
    -------
    speed [rad/s]; 0 where the resting governor already gives that pressure, inf where it never does
    """
    wanted = np.asarray(pressure - (np.asarray(curve.residual) - direction * np.asarray(curve.friction)))
    # Divided first where a pressure is asked for at many throttles; nan where nothing is left of a stage.
    with np.errstate(divide="ignore", invalid="ignore"):
        both = 1.0 / np.multiply(curve.scale, np.add(curve.low, curve.high))
        light = 1.0 / np.multiply(curve.scale, curve.high)
        square = np.asarray((wanted - np.multiply(curve.scale, curve.stop)) * light)
        square = np.fmax(square, wanted * both)
        speed = np.sqrt(np.fmax(square, 0.0))
    if np.all(np.isfinite(both)):
        return np.asarray(speed, dtype=np.float64)  # with nothing wanted its square is negative, so 0 already
    return np.asarray(np.where(wanted <= 0.0, 0.0, speed), dtype=np.float64)
