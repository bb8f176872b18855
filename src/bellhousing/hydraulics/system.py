"""All the hydraulics of one box, and the steady pressures a gauge would show."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellhousing.hydraulics.arrays import Array, Values
from bellhousing.hydraulics.governor import GovernorCurve, governor_pressure
from bellhousing.hydraulics.line import line_pressure, regulated_pressure
from bellhousing.hydraulics.modulator import ThrottleSignal, throttle_signal
from bellhousing.hydraulics.pump import Pump, pump_flow
from bellhousing.hydraulics.regulator import Regulator, line_target
from bellhousing.hydraulics.root import bracket_root
from bellhousing.hydraulics.shift_valve import ShiftValve


@dataclass(frozen=True)
class Hydraulics:
    """Every hydraulic parameter of a box, each one number or one per sample.

    Parameters
    ----------
    governor, signal, regulator, first_second, second_third, pump : the parts
    detent_pressure : pressure the pedal on its stop sends to the shift valves; 0 = dead [Pa]
    detent_stuck : 1 where that pressure is always on, else 0
    laminar_conductance : laminar leaks outside the pump, fluid at its reference temperature [m³/s/Pa]
    orifice_conductance : converter feed and every other orifice [m³/s/√Pa]
    """

    governor: GovernorCurve
    signal: ThrottleSignal
    regulator: Regulator
    first_second: ShiftValve
    second_third: ShiftValve
    pump: Pump
    detent_pressure: Values = 0.0
    detent_stuck: Values = 0.0
    laminar_conductance: Values = 0.0
    orifice_conductance: Values = 0.0


@dataclass(frozen=True)
class Pressures:
    """Steady pressures [Pa]: line, throttle signal, governor."""

    line: Array
    signal: Array
    governor: Array


def pressures(
    system: Hydraulics,
    range_name: str,
    vacuum: Values,
    *,
    engine_speed: Values | None = None,
    output_speed: Values = 0.0,
    thinning: Values = 1.0,
    direction: int = 0,
) -> Pressures:
    """Steady line, signal and governor pressure in a range.

    The governor is fed by the line and cuts the signal back, and the signal sets the line. Where the
    governor would pass the line, their common value is found by bracketing to 1e-9.

    Parameters
    ----------
    system : the hydraulics
    range_name : one of `regulator.RANGES`
    vacuum : at the modulator [Pa]
    engine_speed : pump speed; None = the pump never limits [rad/s]
    output_speed : output-shaft speed [rad/s]
    thinning : reference viscosity over present viscosity, which every laminar leak follows [-]
    direction : +1 gathering speed, -1 losing it, 0 between, for a sticking governor
    """

    def line_at(governor: Values) -> tuple[Array, Array]:
        signal = throttle_signal(system.signal, vacuum, governor)
        target = line_target(system.regulator, signal, range_name)
        return line_of(system, target, engine_speed=engine_speed, thinning=thinning), signal

    raw = governor_pressure(system.governor, output_speed, direction=direction)
    line, signal = line_at(raw)
    if np.any(np.less(line, raw)):
        shape = np.broadcast_shapes(line.shape, raw.shape)
        ideal = np.broadcast_to(raw, shape)
        capped = bracket_root(lambda p: p - np.minimum(ideal, line_at(p)[0]), np.zeros(shape), ideal)
        line, signal = line_at(capped)
        raw = np.minimum(capped, line)
    return Pressures(line=line, signal=signal, governor=raw)


def line_of(
    system: Hydraulics, target: Values, *, engine_speed: Values | None = None, thinning: Values = 1.0
) -> Array:
    """Line pressure for a regulator target, droop, leaks and pump counted [Pa].

    Parameters
    ----------
    system : the hydraulics
    target : regulator target [Pa]
    engine_speed : pump speed; None = the pump never limits [rad/s]
    thinning : reference viscosity over present viscosity [-]
    """
    laminar = np.multiply(system.laminar_conductance, thinning)
    droop = system.regulator.droop
    if engine_speed is None:
        return regulated_pressure(target, droop, laminar, system.orifice_conductance)
    pump = system.pump
    delivery = pump_flow(pump.displacement, engine_speed, pump.efficiency, pump.flow_limit)
    loss = np.multiply(pump.leakage, thinning)
    return line_pressure(target, droop, delivery, laminar, system.orifice_conductance, loss)
