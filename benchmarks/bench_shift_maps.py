"""Time the shift maps of many cars beside a loop that finds each shift speed as a scalar root, in turn."""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable, Sequence
from dataclasses import fields
from types import SimpleNamespace
from typing import Any

import numpy as np
from benchmarks.measured import Curve, Found, Line, duration, paired, times, worked
from numpy.typing import NDArray
from scipy.optimize import brentq

from bellhousing.boxes.load import load_box
from bellhousing.hydraulics.shift_valve import LEAST_HYSTERESIS
from bellhousing.road import driving
from bellhousing.road.cars import Cars, draw_cars
from bellhousing.road.engine import INHG
from bellhousing.road.pressures import RPM, felt_vacuum, governor_of, line, regulator_of, signal_of
from bellhousing.road.shifts import THREE, shift_speeds_over
from bellhousing.road.shown import vehicle
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]
GRID = INHG * np.linspace(16.0, 0.0, 17)
SHIFTS = [*THREE, *(shift[::-1] for shift in THREE)]
FASTEST = 3000.0
"""Output-shaft speed beyond every shift [rad/s]."""

GOAL = 1000.0


def maps(cars: Cars, car: Vehicle) -> FloatArray:
    """Road speed of every shift of every car over the grid [m/s], (vacuum, shift, car)."""
    found = shift_speeds_over(cars, car, GRID)
    return np.stack([found[shift] for shift in SHIFTS], axis=1)


class Single:
    """One car in plain numbers: what pushes each way on a valve, as one would write it for a solver."""

    def __init__(self, cars: Cars, row: int, car: Vehicle) -> None:
        one = cars.take(np.array([row]))
        self.governor, self.signal, self.regulator = map(
            _plain, (governor_of(one), signal_of(one), regulator_of(one))
        )
        self.valves = {shift: _plain(driving.shift_valve(one, valve)) for shift, valve in THREE.items()}
        self.most = float(line(one, "D2", np.full(1, 1e7), 2000.0 * RPM)[0])
        self.share = float(felt_vacuum(one, 1.0)[0])
        self.detent = float(driving.detent_pressure(one, floor=False)[0])
        self.road = car.tyre_radius / car.axle_ratio

    def pressure(self, speed: float, direction: int) -> float:
        """Governor pressure [Pa] at an output-shaft speed [rad/s]."""
        g, square = self.governor, speed * speed
        push = g.residual + g.scale * (g.high * square + min(g.low * square, g.stop))
        return float(push - direction * g.friction)

    def throttle(self, vacuum: float, governor: float) -> float:
        """Throttle signal [Pa] at a vacuum felt [Pa]."""
        s = self.signal
        if s.stuck > 0.5:
            return float(s.stuck_at)
        return float(min(max(s.full - s.slope * vacuum - s.cutback * governor, 0.0), s.ceiling))

    def speed(self, shift: str, vacuum: float) -> float:
        """Road speed of one shift [m/s] at a vacuum of the engine [Pa]; inf where it never comes."""
        felt = vacuum * self.share
        up = self._root(shift, felt, up=True) if shift in THREE else self._down(shift[::-1], felt)
        road = up * self.road
        return float(road) if road <= driving.TOP else math.inf

    def _root(self, shift: str, felt: float, *, up: bool) -> float:
        v = self.valves[shift]
        if v.stuck > 0.5 or v.stuck < -0.5:
            return 0.0 if v.stuck > 0.5 else math.inf
        sign = 1 if up else -1
        offset, gain = (v.offset, v.gain) if up else (v.down_offset, v.down_gain)
        kick = (v.detent_gain if up else v.down_gain) * self.detent
        spring = offset + sign * v.friction

        def gap(speed: float) -> float:
            there = self.pressure(speed, sign)
            return float(there - spring - max(gain * self.throttle(felt, there), kick))

        return self._fed(self._solved(gap), felt, sign)

    def _down(self, shift: str, felt: float) -> float:
        up = self._root(shift, felt, up=True)
        down = self._root(shift, felt, up=False)
        if not math.isfinite(up) or self.pressure(down, -1) <= (1.0 - LEAST_HYSTERESIS) * self.pressure(
            up, 1
        ):
            return down
        least = (1.0 - LEAST_HYSTERESIS) * self.pressure(up, 1)
        return self._fed(self._solved(lambda speed: self.pressure(speed, -1) - least), felt, -1)

    def _solved(self, gap: Callable[[float], float]) -> float:
        if gap(0.0) >= 0.0:
            return 0.0
        return float(brentq(gap, 0.0, FASTEST, xtol=1e-9, rtol=1e-12)) if gap(FASTEST) > 0.0 else math.inf

    def _fed(self, speed: float, felt: float, direction: int) -> float:
        """The line, which feeds the governor, must reach the pressure that the shift wants."""
        if not math.isfinite(speed):
            return speed
        wanted, r = self.pressure(speed, direction), self.regulator
        target = min(max(r.base + r.gain * self.throttle(felt, wanted), r.lowest), r.highest)
        return math.inf if wanted > min(target, self.most) else speed


def _plain(part: Any) -> Any:
    return SimpleNamespace(**{one.name: float(np.ravel(getattr(part, one.name))[0]) for one in fields(part)})


def looped(singles: Sequence[Single]) -> FloatArray:
    """The same maps, one root after another, (vacuum, shift, car)."""
    return np.array([[[one.speed(shift, float(v)) for one in singles] for shift in SHIFTS] for v in GRID])


def apart(cars: Cars, car: Vehicle, singles: Sequence[Single]) -> float:
    """Largest difference between both on the first cars [m/s], relative to the speed."""
    ours, theirs = maps(cars.take(np.arange(len(singles))), car), looped(singles)
    never = np.isinf(theirs)
    if not np.array_equal(np.isinf(ours), never):
        raise SystemExit("a shift that comes for one side never comes for the other")
    off = np.abs(np.where(never, 0.0, ours) - np.where(never, 0.0, theirs))
    return float((off / np.maximum(1.0, np.where(never, 1.0, theirs))).max())


def measured(
    *, sizes: Sequence[int] = (100, 300, 1000, 3000, 10000), alone: int = 20, rounds: int = 5
) -> Found:
    """The ratio at a thousand cars, and both over the number of cars."""
    box = load_box("box-a")
    car = vehicle(box, 3.08, 0.345, 0.0)
    cars = draw_cars(box, max(sizes), np.random.default_rng(1))
    singles = [Single(cars, row, car) for row in range(alone)]
    off, told = apart(cars, car, singles), {}
    for size in sizes:
        some = cars.take(np.arange(size))
        told[size] = paired(
            lambda some=some: worked(lambda: shift_speeds_over(some, car, GRID)),  # type: ignore[misc]
            lambda size=size: worked(lambda: looped(singles)) / alone * size,  # type: ignore[misc]
            rounds,
        )
    count = min(sizes, key=lambda size: abs(size - 1000))
    ours, theirs, ratio = told[count]
    roots = GRID.size * len(SHIFTS)
    line = Line(
        f"shift maps of {count:,} cars, {roots} shifts each",
        "scalar root finding by brentq, one root after another, in plain numbers",
        "≥ 1,000 ×",
        times(1.0 / ratio),
        1.0 / ratio >= GOAL,
        f"{duration(ours)} against {duration(theirs)} (from {alone} cars); speeds agree to {off:.0e}",
    )
    series = {
        "all at once": [(float(n), seconds[0]) for n, seconds in told.items()],
        "one after another": [(float(n), seconds[1]) for n, seconds in told.items()],
    }
    return Found([line], [Curve("Shift maps over samples", "sampled cars", series)])


def main() -> None:
    """Print the line of the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=5)
    for told in measured(rounds=parser.parse_args().rounds).lines:
        print(f"{told.what}: {told.found} ({told.note})")


if __name__ == "__main__":
    main()
