"""Invented drives with a known truth, by assumptions that are not those of the reader of logs.

The car is a point mass, the engine a torque by throttle opening with its own inertia, the converter a table
of size factor over speed ratio typed in below, the shift speeds the reduced reference model of the trade
(governor, throttle signal and springs in psi over mph and inHg), a shift a rounded ramp of the ratio.
Nothing here comes from the road room. Figures are invented.
"""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

MPH = 0.44704
RATIOS = (2.4545, 1.4545, 1.0)
AXLE, TYRE, MASS = 3.08, 0.345, 1950.0
IDLE = 640.0
STEP = 0.01
# Speed ratio, size factor N/sqrt(T) [rpm/sqrt(N m)] and torque ratio of the invented converter.
SPEED_RATIO = np.array([0.0, 0.2, 0.4, 0.6, 0.7, 0.8, 0.86, 0.9, 0.94, 0.97, 0.99])
SIZE = 90.0 * np.array([1.0, 1.005, 1.02, 1.06, 1.11, 1.22, 1.36, 1.55, 1.95, 2.8, 4.6])
TORQUE_RATIO = np.array([2.1, 1.86, 1.62, 1.38, 1.26, 1.13, 1.05, 1.0, 1.0, 1.0, 1.0])


@dataclass(frozen=True)
class TrueShift:
    """When the ratio begins to change [s], gears, road speed then [mph], time it takes [s], flare [rpm]."""

    t: float
    before: int
    after: int
    mph: float
    duration: float
    flare: float


@dataclass(frozen=True)
class Drive:
    """A drive as it was: every 10 ms, without noise."""

    t: FloatArray
    mph: FloatArray
    rpm: FloatArray
    vacuum: FloatArray  # inHg
    throttle: FloatArray  # per cent
    gear: FloatArray
    shifts: tuple[TrueShift, ...]


@dataclass
class Faults:
    """What is wrong with the car: slip by gear [-], flare by shift [rpm], shift times [s], late by mph."""

    slip: Mapping[int, float] = field(default_factory=dict)
    flare: Mapping[str, float] = field(default_factory=dict)
    durations: Mapping[str, float] = field(default_factory=dict)


def governor(mph: float) -> float:
    """Governor pressure of the reference model [psi]."""
    return 0.055 * mph * mph if mph < 20 else 18.4 + 0.009 * mph * mph


def wanted_gear(gear: int, mph: float, vacuum: float, throttle: float) -> int:
    """Gear the valves of the reference model ask for."""
    g = governor(mph)
    m = max(0.0, 85.0 * max(0.0, 1 - vacuum / 16.0) - 0.5 * g)
    floor = throttle > 0.97
    if gear < 3 and g > (7 + 0.49 * m if gear == 1 else 18 + 1.14 * m):
        return gear + 1
    if gear == 3 and g < 9.3 + (0.76 * 70 if floor else 0.45 * m):
        return 2
    if gear == 2 and g < 2.0 + (0.30 * 70 if floor else 0.0):
        return 1
    return gear


def manifold_vacuum(throttle: float, rpm: float) -> float:
    """Vacuum behind a throttle [inHg]: less with opening, more with speed."""
    return float(np.clip(21.5 - 30.0 * throttle**0.62 * (1.25 - rpm / 12000.0) - 0.0, 0.3, 21.5))


def engine_torque(throttle: float, rpm: float) -> float:
    """Engine torque [N m]."""
    full = 520.0 * (1.0 - 0.30 * ((rpm - 2700.0) / 2700.0) ** 2)
    share = min(1.0, 1.75 * float(throttle**0.8))
    friction = 22.0 + 0.012 * rpm
    governed = float(np.clip((IDLE - rpm) * 0.9, 0.0, 120.0)) + 20.0 + 0.012 * IDLE
    return float(max(share * full - friction * (1 - share), governed - friction))


def drive(script: Sequence[tuple[float, float, float]], faults: Faults | None = None) -> Drive:
    """Drive a script of (seconds, throttle opening 0-1, brake deceleration m/s²)."""
    faults = faults or Faults()
    state = _Car(faults)
    for seconds, opening, brake in script:
        for _ in range(round(seconds / STEP)):
            state.go(opening, brake)
    rows = np.array(state.rows).T
    return Drive(rows[0], rows[1], rows[2], rows[3], rows[4], rows[5], tuple(state.shifts))


class _Car:
    def __init__(self, faults: Faults) -> None:
        self.faults = faults
        self.t, self.v, self.rpm, self.gear, self.opening = 0.0, 0.0, IDLE, 1, 0.0
        self.shifting: tuple[float, float, float, float, float] | None = None
        self.rows: list[tuple[float, ...]] = []
        self.shifts: list[TrueShift] = []
        self.rest = 0.0

    def go(self, opening: float, brake: float) -> None:
        self.opening += (opening - self.opening) * min(1.0, STEP / 0.15)
        vacuum = manifold_vacuum(self.opening, self.rpm)
        mph = self.v / MPH
        output = self.v / TYRE * AXLE * 30 / float(np.pi)
        self._change(mph, vacuum)
        ratio = self._ratio(output)
        turbine = ratio * output
        at = turbine / max(self.rpm, 1.0)
        torque = engine_torque(self.opening, self.rpm)
        if at < 0.99:
            taken = (self.rpm / float(np.interp(at, SPEED_RATIO, SIZE))) ** 2
            given = taken * float(np.interp(at, SPEED_RATIO, TORQUE_RATIO))
        else:
            # The wheels drive the engine only in top: below, a one-way clutch lets the box run free.
            taken = given = -((turbine - 0.99 * self.rpm) / 260.0) * 60.0 if self.gear == 3 else 0.0
        self.rpm = max(400.0, self.rpm + (torque - taken) / 0.30 * STEP * 30 / np.pi)
        force = given * ratio * AXLE / TYRE - 200.0 - 0.55 * self.v**2
        accel = force / MASS - brake
        if self.v <= 0.0:
            accel = max(0.0, accel if brake == 0 else 0.0)
        self.v = max(0.0, self.v + accel * STEP)
        self.rows.append((self.t, mph, self.rpm, vacuum, 100 * self.opening, float(self.gear)))
        self.t += STEP

    def _change(self, mph: float, vacuum: float) -> None:
        if self.shifting is not None:
            return
        self.rest = max(0.0, self.rest - STEP)
        wanted = wanted_gear(self.gear, mph, vacuum, self.opening)
        if wanted == self.gear or self.rest > 0:
            return
        name = f"{self.gear}-{wanted}"
        length = self.faults.durations.get(name, 0.55 if wanted > self.gear else 0.35)
        flare = self.faults.flare.get(name, 0.0)
        self.shifts.append(TrueShift(self.t, self.gear, wanted, mph, length, flare))
        old = RATIOS[self.gear - 1] * (1 + self._slip())
        self.shifting = (self.t, length, old, RATIOS[wanted - 1], flare)
        self.gear = wanted
        self.rest = 0.8

    def _slip(self) -> float:
        return self.faults.slip.get(self.gear, 0.0) if self.opening > 0.08 else 0.0

    def _ratio(self, output: float) -> float:
        slip = self._slip()
        if self.shifting is None:
            return RATIOS[self.gear - 1] * (1 + slip)
        began, length, old, new, flare = self.shifting
        rise = 0.35 if flare else 0.0
        since = self.t - began
        if since >= rise + length:
            self.shifting = None
            return RATIOS[self.gear - 1] * (1 + slip)
        top = flare / max(output, 50.0)
        if since < rise:
            return old + top * since / rise
        share = (since - rise) / length
        rounded = 3 * share**2 - 2 * share**3
        return (old + top) + (new * (1 + slip) - old - top) * rounded


@lru_cache
def loop(slip: tuple[tuple[int, float], ...] = (), flare: float = 0.0, slow: float | None = None) -> Drive:
    """The standard loop, driven once: slip by gear, flare on every change up [rpm], length of 2-3 [s]."""
    flares = {} if not flare else {"1-2": flare, "2-3": flare}
    return drive(LOOP, Faults(dict(slip), flares, {} if slow is None else {"2-3": slow}))


def seen(drove: Drive) -> tuple[TrueShift, ...]:
    """The changes that show at all: coasting down the engine idles through them."""
    return tuple(shift for shift in drove.shifts if shift.after > shift.before or shift.mph > 20)


def under_power(drove: Drive) -> tuple[TrueShift, ...]:
    """The changes up, and those down above the speed at which the highest gear's turbine idles."""
    return tuple(shift for shift in drove.shifts if shift.after > shift.before or shift.mph > 16)


LOOP: tuple[tuple[float, float, float], ...] = (
    (4.0, 0.0, 0.0), (25.0, 0.13, 0.0), (10.0, 0.10, 0.0), (8.0, 0.0, 0.0), (10.0, 0.0, 1.6), (4.0, 0.0, 2.0),
    (16.0, 0.28, 0.0), (6.0, 0.12, 0.0), (12.0, 0.0, 1.4), (5.0, 0.0, 2.0),
    (18.0, 1.0, 0.0), (10.0, 0.12, 0.0), (18.0, 0.0, 1.5), (4.0, 0.0, 2.0),
    (20.0, 0.20, 0.0), (9.0, 0.0, 0.9), (3.0, 0.12, 0.0), (9.0, 0.99, 0.0), (8.0, 0.10, 0.0),
    (20.0, 0.0, 1.3), (5.0, 0.0, 2.0),
)  # fmt: skip
"""A standard loop: light, medium and full pulls with stops between, a kickdown, coasting down."""


@dataclass(frozen=True)
class Logger:
    """How the drive was written down."""

    rate: float = 10.0
    speed_noise: float = 0.3
    rpm_noise: float = 12.0
    lag: float = 0.0
    seed: int = 1


def sampled(drove: Drive, logger: Logger) -> dict[str, FloatArray]:
    """Rows as a logger takes them: at its rate, with noise, its speed late by the lag."""
    random = np.random.default_rng(logger.seed)
    t = np.arange(0.0, drove.t[-1], 1.0 / logger.rate)
    mph = np.interp(t - logger.lag, drove.t, drove.mph) + logger.speed_noise * random.standard_normal(len(t))
    return {
        "t": t,
        "mph": np.maximum(mph, 0.0),
        "rpm": np.interp(t, drove.t, drove.rpm) + logger.rpm_noise * random.standard_normal(len(t)),
        "vacuum": np.interp(t, drove.t, drove.vacuum) + 0.15 * random.standard_normal(len(t)),
        "throttle": np.clip(
            np.interp(t, drove.t, drove.throttle) + 0.4 * random.standard_normal(len(t)), 0, 100
        ),
    }


def written(
    columns: Mapping[str, FloatArray | Sequence[str]],
    *,
    delimiter: str = ",",
    comma: bool = False,
    digits: int = 3,
) -> str:
    """The rows as text."""
    out = io.StringIO()
    out.write(delimiter.join(columns) + "\n")
    for row in zip(*columns.values(), strict=True):
        cells = [cell if isinstance(cell, str) else f"{cell:.{digits}f}" for cell in row]
        out.write(delimiter.join(cell.replace(".", ",") if comma else cell for cell in cells) + "\n")
    return out.getvalue()


@lru_cache
def any_drive(seed: int) -> Drive:
    """A drive by a restless foot: pulls, cruises, lifts and stops in any order."""
    random = np.random.default_rng(seed)
    script: list[tuple[float, float, float]] = [(3.0, 0.0, 0.0)]
    for _ in range(9):
        stops = random.integers(0, 4)
        pull = float(random.choice([0.1, 0.13, 0.18, 0.25, 0.35, 0.5, 0.8, 1.0]))
        script.append((float(random.uniform(6, 16)), pull, 0.0))
        for _ in range(random.integers(0, 4)):
            opening = float(random.choice([0.0, 0.06, 0.1, 0.15, 0.25, 0.4, 0.7]))
            script.append((float(random.uniform(2, 8)), opening, float(random.choice([0.0, 0.0, 0.0, 0.5]))))
        script.append((float(random.uniform(4, 14)), 0.0, float(random.uniform(0.8, 2.5))))
        if stops:
            script.append((float(random.uniform(2, 6)), 0.0, 2.0))
    return drive(tuple(script))
