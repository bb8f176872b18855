"""What the valve body of one car does over pedal travel and road speed, gear by gear, either kind of box."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.hydraulics.governor import GovernorCurve, governor_pressure
from bellhousing.hydraulics.modulator import throttle_signal
from bellhousing.hydraulics.shift_valve import downshift_governor, upshift_governor
from bellhousing.road import driving, pressures
from bellhousing.road.cars import Cars
from bellhousing.road.engine import vacuum_at_travel
from bellhousing.road.four_speed import driving as four_driving
from bellhousing.road.four_speed import pressures as four
from bellhousing.road.shifts import FOUR, THREE
from bellhousing.road.vehicle import MPH, Vehicle

FloatArray = NDArray[np.float64]

GEARS = ("first", "second", "third", "fourth")

ONE = np.zeros(1, dtype=np.intp)


@dataclass(frozen=True)
class ValveSteady:
    """One shift valve over travel (k,): governor pressure it needs [Pa] and road speed of its moves [m/s].

    Parameters
    ----------
    up_needs, down_needs : governor pressure to go up, and below which it comes down
    up_speed, down_speed : road speeds; inf = never up, or never held up; 0 = up from rest, or stays up
    floor : the same four with the pedal on its stop, (4,)
    stuck : -1 down, 0 free, +1 up
    """

    up_needs: FloatArray
    down_needs: FloatArray
    up_speed: FloatArray
    down_speed: FloatArray
    floor: tuple[float, float, float, float]
    stuck: int


@dataclass(frozen=True)
class Steady:
    """One car's hydraulics over a grid: gears (g), travel (k), road speed (m).

    Parameters
    ----------
    travel, mph : the grid
    line, spilled : line pressure [Pa], share of the delivery the regulator lets go [-], (g, k, m)
    signal : throttle signal [Pa], (k, m)
    governor : governor pressure, never above the line that feeds it [Pa], by signal, each (g, k, m)
    weights : how far each signal's weights have swung, of their stop or of the highest speed [-], (m,)
    vacuum, felt : at the manifold, at the diaphragm [Pa], (k,); empty on a box without a modulator
    signal_full : throttle signal of a sound valve opened fully [Pa]
    engine : engine speed [rad/s], (g, k, m)
    valves : by shift, such as "1-2"
    """

    travel: FloatArray
    mph: FloatArray
    line: FloatArray
    spilled: FloatArray
    signal: FloatArray
    governor: Mapping[str, FloatArray]
    weights: Mapping[str, FloatArray]
    signal_full: float
    engine: FloatArray
    valves: Mapping[str, ValveSteady]
    vacuum: FloatArray = field(default_factory=lambda: np.zeros(0))
    felt: FloatArray = field(default_factory=lambda: np.zeros(0))


def steady(cars: Cars, car: Vehicle, travel: FloatArray, mph: FloatArray) -> Steady:
    """What one car, `cars` of length 1, shows at every pedal travel and road speed, fluid hot.

    The engine turns with the gear's input, but never slower than a standing turbine or coupling lets it rev:
    from idle to the stall speed in proportion to the travel (common practice, no source).
    """
    if car.kind == FOUR_SPEED:
        return _four_speed(cars, car, travel, mph)
    return _three_speed(cars, car, travel, mph)


def _three_speed(one: Cars, car: Vehicle, travel: FloatArray, mph: FloatArray) -> Steady:
    k, m = len(travel), len(mph)
    over = _tiled(one, k)
    vacuum = vacuum_at_travel(over, travel)
    felt = driving.felt_at(over, car, vacuum)
    curve = pressures.governor_of(one)
    raw = governor_pressure(curve, _output(car, mph))
    flat = _tiled(one, k * m)
    signal = throttle_signal(pressures.signal_of(flat), np.repeat(felt, m), np.tile(raw, k))
    lines, spills, engines = [], [], []
    for number, gear in enumerate(GEARS[:3], start=1):
        engine = _engine(one, car, gear, travel, mph).ravel()
        line = pressures.line(flat, f"D{number}", signal, engine)
        lines.append(line)
        spills.append(pressures.spilled_share(flat, f"D{number}", line, engine))
        engines.append(engine)
    return Steady(
        travel=travel,
        mph=mph,
        line=np.stack(lines).reshape(3, k, m),
        spilled=np.stack(spills).reshape(3, k, m),
        signal=signal.reshape(k, m),
        governor={"governor": _capped(raw, np.stack(lines).reshape(3, k, m))},
        weights={"governor": _swung(curve, _output(car, mph))},
        signal_full=float(np.asarray(pressures.signal_of(one).full)[0]),
        engine=np.stack(engines).reshape(3, k, m),
        valves={shift: _three_valve(over, one, car, name, felt) for shift, name in THREE.items()},
        vacuum=vacuum,
        felt=felt,
    )


def _three_valve(over: Cars, one: Cars, car: Vehicle, name: str, felt: FloatArray) -> ValveSteady:
    def four(cars: Cars, there: FloatArray, floor: bool) -> tuple[FloatArray, ...]:
        valve, signal = driving.shift_valve(cars, name), pressures.signal_of(cars)
        detent = driving.detent_pressure(cars, floor=floor)
        return (
            upshift_governor(valve, signal, there, detent),
            downshift_governor(valve, signal, there, detent),
            driving.up_speed(cars, car, name, there, floor=floor),
            driving.down_speed(cars, car, name, there, floor=floor),
        )

    return _valve(four(over, felt, False), four(one, felt[-1:], True), one, name)


def _four_speed(one: Cars, car: Vehicle, travel: FloatArray, mph: FloatArray) -> Steady:
    k, m = len(travel), len(mph)
    over, flat = _tiled(one, k), _tiled(one, k * m)
    reached = four.reached(over, travel)
    signal = np.repeat(four.throttle_pressure(over, reached), m)
    first, second = four.governor_signals(one)
    output = _output(car, mph)
    lines, spills, engines = [], [], []
    for gear in GEARS:
        applied = car.gears[gear].applied
        engine = _engine(one, car, gear, travel, mph).ravel()
        line = four.line(flat, applied, signal, engine, np.tile(output, k))
        lines.append(line)
        spills.append(four.spilled_share(flat, applied, line, engine, np.tile(output, k)))
        engines.append(engine)
    return Steady(
        travel=travel,
        mph=mph,
        line=np.stack(lines).reshape(4, k, m),
        spilled=np.stack(spills).reshape(4, k, m),
        signal=signal.reshape(k, m),
        governor={
            name: _capped(governor_pressure(curve, output), np.stack(lines).reshape(4, k, m))
            for name, curve in (("first", first), ("second", second))
        },
        weights={"first": _swung(first, output), "second": _swung(second, output)},
        signal_full=float(one["throttle_valve.full_pressure"][0]),
        engine=np.stack(engines).reshape(4, k, m),
        valves={shift: _four_valve(over, one, car, name, reached) for shift, name in FOUR.items()},
    )


def _four_valve(over: Cars, one: Cars, car: Vehicle, name: str, travel: FloatArray) -> ValveSteady:
    def needs(cars: Cars, there: FloatArray, floor: bool) -> tuple[FloatArray, ...]:
        valve, signal = four_driving.valve_at(cars, name, floor=floor), four.signal_at(cars, there)
        return (
            upshift_governor(valve, signal, 0.0),
            downshift_governor(valve, signal, 0.0),
            four_driving.up_speed(cars, car, name, there, floor=floor),
            four_driving.down_speed(cars, car, name, there, floor=floor),
        )

    return _valve(needs(over, travel, False), needs(one, travel[-1:], True), one, name)


def _valve(found: tuple[FloatArray, ...], floor: tuple[FloatArray, ...], one: Cars, name: str) -> ValveSteady:
    up_needs, down_needs, up_speed, down_speed = found
    a, b, c, d = (float(np.ravel(value)[0]) for value in floor)
    stuck = int(np.sign(one[f"shift_valves.{name}.stuck"][0]))
    return ValveSteady(up_needs, down_needs, up_speed, down_speed, (a, b, c, d), stuck)


def _capped(raw: FloatArray, line: FloatArray) -> FloatArray:
    return np.minimum(raw[None, None, :], line)


def _tiled(one: Cars, count: int) -> Cars:
    return one.take(np.repeat(ONE, count))


def _output(car: Vehicle, mph: FloatArray) -> FloatArray:
    return np.asarray(mph * (MPH * car.axle_ratio / car.tyre_radius))


def _engine(one: Cars, car: Vehicle, gear: str, travel: FloatArray, mph: FloatArray) -> FloatArray:
    """Engine speed over travel and road speed [rad/s], (k, m)."""
    shown = four_driving.readings if car.kind == FOUR_SPEED else driving.readings
    idle = float(one["engine.idle_speed"][0])
    stall = float(shown(one, car)["stall-drive"][0])
    standing = idle + travel * max(stall - idle, 0.0)
    return np.maximum(standing[:, None], car.gears[gear].ratio * _output(car, mph)[None, :])


def _swung(curve: GovernorCurve, output: FloatArray) -> FloatArray:
    """How far the weights have swung out: their pull over that of their stop, else by speed [-]."""
    low, high, stop = (float(np.ravel(part)[0]) for part in (curve.low, curve.high, curve.stop))
    square = output**2
    if low > 0.0:
        return np.minimum(low * square / stop, 1.0)
    pull = high * square
    return np.asarray(np.sqrt(pull / max(float(pull[-1]), 1e-12)))
