"""The valve body of driven four-speeds: pressures now, when the shift valves move, and what elements hold."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bellhousing.hydraulics.governor import GovernorCurve, governor_pressure
from bellhousing.hydraulics.governor_sum import GovernorSum, sum_pressure
from bellhousing.hydraulics.regulator import Regulator, line_target
from bellhousing.hydraulics.shift_valve import ShiftValve, downshift_governor, upshift_governor
from bellhousing.hydraulics.throttle_valve import ThrottleValve, linkage_signal, throttle_valve_pressure
from bellhousing.road.cars import Cars
from bellhousing.road.drive.four.layout import Layout
from bellhousing.road.drive.tables import Table, tabulated
from bellhousing.road.driving import shift_valve
from bellhousing.road.four_speed.driving import LEAST_CUSHION, VALVES
from bellhousing.road.four_speed.holding import BANDS, capacities
from bellhousing.road.four_speed.pressures import Pumps, governor_signals, pumps_of, throttle_valve_of
from bellhousing.road.pressures import HOT, leak_conductance, regulator_of, thinning

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

CIRCUITS = ("none", "first", "second", "third", "fourth", "reverse")
"""Gears by what they put under pressure, in the order of `LinkageBody.leaks`; reverse is last."""


@dataclass(frozen=True)
class LinkageBody:
    """The hydraulics of n four-speeds, worked out as far as they do not change during a drive.

    Parameters
    ----------
    cars : the cars themselves
    throttle : the throttle valve
    first, both : governor signals of the 1-2 valve, and of the two others
    regulator, pumps : the parts that make the line
    valves : the three shift valves at once, fields (3, n)
    forced : gain of each valve coming down under a floored pedal, (3, n) [-]
    leaks : laminar leakage of each circuit of `CIRCUITS`, (circuits, n) [m³/s/Pa]
    holds : table of what each element bears against slip forwards and backwards, over line pressure
    """

    cars: Cars
    throttle: ThrottleValve
    first: GovernorCurve
    both: GovernorSum
    regulator: Regulator
    pumps: Pumps
    valves: ShiftValve
    forced: FloatArray
    leaks: FloatArray
    holds: Table

    def throttle_pressure(self, travel: FloatArray) -> FloatArray:
        """Throttle pressure [Pa] at a pedal travel [-]."""
        free = throttle_valve_pressure(self.throttle, travel)
        stuck_at = np.minimum(self.throttle.stuck_at, self.throttle.ceiling)
        return np.where(np.asarray(self.throttle.stuck) > 0.5, stuck_at, free)

    def line(self, gear: IntArray, signal: FloatArray, engine: FloatArray, output: FloatArray) -> FloatArray:
        """Line pressure [Pa] in gears (0 none, -1 reverse) at a throttle pressure [Pa] and speeds [rad/s]."""
        target = line_target(self.regulator, signal, "D")
        back = gear < 0
        if back.any():
            target = np.where(back, line_target(self.regulator, signal, "R"), target)
        leaks = np.take_along_axis(self.leaks, (gear % len(CIRCUITS))[None], axis=0)[0]
        return self.pumps.line(target, leaks, engine, np.where(back, 0.0, np.maximum(output, 0.0)))

    def governors(self, output: FloatArray, line: FloatArray) -> tuple[FloatArray, FloatArray]:
        """What pushes each valve up as the car gathers and as it loses speed [rad/s], (3, n) [Pa] each."""
        return self._pushed(output, 1, line), self._pushed(output, -1, line)

    def _pushed(self, output: FloatArray, direction: int, line: FloatArray) -> FloatArray:
        one = governor_pressure(self.first, output, line, direction=direction)
        two = sum_pressure(self.both, output, line, direction=direction)
        return np.stack([one, two, two])

    def thresholds(self, travel: FloatArray, floor: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Governor pressure above which each valve goes up and below which it comes down, (3, n) [Pa].

        `travel` of the pedal [-]; `floor` 1 where it is on its stop.
        """
        signal = linkage_signal(self.throttle, travel)
        valves = self.valves
        if floor.any():
            valves = replace(valves, down_gain=np.where(floor > 0.5, self.forced, valves.down_gain))
        up, down = upshift_governor(valves, signal, 0.0), downshift_governor(valves, signal, 0.0)
        stuck = np.asarray(valves.stuck)
        if stuck.any():
            up = np.where(stuck > 0.5, -1.0, np.where(stuck < -0.5, np.inf, up))
            down = np.where(stuck > 0.5, -1.0, np.where(stuck < -0.5, np.inf, down))
        return up, down

    def cushion(self, signal: FloatArray) -> FloatArray:
        """Share of the line at which an element comes on in a change, throttle pressure backing it up [-]."""
        backing = signal / self.cars["throttle_valve.full_pressure"]
        return np.minimum(LEAST_CUSHION + (1.0 - LEAST_CUSHION) * backing, 1.0)


def linkage_body(cars: Cars, layout: Layout) -> LinkageBody:
    """The hydraulics of hot cars."""
    each = [shift_valve(cars, name) for name in VALVES.values()]
    both = {name: np.stack([getattr(one, name) for one in each]) for name in each[0].__dataclass_fields__}
    works = cars["detent.works"] * (1.0 - cars["detent.valve_sticks"]) > 0.5
    forced = np.stack([cars[f"shift_valves.{name}.detent_gain"] for name in VALVES.values()])
    first, second = governor_signals(cars)
    thin = thinning(cars, HOT)
    applied = [[], *(_leaking(cars, layout, gear) for gear in CIRCUITS[1:])]
    return LinkageBody(
        cars=cars,
        throttle=throttle_valve_of(cars),
        first=first,
        both=GovernorSum((first, second)),
        regulator=regulator_of(cars),
        pumps=pumps_of(cars),
        valves=replace(each[0], **both),
        forced=np.where(works, forced, both["down_gain"]),
        leaks=np.stack([leak_conductance(cars, names, thin) for names in applied]),
        holds=tabulated(len(cars), lambda line: _borne(cars, layout, line)),
    )


def _leaking(cars: Cars, layout: Layout, gear: str) -> list[str]:
    names = [layout.names[place] for place in layout.gears[gear]]
    return [name for name in names if f"{name}.leakage" in cars.values]


def _borne(cars: Cars, layout: Layout, line: FloatArray) -> FloatArray:
    """What each element bears against slip forwards, then backwards, (2 elements, n) [N m].

    A band bears most where its drum pulls it tighter, as it does while the engine drives, and the share
    e^(-μθ) of that the other way; a plate clutch bears the same both ways. A broken shaft leaves the rear
    unit nothing to drive.
    """
    held = capacities(cars, line)
    ways: list[list[FloatArray]] = [[], []]
    for place, name in enumerate(layout.names):
        most = held[name] * (cars["shaft.whole"] if place >= layout.fronts else 1.0)
        least = most
        if name in BANDS:
            least = most * np.exp(-cars[f"{name}.friction_coefficient"] * cars[f"{name}.wrap"])
        energised = layout.energised[place] > 0.0
        ways[0].append(most if energised else least)
        ways[1].append(least if energised else most)
    return np.stack(ways[0] + ways[1])
