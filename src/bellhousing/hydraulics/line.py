"""Line pressure: the lower of what the regulator leaves and what the pump can hold."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellhousing.hydraulics.arrays import Array, Values


def circuit_flow(pressure: Values, laminar_conductance: Values, orifice_conductance: Values) -> Array:
    """Flow the circuits take at a line pressure, Q(p) = G · p + K · √p [m³/s].

    Parameters
    ----------
    pressure : line pressure, not negative [Pa]
    laminar_conductance : G, all laminar leaks outside the pump [m³/s/Pa]
    orifice_conductance : K, converter feed and every other orifice [m³/s/√Pa]
    """
    root = np.sqrt(np.asarray(pressure, dtype=np.float64))
    return np.asarray(np.multiply(laminar_conductance, pressure) + np.multiply(orifice_conductance, root))


@dataclass(frozen=True)
class Taking:
    """What takes a flow, as far as it does not hang on the flow.

    Parameters
    ----------
    orifice : conductance of every orifice, K [m³/s/√Pa]; square : K²
    laminar : four times that of all laminar leaks, 4 (G + G_p) [m³/s/Pa]
    """

    orifice: Values
    square: Array
    laminar: Array

    def pressure(self, delivery: Values) -> Array:
        """Pressure at which a delivery is all used up [Pa], as `held_pressure` gives."""
        flow = np.maximum(np.asarray(delivery, dtype=np.float64), 0.0)
        below = self.orifice + np.sqrt(self.square + self.laminar * flow)
        with np.errstate(divide="ignore", invalid="ignore"):
            root = np.where(flow == 0.0, 0.0, 2.0 * flow / below)
        return np.asarray(root * root)


def taking(laminar_conductance: Values, orifice_conductance: Values, pump_leakage: Values = 0.0) -> Taking:
    """What takes a flow; parameters as of `held_pressure`."""
    total = np.add(laminar_conductance, pump_leakage)
    square = np.square(orifice_conductance)
    return Taking(orifice_conductance, np.asarray(square), np.asarray(4.0 * total))


def held_pressure(
    delivery: Values,
    laminar_conductance: Values,
    orifice_conductance: Values,
    pump_leakage: Values = 0.0,
) -> Array:
    """Pressure at which the pump's delivery is all used up, D = (G + G_p) · p + K · √p [Pa].

    Quadratic in √p, whose one positive root is exact: √p = 2 D / (K + √(K² + 4 (G + G_p) D)).

    Parameters
    ----------
    delivery : pump flow against no pressure [m³/s]
    laminar_conductance, orifice_conductance : as in `circuit_flow`
    pump_leakage : internal loss of the pump per pressure [m³/s/Pa]

    Returns
    -------
    pressure; inf where nothing takes the flow
    """
    return taking(laminar_conductance, orifice_conductance, pump_leakage).pressure(delivery)


def regulated_pressure(
    target: Values, droop: Values, laminar_conductance: Values, orifice_conductance: Values
) -> Array:
    """Pressure the regulator leaves while the pump has flow to spare, p = T - droop · Q(p) [Pa].

    Exact root of (1 + droop · G) · p + droop · K · √p = T.

    Parameters
    ----------
    target : regulator target [Pa]
    droop : pressure lost per flow taken [Pa s/m³]
    laminar_conductance, orifice_conductance : as in `circuit_flow`
    """
    return held_pressure(
        target, 1.0 + np.multiply(droop, laminar_conductance), np.multiply(droop, orifice_conductance)
    )


def line_pressure(
    target: Values,
    droop: Values,
    delivery: Values,
    laminar_conductance: Values,
    orifice_conductance: Values,
    pump_leakage: Values = 0.0,
) -> Array:
    """Line pressure: the one root of p = min(T - droop · Q(p), what the pump can hold) [Pa].

    Both sides are monotone, so the root of the whole is the lower of the two roots.

    Parameters
    ----------
    target : regulator target [Pa]
    droop : pressure lost per flow taken [Pa s/m³]
    delivery : pump flow against no pressure [m³/s]
    laminar_conductance : G, laminar leaks outside the pump [m³/s/Pa]
    orifice_conductance : K, every orifice fed from the line [m³/s/√Pa]
    pump_leakage : internal loss of the pump per pressure [m³/s/Pa]
    """
    left = regulated_pressure(target, droop, laminar_conductance, orifice_conductance)
    return np.minimum(left, held_pressure(delivery, laminar_conductance, orifice_conductance, pump_leakage))
