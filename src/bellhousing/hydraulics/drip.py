"""What drips: the head of standing fluid, the size of a drop, a spot on card, and how long a level lasts."""

from __future__ import annotations

import numpy as np

from bellhousing.hydraulics.arrays import Array, Values

GRAVITY = 9.80665
"""Standard gravity [m/s²]."""
LEAST_RADIUS_SHARE, MOST_RADIUS_SHARE = 0.3, 1.2
"""Range of r / V^(1/3) over which the share of a drop that falls is known [-]."""


def static_pressure(density: Values, head: Values) -> Array:
    """Pressure under standing fluid, p = ρ g h, nought above its surface [Pa].

    Parameters
    ----------
    density : of the fluid [kg/m³]
    head : of the fluid above the place, negative above the surface [m]
    """
    return np.asarray(np.asarray(density) * GRAVITY * np.maximum(head, 0.0), dtype=np.float64)


def falling_share(radius_share: Values) -> Array:
    """Share of the ideal drop that falls, f = 1 / (2π F), F = 0.14782 + 0.27896 x - 0.1662 x² [-].

    Parameters
    ----------
    radius_share : x, radius of the wetted tip over the cube root of the drop's volume, 0.3 to 1.2 [-]

    Not a number outside that range. Source: W. D. Harkins and F. E. Brown, J. Am. Chem. Soc. 41 (1919) 499,
    as fitted by P. M. Heertjes, L. H. de Nie and H. J. de Vries, Chem. Eng. Sci. 26 (1971) 441.
    """
    x = np.asarray(radius_share, dtype=np.float64)
    share = 1.0 / (2.0 * np.pi * (0.14782 + 0.27896 * x - 0.1662 * np.square(x)))
    return np.where((x >= LEAST_RADIUS_SHARE) & (x <= MOST_RADIUS_SHARE), share, np.nan)


def drop_volume(radius: Values, surface_tension: Values, density: Values) -> Array:
    """Volume of a drop that falls slowly from a wetted tip, V = 2π r γ f(r / V^(1/3)) / (ρ g) [m³].

    Parameters
    ----------
    radius : of the wetted tip [m]
    surface_tension : of the fluid in air [N/m]
    density : of the fluid [kg/m³]

    Not a number where the share f is unknown. Source: T. Tate, Phil. Mag. 27 (1864) 176, corrected as in
    `falling_share`.
    """
    r = np.asarray(radius, dtype=np.float64)
    ideal = 2.0 * np.pi * r * np.asarray(surface_tension) / (np.asarray(density) * GRAVITY)
    # f varies by a tenth over its whole range while x goes with V^(1/3): the iteration contracts by a tenth.
    volume = 0.62 * ideal
    for _ in range(40):
        x = np.clip(r / np.cbrt(volume), LEAST_RADIUS_SHARE, MOST_RADIUS_SHARE)
        volume = ideal * falling_share(x)
    return np.asarray(ideal * falling_share(r / np.cbrt(volume)))


def spot_volume(diameter: Values, thickness: Values, soaked: Values) -> Array:
    """Fluid held by a round spot soaked through an absorbent card, V = π d² t s / 4 [m³].

    Parameters
    ----------
    diameter : of the spot [m]
    thickness : of the card [m]
    soaked : share of the card's volume that the fluid takes up [-]
    """
    return np.asarray(np.pi / 4.0 * np.square(diameter) * np.asarray(thickness) * np.asarray(soaked))


def time_to_lose(volume: Values, steady: Values, by_head: Values, above: Values) -> Array:
    """Time until a volume has gone through a steady leak and one that slackens as the level falls [s].

    dV/dt = a + b · (1 - V / H) while V < H, then a alone: laminar flow through a gap goes with the head, and
    with upright walls the head falls in proportion to the volume lost.

    Parameters
    ----------
    volume : to be lost [m³]
    steady : a, loss that does not depend on the level [m³/s]
    by_head : b, loss through the gap under the present level [m³/s]
    above : H, volume of fluid standing above the gap, nought or less if none [m³]

    Infinite where that volume never goes. Source: integral of the line above.
    """
    wanted, a, b, h = (np.asarray(value, dtype=np.float64) for value in (volume, steady, by_head, above))
    wanted, a, b, h = np.broadcast_arrays(np.maximum(wanted, 0.0), np.maximum(a, 0.0), np.maximum(b, 0.0), h)
    b = np.where(h > 0.0, b, 0.0)
    standing = np.where(b > 0.0, h, 1.0)
    while_standing = np.where(b > 0.0, np.minimum(wanted, standing), 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(b > 0.0, b * while_standing / (standing * (a + b)), 0.0)
        first = np.where(b > 0.0, -standing / np.where(b > 0.0, b, 1.0) * np.log1p(-share), 0.0)
        rest = wanted - while_standing
        second = np.where(rest > 0.0, rest / a, 0.0)
    return np.asarray(first + second)


def volume_lost(seconds: Values, steady: Values, by_head: Values, above: Values) -> Array:
    """Volume lost in a time through the leaks of `time_to_lose` [m³].

    V = H (a + b) / b · (1 - e^(-b t / H)) while V < H, then a alone.

    Parameters
    ----------
    seconds : how long it leaks [s]
    steady, by_head, above : a, b, H as in `time_to_lose`
    """
    given = (np.asarray(value, dtype=np.float64) for value in (seconds, steady, by_head, above))
    t, a, b, h = np.broadcast_arrays(*given)
    a = np.maximum(a, 0.0)
    standing = (b > 0.0) & (h > 0.0)
    b, h = np.where(standing, b, 1.0), np.where(standing, h, 1.0)
    # With no steady leak the fluid above the gap takes for ever to go, and the bound is infinite.
    empties = np.where(standing, time_to_lose(h, a, b, h), 0.0)
    while_standing = -h * (a + b) / b * np.expm1(-b * np.minimum(t, empties) / h)
    return np.asarray(np.where(standing, while_standing, 0.0) + a * np.maximum(t - empties, 0.0))
