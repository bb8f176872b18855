"""Pressures of a four-speed: throttle valve, the two governor signals, and the line of the two pumps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.hydraulics.governor import GovernorCurve, governor_from_parts
from bellhousing.hydraulics.governor_sum import GovernorSum
from bellhousing.hydraulics.line import circuit_flow
from bellhousing.hydraulics.modulator import ThrottleSignal, throttle_signal
from bellhousing.hydraulics.pump import pump_flow
from bellhousing.hydraulics.regulator import line_target
from bellhousing.hydraulics.throttle_valve import ThrottleValve, linkage_signal
from bellhousing.hydraulics.two_pumps import line_of_two_pumps
from bellhousing.road.cars import Cars
from bellhousing.road.engine import INHG
from bellhousing.road.pressures import (
    HOT,
    charge_conductance,
    delivery,
    leak_conductance,
    regulator_of,
    thinning,
)

FloatArray = NDArray[np.float64]

TRAVEL: Mapping[str, tuple[float, float]] = {"light": (0.03, 0.01), "medium": (0.5, 0.04), "full": (1.0, 0.0)}
"""Pedal travel by which the trade names the throttle, and its spread between drivers; common practice, no
source."""

NAMED: Mapping[float, str] = {0.0: "full", 10.0: "medium", 16.0: "light"}
"""Manifold vacuum [inHg] by which the trade names the throttle; common practice, no source."""

COMES_BACK = 0.6
"""Share of the regulator's pressure below which an unloaded front pump delivers again; common practice, no
source."""


def travel_of(cars: Cars, throttle: str) -> FloatArray:
    """Pedal travel at "light", "medium" or "full" throttle by foot [-]."""
    middle, spread = TRAVEL[throttle]
    return reached(cars, np.clip(middle + spread * cars[f"driver.{throttle}"], 0.0, 1.0))


def reached(cars: Cars, travel: FloatArray) -> FloatArray:
    """Travel that the throttle makes of a pedal's [-].

    What a pedal that does not reach the floor leaves in vacuum it leaves in travel: vacuum falls about in
    proportion as the throttle opens (common practice, no source).
    """
    most = 1.0 - cars["throttle.short"] / np.maximum(cars["engine.idle_vacuum"], 1.0)
    return np.asarray(np.minimum(travel, np.clip(most, 0.0, 1.0)))


def travel_at(vacuum: float) -> float:
    """Pedal travel [-] at the manifold vacuum [Pa] by which the trade names the throttle.

    Light at 16 inHg, half at 10, full at none, straight between; common practice, no source.
    """
    return float(np.interp(vacuum / INHG, list(NAMED), [TRAVEL[name][0] for name in NAMED.values()]))


def travel_by_vacuum(cars: Cars, vacuum: float) -> FloatArray:
    """Pedal travel of each car at a manifold vacuum [Pa]: as `travel_at`, by each car's own foot [-]."""
    ends = list(NAMED)
    at = np.interp(vacuum / INHG, ends, np.arange(len(ends)))
    first = min(int(at), len(ends) - 2)
    low, high = (travel_of(cars, NAMED[end]) for end in ends[first : first + 2])
    return np.asarray(low + (at - first) * (high - low))


def throttle_valve_of(cars: Cars) -> ThrottleValve:
    """The throttle valve as it is on these cars; the line that feeds it is its ceiling, p ≤ b / (1 - g)."""
    regulator = regulator_of(cars)
    gain = np.minimum(np.asarray(regulator.gain), 0.95)
    most = np.minimum(np.asarray(regulator.base) / (1.0 - gain), regulator.highest)
    return ThrottleValve(
        closed=cars["throttle_valve.closed_pressure"],
        half=cars["throttle_valve.half_pressure"],
        full=cars["throttle_valve.full_pressure"],
        rod_gradient=cars["throttle_valve.rod_gradient"],
        rod_error=cars["throttle_valve.rod_error"],
        play=cars["throttle_valve.play"],
        stuck=cars["throttle_valve.stuck"],
        stuck_at=cars["throttle_valve.stuck_share"] * cars["throttle_valve.full_pressure"],
        ceiling=np.maximum(most, regulator.lowest),
    )


def signal_at(cars: Cars, travel: FloatArray | float) -> ThrottleSignal:
    """The throttle signal at a pedal travel, as the shift valves take it."""
    return linkage_signal(throttle_valve_of(cars), travel)


def throttle_pressure(cars: Cars, travel: FloatArray | float) -> FloatArray:
    """Throttle pressure at a pedal travel [Pa]."""
    return throttle_signal(signal_at(cars, travel), 0.0) * np.ones(len(cars))


def governor_signals(cars: Cars, *, hot: bool = True) -> tuple[GovernorCurve, GovernorCurve]:
    """The signal of the heavy weight and that of the light one; leaking pipes and a worn bore cost both."""
    left = cars["governor.scale"] * (1.0 - cars["governor.hot_loss"] if hot else 1.0)

    def one(mass: str, signal: str) -> GovernorCurve:
        return governor_from_parts(
            0.0,
            cars[f"governor.{mass}"],
            cars["governor.radius"],
            0.0,
            cars["governor.valve_area"],
            scale=left * cars[f"{signal}.scale"],
            residual=cars["governor.residual"] + cars[f"{signal}.residual"],
            friction=cars["governor.friction"] + cars[f"{signal}.friction"],
        )

    return one("primary_mass", "g1"), one("secondary_mass", "g2")


def governor_at_valve(cars: Cars, valve: str) -> GovernorCurve | GovernorSum:
    """What pushes a shift valve up: the first signal at the 1-2, both signals at the others."""
    first, second = governor_signals(cars)
    return first if valve == "first_second" else GovernorSum((first, second))


def line(
    cars: Cars,
    applied: Sequence[str],
    signal: FloatArray,
    engine_speed: FloatArray | float,
    output_speed: FloatArray | float = 0.0,
    celsius: float = HOT,
    *,
    reverse: bool = False,
) -> FloatArray:
    """Line pressure [Pa] with these elements applied, at a throttle signal [Pa] and shaft speeds [rad/s].

    Above its takeover speed the rear pump carries the line alone and the front pump is unloaded, unless the
    rear pump does not turn; the front pump comes back where the line would sink below COMES_BACK of what the
    regulator asks. Backwards the rear pump delivers nothing.
    """
    thin = thinning(cars, celsius)
    leaking = [name for name in applied if f"{name}.leakage" in cars.values]
    target = line_target(regulator_of(cars), signal, "R" if reverse else "D")
    forward = 0.0 if reverse else output_speed
    return pumps_of(cars, celsius).line(target, leak_conductance(cars, leaking, thin), engine_speed, forward)


@dataclass(frozen=True)
class Pumps:
    """Both pumps of these cars at one temperature of the fluid, and what the coupling takes.

    Parameters
    ----------
    cars : the cars
    droop : of the regulator [Pa s/m³]
    leakage, rear_leakage : inside the pumps [m³/s/Pa]
    charge : feed of the coupling [m³/s/√Pa]
    """

    cars: Cars
    droop: FloatArray
    leakage: FloatArray
    rear_leakage: FloatArray
    charge: FloatArray

    def line(
        self,
        target: FloatArray,
        laminar: FloatArray,
        engine_speed: FloatArray | float,
        output_speed: FloatArray | float,
    ) -> FloatArray:
        """Line pressure [Pa] at what the regulator asks [Pa], leaks [m³/s/Pa] and shaft speeds [rad/s].

        The output's speed is nought where the car stands or backs.
        """
        cars = self.cars
        unloaded = _unloaded(cars, output_speed)
        rear = _rear_delivery(cars, output_speed)
        front = delivery(cars, engine_speed)
        back = np.where(front > 0.0, self.leakage, 0.0)  # a still pump is shut off by its valve

        def with_front(share: FloatArray | float) -> FloatArray:
            return line_of_two_pumps(
                target,
                self.droop,
                share * front,
                rear,
                laminar,
                self.charge,
                front_leakage=share * back,
                rear_leakage=self.rear_leakage,
                check_open=cars["rear_pump.check_open"],
            )

        loaded = with_front(1.0)
        if not np.any(unloaded):
            return loaded
        alone = np.maximum(with_front(0.0), np.minimum(loaded, COMES_BACK * target))
        return np.where(unloaded, alone, loaded)


def pumps_of(cars: Cars, celsius: float = HOT) -> Pumps:
    """The pumps of these cars at a temperature of the fluid [degC]."""
    thin = thinning(cars, celsius)
    return Pumps(
        cars=cars,
        droop=cars["regulator.droop"],
        leakage=cars["pump.leakage"] * thin,
        rear_leakage=cars["rear_pump.leakage"] * thin,
        charge=charge_conductance(cars, "coupling"),
    )


def _unloaded(cars: Cars, output_speed: FloatArray | float) -> NDArray[np.bool_]:
    """Whether the rear pump carries the line and the front pump runs without load."""
    return np.asarray((output_speed > cars["rear_pump.takeover_speed"]) & (cars["rear_pump.drive"] > 0.5))


def _rear_delivery(cars: Cars, output_speed: FloatArray | float) -> FloatArray:
    """Delivery of the rear pump against no pressure [m3/s], less the air it draws."""
    free = pump_flow(2.0 * np.pi * cars["rear_pump.displacement"], output_speed) * cars["rear_pump.drive"]
    return np.asarray(free * (1.0 - 0.35 * cars["pump.air"]))


def spilled_share(
    cars: Cars,
    applied: Sequence[str],
    pressure: FloatArray,
    engine_speed: FloatArray | float,
    output_speed: FloatArray | float,
) -> FloatArray:
    """Share of what the loaded pumps deliver forwards that the regulator lets back to the sump [-]."""
    thin = thinning(cars, HOT)
    loaded = np.where(_unloaded(cars, output_speed), 0.0, 1.0)
    front, rear = loaded * delivery(cars, engine_speed), _rear_delivery(cars, output_speed)
    leaking = [name for name in applied if f"{name}.leakage" in cars.values]
    lost = loaded * cars["pump.leakage"] + np.where(rear > 0.0, cars["rear_pump.leakage"], 0.0)
    used = circuit_flow(pressure, leak_conductance(cars, leaking, thin), charge_conductance(cars, "coupling"))
    left = front + rear - used - lost * thin * pressure
    return np.asarray(np.clip(left / np.maximum(front + rear, 1e-12), 0.0, 1.0))
