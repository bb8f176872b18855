"""Findings of the gauges on a four-speed: line, throttle and governor pressure, and the needle."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bellhousing.hydraulics.governor import governor_pressure
from bellhousing.road.cars import Cars
from bellhousing.road.engine import idle_vacuum
from bellhousing.road.four_speed.pressures import governor_signals, line, throttle_pressure, travel_of
from bellhousing.road.holding import soft
from bellhousing.road.pressures import COLD, HOT, PSI, RPM, VERY_HOT
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]

CALL = 1200.0 * RPM
"""Engine speed at which the gears' line pressures are compared on the road; common practice, no source."""


def line_at_idle(cars: Cars, car: Vehicle, gear: str, celsius: float = HOT) -> FloatArray:
    """Line pressure of a standing car at idle in a gear or in "neutral" [Pa]."""
    return line_standing(cars, car, gear, cars["engine.idle_speed"], celsius)


def line_standing(
    cars: Cars,
    car: Vehicle,
    gear: str,
    engine_speed: FloatArray | float,
    celsius: float = HOT,
    *,
    travel: float = 0.0,
) -> FloatArray:
    """Line pressure of a standing car in a gear or in "neutral", at an engine speed [rad/s] and travel."""
    applied = () if gear == "neutral" else car.gears[gear].applied
    signal = throttle_pressure(cars, travel)
    return line(cars, applied, signal, engine_speed, celsius=celsius, reverse=gear == "reverse")


def line_in_gear(cars: Cars, car: Vehicle, gear: str, engine_speed: float) -> FloatArray:
    """Line pressure on the road in a gear at an engine speed [rad/s], light throttle [Pa]."""
    signal = throttle_pressure(cars, travel_of(cars, "light"))
    return line(cars, car.gears[gear].applied, signal, engine_speed, engine_speed / car.gears[gear].ratio)


def line_under_way(cars: Cars, car: Vehicle, gear: str, mph: float, travel: FloatArray | float) -> FloatArray:
    """Line pressure in a gear at a road speed [mph] and pedal travel [Pa], the engine turning as it must."""
    output = car.output_speed(mph)
    applied, ratio = car.gears[gear].applied, abs(car.gears[gear].ratio)
    signal = throttle_pressure(cars, travel)
    return line(cars, applied, signal, output * ratio, output, reverse=gear == "reverse")


def reverse_share(cars: Cars, car: Vehicle) -> FloatArray:
    """Line in reverse over line in first, both with revs enough for the pump to hold them [-]."""
    first = line_standing(cars, car, "first", 1500.0 * RPM)
    return np.asarray(line_standing(cars, car, "reverse", 1500.0 * RPM) / np.maximum(first, 0.1 * PSI))


def readings(cars: Cars, car: Vehicle) -> dict[str, FloatArray]:
    """Vacuum, line, throttle and governor readings by finding [Pa]; the hot share of cold pressure [-]."""
    brisk = 1000.0 * RPM
    idle_hot, idle_cold = (line_at_idle(cars, car, "first", celsius) for celsius in (VERY_HOT, COLD))
    tap = line_standing(cars, car, "neutral", brisk)
    shown = {
        "manifold-vacuum-idle": idle_vacuum(cars, car.altitude),
        "idle-speed": cars["engine.idle_speed"],
        "line-neutral-idle": line_at_idle(cars, car, "neutral"),
        "line-drive-idle": line_at_idle(cars, car, "first"),
        "line-drive-1000": line_standing(cars, car, "first", brisk),
        "line-reverse-idle": line_at_idle(cars, car, "reverse"),
        "line-reverse-1000": line_standing(cars, car, "reverse", brisk),
        "line-stall": line_standing(cars, car, "first", 1700.0 * RPM, travel=1.0),
        "line-cruise": line_under_way(cars, car, "fourth", 40.0, travel_of(cars, "light")),
        "line-drive-below-neutral": line_at_idle(cars, car, "neutral", VERY_HOT) - idle_hot,
        "line-hot-against-cold": idle_hot / np.maximum(idle_cold, 0.1 * PSI),
        "tv-closed": np.minimum(throttle_pressure(cars, 0.0), tap),
        "tv-half": np.minimum(throttle_pressure(cars, 0.5), tap),
        "tv-full": np.minimum(throttle_pressure(cars, travel_of(cars, "full")), tap),
    }
    first, second = governor_signals(cars)
    shown["governor-at-rest"] = governor_pressure(first, 0.0, shown["line-drive-idle"])
    for name, curve, mph, gear in (
        ("g1-10", first, 10.0, "first"),
        ("g1-20", first, 20.0, "second"),
        ("g1-30", first, 30.0, "fourth"),
        ("g2-30", second, 30.0, "fourth"),
        ("g2-50", second, 50.0, "fourth"),
    ):
        there = line_under_way(cars, car, gear, mph, travel_of(cars, "light"))
        shown[name] = governor_pressure(curve, car.output_speed(mph), there)
    return shown


def chances(cars: Cars, car: Vehicle) -> dict[str, FloatArray]:
    """Needle, and one gear lower than another, as chances of states."""
    slow, fast = (line_standing(cars, car, "neutral", rpm * RPM) for rpm in (1000.0, 2500.0))
    falls = soft((0.9 - fast / np.maximum(slow, 0.1 * PSI)) / 0.025)
    shivers = 0.95 * soft((cars["pump.air"] - 0.18) / 0.04)
    in_gear = {gear: line_in_gear(cars, car, gear, CALL) for gear in ("first", "second", "third", "fourth")}
    share = reverse_share(cars, car)
    lower_reverse = soft((0.85 - share / car.reference.reverse_share) / 0.02)
    return {
        "needle-as-revs-rise": np.stack([(1 - falls) * (1 - shivers), (1 - falls) * shivers, falls], axis=1),
        "line-third-below-second": _lower(in_gear["second"] - in_gear["third"]),
        "line-top-below-first": _lower(in_gear["first"] - in_gear["fourth"]),
        "line-reverse-below-plan": np.stack([1 - lower_reverse, lower_reverse], axis=1),
    }


def _lower(by: FloatArray) -> FloatArray:
    lower = soft((by - 6.0 * PSI) / (1.5 * PSI))
    return np.stack([1 - lower, lower], axis=1)
