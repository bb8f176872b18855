"""The fluid: viscosity and density over temperature, viscosity index."""

from __future__ import annotations

import numpy as np

from bellhousing.errors import QuantityError
from bellhousing.hydraulics.arrays import Array, Values

_CENTISTOKE = 1.0e-6
_ZERO_CELSIUS = 273.15

THINNEST = 2.0e-6
"""Kinematic viscosity at 100 °C below which ASTM D2270 defines no index [m²/s]."""

_VI_EDGES = np.array([2.0, 3.8, 4.4, 5.0, 6.4, 7.0, 7.7, 9.0, 12.0, 15.0, 18.0, 22.0, 28.0, 40.0, 55.0, 70.0])
_VI_LOW = np.array(
    [
        (1.14673, 1.7576, -0.109),
        (3.38095, -15.4952, 33.196),
        (2.5, -7.2143, 13.812),
        (0.101, 16.635, -45.469),
        (3.35714, -23.5643, 78.466),
        (0.01191, 21.475, -72.870),
        (0.41858, 16.1558, -56.040),
        (0.88779, 7.5527, -16.600),
        (0.7672, 10.7972, -38.180),
        (0.97305, 5.3135, -2.200),
        (0.97256, 5.25, -0.980),
        (0.91413, 7.4759, -21.820),
        (0.87031, 9.7157, -50.770),
        (0.84703, 12.6752, -133.310),
        (0.85921, 11.1009, -83.19),
        (0.8353, 14.67, -216.0),
    ]
)
_VI_HIGH = np.array(
    [
        (0.84155, 1.5521, -0.077),
        (0.78571, 1.7929, -0.183),
        (0.82143, 1.5679, 0.119),
        (0.04985, 9.1613, -18.557),
        (0.22619, 7.7369, -16.656),
        (0.79762, -0.7321, 14.61),
        (0.05794, 10.5156, -28.240),
        (0.26665, 6.7015, -10.810),
        (0.20073, 8.4658, -22.490),
        (0.28889, 5.9741, -4.930),
        (0.24504, 7.416, -16.730),
        (0.20323, 9.1267, -34.230),
        (0.18411, 10.1015, -46.750),
        (0.17029, 11.4866, -80.620),
        (0.1713, 11.368, -76.940),
        (0.1684, 11.85, -97.0),
    ]
)


def walther_constants(nu_40: Values, nu_100: Values) -> tuple[Array, Array]:
    """Constants A and B of log log(ν + 0.7) = A - B log T, ν in cSt and T in kelvin, logs to base 10.

    Parameters
    ----------
    nu_40, nu_100 : kinematic viscosity at 40 °C and at 100 °C [m²/s]

    Source: ASTM D341.
    """
    z_40, z_100 = _double_log(nu_40), _double_log(nu_100)
    t_40, t_100 = np.log10(_ZERO_CELSIUS + 40.0), np.log10(_ZERO_CELSIUS + 100.0)
    slope = (z_40 - z_100) / (t_100 - t_40)
    return z_40 + slope * t_40, slope


def kinematic_viscosity(celsius: Values, nu_40: Values, nu_100: Values) -> Array:
    """Kinematic viscosity at a temperature, through the 40 °C and 100 °C points [m²/s].

    Parameters
    ----------
    celsius : temperature [°C]
    nu_40, nu_100 : kinematic viscosity at 40 °C and at 100 °C [m²/s]

    Source: ASTM D341.
    """
    a, b = walther_constants(nu_40, nu_100)
    double = a - b * np.log10(np.asarray(celsius, dtype=np.float64) + _ZERO_CELSIUS)
    return np.asarray((10.0 ** (10.0**double) - 0.7) * _CENTISTOKE)


def reference_viscosities(nu_100: Values) -> tuple[Array, Array]:
    """L and H: viscosity at 40 °C of the oils of index 0 and 100 that share ν at 100 °C [m²/s].

    Parameters
    ----------
    nu_100 : kinematic viscosity at 100 °C, 2 cSt or more [m²/s]

    Raises
    ------
    QuantityError : thinner than the standard covers

    Source: ASTM D2270, table X2.1 below 70 cSt and section 5.1.2 from there on.
    """
    y = np.asarray(nu_100, dtype=np.float64) / _CENTISTOKE
    if np.any(np.asarray(nu_100) < THINNEST):
        raise QuantityError("viscosity index is not defined below 2 cSt at 100 °C")
    row = np.searchsorted(_VI_EDGES, y, side="right") - 1
    low, high = _VI_LOW[row], _VI_HIGH[row]
    l_value = (low[..., 0] * y + low[..., 1]) * y + low[..., 2]
    h_value = (high[..., 0] * y + high[..., 1]) * y + high[..., 2]
    return l_value * _CENTISTOKE, h_value * _CENTISTOKE


def viscosity_index(nu_40: Values, nu_100: Values, references: tuple[Values, Values] | None = None) -> Array:
    """Viscosity index: procedure A up to 100, procedure B above [-].

    A: VI = 100 (L - U) / (L - H). B: VI = (10^N - 1) / 0.00715 + 100 with N = (log H - log U) / log Y.

    Parameters
    ----------
    nu_40, nu_100 : kinematic viscosity at 40 °C and at 100 °C, U and Y [m²/s]
    references : L and H [m²/s]; computed from Y where not given

    Source: ASTM D2270, sections 5 and 6.
    """
    l_value, h_value = reference_viscosities(nu_100) if references is None else references
    u, y = np.asarray(nu_40, dtype=np.float64), np.asarray(nu_100, dtype=np.float64)
    index_a = 100.0 * (l_value - u) / np.subtract(l_value, h_value)
    n = np.log10(h_value / u) / np.log10(y / _CENTISTOKE)
    index_b = (10.0**n - 1.0) / 0.00715 + 100.0
    return np.asarray(np.where(u <= h_value, index_b, index_a), dtype=np.float64)


def density(rho_15: Values, celsius: Values, k0: Values = 0.0, k1: Values = 0.6278) -> Array:
    """Density at a temperature, ρ = ρ₁₅ exp(-α t (1 + 0.8 α t)), t = T - 15, α = K₀/ρ₁₅² + K₁/ρ₁₅ [kg/m³].

    Parameters
    ----------
    rho_15 : density at 15 °C [kg/m³]
    celsius : temperature [°C]
    k0, k1 : constants of the product; the usual ones are those of lubricating oil, from memory

    Source: ASTM D1250 (API MPMS chapter 11.1).
    """
    base = np.asarray(rho_15, dtype=np.float64)
    alpha = k0 / np.square(base) + k1 / base
    rise = alpha * (np.asarray(celsius, dtype=np.float64) - 15.0)
    return np.asarray(base * np.exp(-rise * (1.0 + 0.8 * rise)))


def _double_log(nu: Values) -> Array:
    """log10 log10(ν + 0.7) with ν in cSt."""
    return np.asarray(np.log10(np.log10(np.asarray(nu, dtype=np.float64) / _CENTISTOKE + 0.7)))
