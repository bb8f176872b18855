"""The valve body of driven cars: pressures now, and when the shift valves move."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bellhousing.hydraulics.engagement import fill_time, filling_flow
from bellhousing.hydraulics.fluid import density
from bellhousing.hydraulics.governor import GovernorCurve
from bellhousing.hydraulics.leakage import orifice_flow
from bellhousing.hydraulics.line import Taking, taking
from bellhousing.hydraulics.modulator import ThrottleSignal, throttle_signal
from bellhousing.hydraulics.regulator import Regulator, line_target
from bellhousing.hydraulics.shift_valve import ShiftValve, Thresholds, thresholds
from bellhousing.road.cars import Cars
from bellhousing.road.driving import shift_valve
from bellhousing.road.filling import Filling, filling_of
from bellhousing.road.holding import FEED_COEFFICIENT
from bellhousing.road.layout import CIRCUITS
from bellhousing.road.pressures import (
    HOT,
    Pump,
    charge_conductance,
    dynamic_viscosity,
    governor_of,
    leak_conductance,
    pump_of,
    regulator_of,
    signal_of,
    thinning,
)

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]

CIRCUIT_ORDER = CIRCUITS
RANGE_ORDER = ("P", "N", "D", "second", "low", "R")


@dataclass(frozen=True)
class Feeding:
    """What is under pressure: cars with the lever in each range but D, as far as there are any, (n,) each;
    `takes` is what takes the flow, at the regulator and at the pump, (2, n)."""

    ranges: Mapping[str, BoolArray]
    takes: Taking


@dataclass(frozen=True)
class ValveBody:
    """The hydraulics of n cars, worked out as far as they do not change during a drive.

    Parameters
    ----------
    cars : the cars themselves
    governor, signal, regulator : the parts
    valves : both shift valves at once, fields (2, n)
    leaks : laminar leakage of each circuit of `CIRCUIT_ORDER`, (circuits, n) [m³/s/Pa]
    pump : delivery; pump_leak : its loss [m³/s/Pa]; charge : feed of the converter [m³/s/√Pa]
    detent_always, detent_floor : detent pressure off and on the pedal's stop [Pa]
    felt_share : share of the engine's vacuum that the diaphragm turns into force; at idle, [-]
    lag : share of the vacuum of a moment ago still felt [-]
    stroke_volume : of both accumulators, (2,) [m³]
    """

    cars: Cars
    governor: GovernorCurve
    signal: ThrottleSignal
    regulator: Regulator
    valves: ShiftValve
    leaks: FloatArray
    pump: Pump
    pump_leak: FloatArray
    charge: FloatArray
    detent_always: FloatArray
    detent_floor: FloatArray
    felt_share: FloatArray
    ported: FloatArray
    lag: FloatArray
    stroke_volume: tuple[float, float]

    def feeding(self, lever: IntArray, circuit: IntArray) -> Feeding:
        """What lever and circuits in use, places in `CIRCUIT_ORDER`, ask of the pump."""
        ranges = {name: lever == RANGE_ORDER.index(name) for name in ("second", "low", "R")}
        some = {name: there for name, there in ranges.items() if there.any()}
        leaks, droop = self.leaks[circuit, np.arange(len(circuit))], self.regulator.droop
        laminar = np.stack([1.0 + np.multiply(droop, leaks), leaks + self.pump_leak])
        return Feeding(some, taking(laminar, np.stack([np.multiply(droop, self.charge), self.charge])))

    def line(self, feeding: Feeding, signal: FloatArray, engine: FloatArray) -> FloatArray:
        """Line pressure [Pa] at a throttle signal [Pa] and engine speed [rad/s]; the same as
        `pressures.line` gives.
        """
        target = line_target(self.regulator, signal, "D")
        for name, there in feeding.ranges.items():
            target = np.where(there, line_target(self.regulator, signal, name), target)
        left, held = feeding.takes.pressure(np.array((target, self.pump.delivery(engine))))
        return np.asarray(np.minimum(left, held))

    def governors(self, pressure: FloatArray, line: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Governor pressure [Pa] as the car gathers and as it loses speed, of a governor that does not stick.

        The line that feeds it is its ceiling while it rises; as it falls the line is far above.
        """
        friction = self.governor.friction
        rising = np.maximum(pressure - friction, 0.0)
        return np.minimum(rising, line), pressure + friction

    def thresholds(self, load: FloatArray, floor: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Governor pressure above which each valve goes up and below which it comes down, (2, n) [Pa].

        `load` is the vacuum the diaphragm feels [Pa], `floor` 1 where the pedal is on its stop.
        """
        least = self._least
        if np.count_nonzero(floor):
            least = self._moved.least(np.maximum(self.detent_always, self.detent_floor * floor))
        up, down = self._moved.at(load, least)
        if self._any_stuck:
            stuck = np.asarray(self.valves.stuck)
            up = np.where(stuck > 0.5, -1.0, np.where(stuck < -0.5, np.inf, up))
            down = np.where(stuck > 0.5, -1.0, np.where(stuck < -0.5, np.inf, down))
        return up, down

    @cached_property
    def _filled(self) -> dict[str, Filling]:
        """What comes on with a circuit, as far as it has been asked for."""
        return {}

    @cached_property
    def _fluid(self) -> tuple[FloatArray, FloatArray]:
        """Density [kg/m³] and dynamic viscosity [Pa s] of the hot fluid."""
        return density(self.cars["fluid.density_15"], HOT), dynamic_viscosity(self.cars, HOT)

    @cached_property
    def _filling(self) -> Pump:
        """The pumps while a clutch fills."""
        return pump_of(self.cars, starved=0.8)

    @cached_property
    def _moved(self) -> Thresholds:
        return thresholds(self.valves, self.signal)

    @cached_property
    def _least(self) -> FloatArray:
        return self._moved.least(self.detent_always)

    @cached_property
    def _any_stuck(self) -> bool:
        return bool(np.any(self.valves.stuck))

    @cached_property
    def any_ported(self) -> bool:
        """Whether any hose is fed from a port that is shut at idle."""
        return bool(self.ported.any())

    @cached_property
    def any_lag(self) -> bool:
        """Whether any hose is restricted."""
        return bool(self.lag.any())

    @cached_property
    def lets_go(self) -> bool:
        """Whether what makes second gear is let go in third, as a band must be that holds what then turns."""
        layout = self.cars.layout
        return any(layout.let_go(name, "D3") for name in layout.coming("D2"))

    def fill_and_stroke(
        self,
        element: int,
        rows: BoolArray,
        line: FloatArray,
        engine: FloatArray,
        *,
        reverse: bool = False,
    ) -> tuple[FloatArray, FloatArray]:
        """Times [s] in which an element fills and its accumulator runs its stroke, on chosen cars (n,)."""
        circuit = "R" if reverse else ("D1", "D2", "D3")[element]
        if circuit not in self._filled:
            self._filled[circuit] = filling_of(self.cars, self.cars.layout.coming(circuit))
        filled, (some,) = self._filled[circuit], rows.nonzero()
        diameter, back, rho = filled.diameter[some], filled.back[some], self._fluid[0][some]
        flow = filling_flow(
            line[some],
            self._filling.delivery(engine)[some],
            np.zeros(len(some)),
            self.charge[some],
            diameter,
            density=rho,
            viscosity=self._fluid[1][some],
            pump_leakage=self.pump_leak[some],
            return_pressure=back,
        )
        fill, stroke = np.zeros(len(rows)), np.zeros(len(rows))
        fill[some] = fill_time(filled.volume[some], flow, leak=filled.leakage[some] * back)
        if element == 0 and not reverse:
            fill[some] += 0.12 * self.cars.get(f"{filled.lead}.cold_delay")[some]
        elif not reverse:
            name = ("accumulator_first_second", "accumulator_second_third")[element - 1]
            plateau = np.minimum(self.cars[f"{name}.plateau"][some], 1.0)
            drop = np.maximum(line[some] * (1.0 - plateau), 1.0)
            area = 0.25 * np.pi * diameter**2
            stroke[some] = self.stroke_volume[element - 1] / orifice_flow(FEED_COEFFICIENT, area, drop, rho)
        return fill, stroke


def valve_body(cars: Cars, stroke_volume: tuple[float, float]) -> ValveBody:
    """The hydraulics of hot cars."""
    thin = thinning(cars, HOT)
    first, second = shift_valve(cars, "first_second"), shift_valve(cars, "second_third")
    both = {
        name: np.stack([getattr(first, name), getattr(second, name)]) for name in first.__dataclass_fields__
    }
    sticks = cars["detent.valve_sticks"]
    pressure = cars["detent.pressure"]
    return ValveBody(
        cars=cars,
        governor=governor_of(cars),
        signal=signal_of(cars),
        regulator=regulator_of(cars),
        valves=replace(first, **both),
        leaks=np.stack([leak_conductance(cars, cars.layout.filled[name], thin) for name in CIRCUIT_ORDER]),
        pump=pump_of(cars),
        pump_leak=cars["pump.leakage"] * thin,
        charge=charge_conductance(cars),
        detent_always=pressure * cars["detent.always"],
        detent_floor=pressure * np.maximum(cars["detent.always"], cars["detent.works"] * (1.0 - sticks)),
        felt_share=cars["hose.share"] * cars["diaphragm.share"],
        ported=cars["hose.ported"],
        lag=cars["hose.lag"],
        stroke_volume=stroke_volume,
    )


def signal_now(body: ValveBody, felt: FloatArray, governor: FloatArray) -> FloatArray:
    """Throttle signal [Pa] at a felt vacuum and a governor pressure [Pa]."""
    return throttle_signal(body.signal, felt, governor)
