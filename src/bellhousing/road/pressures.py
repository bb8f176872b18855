"""What a gauge shows: line pressure by range, engine speed, hose and heat; governor pressure by speed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.hydraulics.fluid import density, kinematic_viscosity
from bellhousing.hydraulics.governor import GovernorCurve, governor_from_parts, governor_pressure
from bellhousing.hydraulics.line import circuit_flow, line_pressure
from bellhousing.hydraulics.modulator import ThrottleSignal, modulator_from_parts, throttle_signal
from bellhousing.hydraulics.pump import pump_flow
from bellhousing.hydraulics.regulator import Regulator, line_target
from bellhousing.road.cars import Cars

FloatArray = NDArray[np.float64]

PSI = 6894.757
RPM = np.pi / 30.0
HOT, VERY_HOT, COLD = 80.0, 95.0, 20.0
"""Fluid temperatures of a hot, a very hot and a stone-cold box [degC]; common practice, no source."""

CAVITATION = 1.0
"""How delivery falls beyond the filter's limit: limit × (limit / free flow), so that a blocked filter reads
right at idle and with the hose off at 1,000 rpm and low from 2,000 rpm on; common practice, no source."""


def signal_of(cars: Cars) -> ThrottleSignal:
    """The modulator as it is on these cars."""
    area = 0.25 * np.pi * cars["modulator.diaphragm_diameter"] ** 2
    sound = modulator_from_parts(
        area, cars["modulator.spring_force"], cars["modulator.valve_area"], cars["modulator.governor_cutback"]
    )
    follow = cars["modulator.follow"]
    return ThrottleSignal(
        full=sound.full * follow,
        slope=sound.slope * follow,
        cutback=sound.cutback,
        stuck=cars["modulator.stuck"],
        stuck_at=cars["modulator.stuck_share"] * np.asarray(sound.full),
    )


def vacuum_at_modulator(cars: Cars, engine_vacuum: FloatArray | float, *, idle: bool = False) -> FloatArray:
    """Vacuum that a gauge at the modulator's end of the hose shows [Pa]."""
    reaching = cars["hose.share"] * ((1.0 - cars["hose.ported"]) if idle else 1.0)
    return np.asarray(engine_vacuum * reaching)


def felt_vacuum(cars: Cars, engine_vacuum: FloatArray | float, *, idle: bool = False) -> FloatArray:
    """Vacuum that the diaphragm turns into force [Pa]."""
    return np.asarray(vacuum_at_modulator(cars, engine_vacuum, idle=idle) * cars["diaphragm.share"])


def regulator_of(cars: Cars) -> Regulator:
    """The pressure regulator as it is on these cars."""
    stuck = cars["regulator.stuck"] > 0.5
    boost = cars["regulator.boost"]
    return Regulator(
        base=cars["regulator.spring_pressure"],
        gain=cars["regulator.signal_gain"],
        reverse_ratio=1.0 + (cars["regulator.reverse_ratio"] - 1.0) * boost,
        second_floor=cars.get("regulator.second_range_pressure") * boost,
        low_floor=cars.get("regulator.low_range_pressure") * boost,
        highest=np.where(stuck, cars["regulator.stuck_at"], cars["regulator.highest"]),
        lowest=np.where(stuck, cars["regulator.stuck_at"], 0.0),
        droop=cars["regulator.droop"],
    )


def governor_of(cars: Cars, *, hot: bool = True) -> GovernorCurve:
    """The governor as it is on these cars; a worn bore loses pressure when hot."""
    loss = 1.0 - cars["governor.hot_loss"] if hot else 1.0
    return governor_from_parts(
        cars["governor.primary_mass"],
        cars["governor.secondary_mass"],
        cars["governor.radius"],
        cars["governor.primary_stop"],
        cars["governor.valve_area"],
        scale=cars["governor.scale"] * loss,
        residual=cars["governor.residual"],
        friction=cars["governor.friction"],
    )


def thinning(cars: Cars, celsius: float) -> FloatArray:
    """How much more a laminar leak passes than at the hot reference temperature: nu(80 degC) / nu(T) [-]."""
    low, high = cars["fluid.viscosity_40"], cars["fluid.viscosity_100"]
    return np.asarray(kinematic_viscosity(HOT, low, high) / kinematic_viscosity(celsius, low, high))


def dynamic_viscosity(cars: Cars, celsius: float) -> FloatArray:
    """Dynamic viscosity mu = nu rho [Pa s]."""
    nu = kinematic_viscosity(celsius, cars["fluid.viscosity_40"], cars["fluid.viscosity_100"])
    return np.asarray(nu * density(cars["fluid.density_15"], celsius))


@dataclass(frozen=True)
class Pump:
    """Pumps of n cars, worked out as far as they do not hang on the engine's speed, (n,) each.

    Parameters
    ----------
    displacement : per turn [m3]; efficiency : volumetric [-]; drive : 0 where it does not turn [-]
    limit : what the filter passes [m3/s]; left : share that air drawn in leaves [-]
    """

    displacement: FloatArray
    efficiency: FloatArray
    drive: FloatArray
    limit: FloatArray
    left: FloatArray

    def delivery(self, engine_speed: FloatArray | float) -> FloatArray:
        """As `delivery` of the cars."""
        free = pump_flow(self.displacement, engine_speed, self.efficiency)
        free *= self.drive
        beyond = free > self.limit
        if np.count_nonzero(beyond):
            over = np.where(beyond, self.limit / np.maximum(free, 1e-12), 1.0)
            np.power(over, CAVITATION, out=over, where=beyond)
            free = np.where(beyond, self.limit * over, free)
        return np.asarray(free * self.left)


def pump_of(cars: Cars, *, starved: float = 0.35) -> Pump:
    """The pumps of these cars; `starved` as in `delivery`."""
    return Pump(
        2.0 * np.pi * cars["pump.displacement"],  # the box gives it per radian
        cars["pump.volumetric_efficiency"],
        cars["pump.drive"],
        cars["pump.flow_limit"],
        1.0 - starved * cars["pump.air"],
    )


def delivery(cars: Cars, engine_speed: FloatArray | float, *, starved: float = 0.35) -> FloatArray:
    """Pump delivery against no pressure [m3/s].

    Beyond what the filter passes the pump cavitates, so its delivery falls as the revs rise further. Of the
    air drawn in, `starved` is missing from a steady flow; while a clutch fills, more. Both are common
    practice, no source.
    """
    return pump_of(cars, starved=starved).delivery(engine_speed)


def leak_conductance(cars: Cars, circuits: Sequence[str], thin: FloatArray | float = 1.0) -> FloatArray:
    """Laminar leakage of the circuits under pressure [m3/s/Pa]."""
    leaking = [f"{circuit}.leakage" for circuit in circuits]
    total = sum((cars[name] for name in leaking if name in cars.values), np.zeros(len(cars)))
    return np.asarray(total * thin)


def charge_conductance(cars: Cars, part: str = "converter") -> FloatArray:
    """Conductance of the feed of converter or coupling, its flow given at 60 psi [m3/s/sqrt(Pa)]."""
    return np.asarray(cars[f"{part}.charge_flow"] / np.sqrt(60.0 * PSI))


def line(
    cars: Cars,
    gear: str,
    signal: FloatArray,
    engine_speed: FloatArray | float,
    celsius: float = HOT,
) -> FloatArray:
    """Line pressure [Pa] in "P", "N", "D1", "D2", "D3", "second", "low" or "R" at a throttle signal [Pa]."""
    thin = thinning(cars, celsius)
    regulator = regulator_of(cars)
    target = line_target(regulator, signal, "D" if gear.startswith("D") else gear)
    return line_pressure(
        target,
        regulator.droop,
        delivery(cars, engine_speed),
        leak_conductance(cars, cars.layout.filled[gear], thin),
        charge_conductance(cars),
        cars["pump.leakage"] * thin,
    )


def spilled_share(
    cars: Cars, gear: str, pressure: FloatArray, engine_speed: FloatArray | float
) -> FloatArray:
    """Share of the pump's delivery that the hot regulator lets back to the sump at a line pressure [-]."""
    thin = thinning(cars, HOT)
    given = delivery(cars, engine_speed)
    used = circuit_flow(
        pressure, leak_conductance(cars, cars.layout.filled[gear], thin), charge_conductance(cars)
    )
    left = given - used - cars["pump.leakage"] * thin * pressure
    return np.asarray(np.clip(left / np.maximum(given, 1e-12), 0.0, 1.0))


def standing_signal(cars: Cars, vacuum: FloatArray | float) -> FloatArray:
    """Throttle signal of a standing car [Pa] at the vacuum its diaphragm feels [Pa]."""
    return throttle_signal(signal_of(cars), vacuum, governor_pressure(governor_of(cars), 0.0))


def governor_at(cars: Cars, output_speed: float, line_there: FloatArray | float) -> FloatArray:
    """Governor pressure [Pa] at an output-shaft speed [rad/s], never above the line that feeds it."""
    return governor_pressure(governor_of(cars), output_speed, line_there)
