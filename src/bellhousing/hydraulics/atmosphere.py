"""The standard atmosphere, and what altitude does to manifold vacuum."""

from __future__ import annotations

import numpy as np

from bellhousing.errors import QuantityError
from bellhousing.hydraulics.arrays import Array, Values

SEA_LEVEL_PRESSURE = 101325.0
"""Standard pressure at sea level [Pa]."""
_SEA_LEVEL_TEMPERATURE = 288.15
_LAPSE = 0.0065
_EARTH_RADIUS = 6356766.0
_EXPONENT = 9.80665 * 0.0289644 / (8.31432 * _LAPSE)
_LOWEST, _HIGHEST = -5000.0, 11000.0


def standard_pressure(altitude: Values) -> Array:
    """Air pressure at a geometric altitude, P = P₀ (1 - L · h / T₀)^(g M / R L), h = r z / (r + z) [Pa].

    Parameters
    ----------
    altitude : height above sea level, -5,000 to 11,000 m [m]

    Raises
    ------
    QuantityError : outside the lowest layer

    Source: U.S. Standard Atmosphere, 1976, equations 18, 23 and 33a.
    """
    height = np.asarray(altitude, dtype=np.float64)
    if np.any((height < _LOWEST) | (height > _HIGHEST)):
        raise QuantityError("altitude outside the lowest layer", remedy="between -5,000 and 11,000 m")
    potential = _EARTH_RADIUS * height / (_EARTH_RADIUS + height)
    ratio = 1.0 - _LAPSE * potential / _SEA_LEVEL_TEMPERATURE
    return np.asarray(SEA_LEVEL_PRESSURE * ratio**_EXPONENT)


def manifold_vacuum(sea_level_vacuum: Values, altitude: Values) -> Array:
    """Manifold vacuum of the same engine at altitude, V = max(0, V₀ - (P₀ - P(z))) [Pa].

    The engine keeps its absolute manifold pressure for the same load, so the vacuum loses what the
    air outside loses.

    Parameters
    ----------
    sea_level_vacuum : at sea level [Pa]
    altitude : height above sea level [m]

    Source: about 1 inHg per 1,000 ft, US Army course OD1001, p. 87; the exact loss from the atmosphere.
    """
    loss = SEA_LEVEL_PRESSURE - standard_pressure(altitude)
    return np.asarray(np.maximum(sea_level_vacuum - loss, 0.0), dtype=np.float64)
