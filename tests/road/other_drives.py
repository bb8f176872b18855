"""Drives of other invented cars, no two alike, each with a known truth.

Weight, hills, engine, converter or coupling, shift speeds, the time valves take, the form of a shift and the
foot are drawn by seed. What a change of gear does is told against the same car that did not change. A flare
is the turbine set free before the new gear holds; a slip is a turbine that runs ahead of its gear while it is
pulled harder than the clutch holds. Nothing here comes from the road room. Figures are invented.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass
from functools import lru_cache
from math import cos, exp, pi, sin, sqrt

import numpy as np

from tests.road.invented_drives import AXLE, MPH, TYRE, Drive, TrueShift

STEP = 0.01
RPM = pi / 30.0
THREE, FOUR = (2.4545, 1.4545, 1.0), (3.7582, 2.5714, 1.4615, 1.0)
REDUCED = (1.4615, 1.0, 1.4615, 1.0)
"""How much slower than its engine the four-speed drives its coupling, by gear."""

SHOWS = 80.0
"""Engine speed by which a change not begun at idle must differ from none within 0.6 s to show [rpm]."""


@dataclass(frozen=True)
class Weak:
    """What is wrong: gear and slip at full pull [rpm]; gear changed up from and flare [rpm]."""

    slip: tuple[int, float] = (0, 0.0)
    flare: tuple[int, float] = (0, 0.0)


@dataclass(frozen=True)
class TrueSlip:
    """Slip of a gear while it slips clearly under a steady pull: engine speed [rpm], share [-], time [s]."""

    gear: int
    rpm: float
    share: float
    seconds: float


@dataclass(frozen=True)
class OtherDrive:
    """A drive, which of its changes show, and its slip."""

    drive: Drive
    shows: tuple[bool, ...]
    slip: TrueSlip | None


@lru_cache(maxsize=64)
def other_drive(seed: int, gears: int = 3, weak: Weak = Weak(), *, reverse: bool = False) -> OtherDrive:
    """The drive of one seed; with `reverse` it begins by backing out, its speed counted as loggers do."""
    random = np.random.default_rng((seed, gears))
    car = _Car(random, THREE if gears == 3 else FOUR, weak)
    script = _backing(random) if reverse else []
    script += _foot(random)
    rows: list[tuple[float, ...]] = []
    shifts: list[TrueShift] = []
    shows: list[bool] = []
    idles: list[bool] = []
    slipped: list[tuple[float, float]] = []
    ghosts: list[tuple[_Car, int, float, float]] = []
    place = 0
    for seconds, opening, brake, haste, backwards in script:
        car.backwards = backwards
        for _ in range(round(seconds / STEP)):
            before = car.gear
            ghost = copy(car) if car.due(opening) else None
            car.go(opening, brake, haste)
            if ghost is not None and car.gear != before:
                ghost.stuck = True
                ghosts.append((ghost, place, 0.0, 0.0))
                shifts.append(TrueShift(car.t, before, car.gear, abs(car.v) / MPH, car.length, 0.0))
                shows.append(False)
                idles.append(car.opening < 0.03 and car.rpm < 1.15 * car.idle)
            ghosts = _followed(ghosts, car, place, opening, brake, haste, shifts, shows)
            if car.gear == weak.slip[0] and car.slipping > 100.0 and not car.changing and car.steady > 0.8:
                slipped.append((car.slipping, car.slipping / max(car.turbine, 1.0)))
            rows.append(car.row())
            place += 1
    t, mph, rpm, vacuum, throttle, gear = np.array(rows).T
    slip = None
    if slipped:
        middle = np.median(np.array(slipped), axis=0)
        slip = TrueSlip(weak.slip[0], float(middle[0]), float(middle[1]), len(slipped) * STEP)
    shown = tuple(show and not idle for show, idle in zip(shows, idles, strict=True))
    return OtherDrive(Drive(t, mph, rpm, vacuum, throttle, gear, tuple(shifts)), shown, slip)


def _followed(
    ghosts: list[tuple[_Car, int, float, float]],
    car: _Car,
    place: int,
    opening: float,
    brake: float,
    haste: float,
    shifts: list[TrueShift],
    shows: list[bool],
) -> list[tuple[_Car, int, float, float]]:
    """Every car that did not change goes on beside the one that did, until it is told what the change was."""
    going = []
    for ghost, began, high, apart in ghosts:
        ghost.go(opening, brake, haste)
        index = next(i for i, shift in enumerate(shifts) if abs(shift.t - (began + 1) * STEP) < 0.5 * STEP)
        if place - began <= 90:
            apart = max(apart, abs(car.rpm - ghost.rpm)) if place - began <= 60 else apart
            if car.flare and shifts[index].after > shifts[index].before:
                high = max(high, car.rpm - ghost.rpm)
        if place - began >= 90:
            one = shifts[index]
            shifts[index] = TrueShift(one.t, one.before, one.after, one.mph, one.duration, high)
            shows[index] = apart > SHOWS
        else:
            going.append((ghost, began, high, apart))
    return going


def _foot(random: np.random.Generator) -> list[tuple[float, float, float, float, int]]:
    """Seconds, opening, braking [m/s2], how quickly the foot moves [s], 1 for backwards."""
    script = [(float(random.uniform(2, 4)), 0.0, 2.0, 0.2, 0)]
    for _ in range(7):
        pull = float(np.clip(random.lognormal(-1.9, 0.75), 0.06, 1.0))
        haste = float(random.choice([0.05, 0.15, 0.3, 0.6]))
        script.append((float(random.uniform(5, 15)), pull, 0.0, haste, 0))
        for _ in range(random.integers(0, 4)):
            kind = random.random()
            opening = 0.0 if kind < 0.3 else 1.0 if kind > 0.85 else float(random.uniform(0.05, 0.7))
            brake = float(random.choice([0.0, 0.0, 0.6])) if opening == 0.0 else 0.0
            script.append((float(random.uniform(2, 9)), opening, brake, haste, 0))
        script.append((float(random.uniform(4, 13)), 0.0, float(random.uniform(0.7, 2.6)), 0.15, 0))
        if random.random() < 0.7:
            script.append((float(random.uniform(2, 7)), 0.0, 2.6, 0.2, 0))
    return script


def _backing(random: np.random.Generator) -> list[tuple[float, float, float, float, int]]:
    """Out of a yard: backwards once or twice, with rests between."""
    script = [(3.0, 0.0, 2.0, 0.2, 0)]
    for _ in range(int(random.integers(1, 3))):
        script += [
            (float(random.uniform(2, 4)), float(random.uniform(0.05, 0.09)), 0.0, 0.3, 1),
            (float(random.uniform(1, 3)), 0.0, 0.0, 0.3, 1),
            (4.0, 0.0, 2.0, 0.2, 1),
            (float(random.uniform(1, 4)), 0.0, 2.0, 0.2, 0),
        ]
    return script


class _Car:
    """A point mass, an engine, a converter or coupling, and a box that obeys a chart of shift speeds."""

    stuck = False
    backwards = 0

    def __init__(self, random: np.random.Generator, ratios: tuple[float, ...], weak: Weak) -> None:
        self.ratios, self.weak, top = ratios, weak, len(ratios)
        self.mass, self.idle = float(random.uniform(1450, 2400)), float(random.uniform(540, 760))
        strong = (330, 520) if top == 3 else (260, 400)
        self.torque, self.friction = float(random.uniform(*strong)), float(random.uniform(25, 45))
        self.inertia = float(random.uniform(0.2, 0.34))
        self.k0 = float(random.uniform(78, 108) if top == 3 else random.uniform(42, 56))  # rpm/sqrt(N m)
        self.multiplies = float(random.uniform(1.8, 2.3)) if top == 3 else 1.0
        self.bend = float(random.uniform(3.0, 6.0)) if top == 3 else float(random.uniform(2.5, 5.0))
        self.loose = float(random.uniform(0.95, 1.25))
        self.hill = [
            (float(random.uniform(-0.018, 0.018)), float(random.uniform(150, 900))) for _ in range(3)
        ]
        base = (13.0, 21.0) if top == 3 else (8.0, 14.0, 20.0)
        span = (32.0, 50.0) if top == 3 else (13.0, 20.0, 48.0)
        self.up = [(b * float(random.uniform(0.85, 1.2)), s * float(random.uniform(0.8, 1.15)))
                   for b, s in zip(base, span, strict=True)]  # fmt: skip
        self.down = [b * float(random.uniform(0.45, 0.65)) for b, _ in self.up]
        self.kick = float(random.uniform(0.55, 0.95))
        self.delay = float(random.uniform(0.1, 0.6))
        self.pause = float(random.uniform(1.0, 1.6))
        self.form = int(random.integers(0, 3))
        self.up_length, self.down_length = float(random.uniform(0.3, 0.8)), float(random.uniform(0.25, 0.5))
        self.brakes = bool(random.random() < 0.5) or top == 4  # lower gears hold on the overrun
        self.t, self.v, self.far, self.rpm, self.opening = 0.0, 0.0, 0.0, self.idle, 0.0
        self.gear, self.before, self.done, self.since, self.rest = 1, 1, 1.0, 0.0, 0.0
        self.changing, self.began, self.length, self.old, self.flare = False, 0.0, 0.0, ratios[0], 0.0
        self.slipping, self.turbine, self.steady, self.given = 0.0, 0.0, 0.0, 0.0

    def row(self) -> tuple[float, ...]:
        """Time, speed, engine speed, vacuum, throttle, gear (0 backwards), as they are."""
        gear = 0.0 if self.backwards else float(self.gear)
        vacuum = 20.8 * (1.0 - min(1.0, self.opening / (0.25 + 0.75 * self.rpm / 4400.0)) ** 0.7)
        return self.t, abs(self.v) / MPH, self.rpm, vacuum + 0.3, 100.0 * self.opening, gear

    def chart(self) -> int:
        """The gear the chart of shift speeds asks for."""
        mph, gear = abs(self.v) / MPH, self.gear
        floor = self.opening > 0.97
        if gear < len(self.ratios):
            low, span = self.up[gear - 1]
            if mph > low + span * self.opening**1.2 + (6.0 if floor else 0.0):
                return gear + 1
        if gear > 1:
            low, span = self.up[gear - 2]
            forced = self.opening > self.kick and gear == len(self.ratios)
            limit = low + span * self.opening**1.2 - 8.0 - 0.1 * span if forced or floor else 0.0
            if mph < max(self.down[gear - 2], limit):
                return gear - 1
        return gear

    def due(self, opening: float) -> bool:
        """Whether a change may begin in this step."""
        return not (self.changing or self.backwards or self.stuck) and self.chart() != self.gear

    def go(self, target: float, brake: float, haste: float) -> None:
        """One step."""
        self.t += STEP
        move = (target - self.opening) * min(1.0, STEP / haste)
        self.steady = self.steady + STEP if abs(move) < 0.002 * STEP / 0.01 else 0.0
        self.opening += move
        self._shift()
        out = abs(self.v) / TYRE * AXLE / RPM
        ratio = self._ratio(out)
        self.turbine = ratio * out
        seen = self.turbine + self._slip(ratio, out)
        parts = 2 if len(self.ratios) == 3 else 10  # a coupling that hardly slips is stiff
        for _ in range(parts):
            taken, given = self._fluid(seen)
            self.rpm += (self._engine() - taken) / self.inertia * (STEP / parts) / RPM
            self.rpm = max(self.rpm, 350.0)
        self.given = given
        way = -1.0 if self.backwards else 1.0
        drag = 0.13 * self.mass * 1.0 + 0.5 * self.v**2
        slope = (
            sum(a * sin(self.far / length) for a, length in self.hill) * 9.81 if not self.backwards else 0.0
        )
        push = given * (2.0 if self.backwards else ratio) * AXLE / TYRE
        speed = abs(self.v)
        gain = (
            (push - (drag if speed > 0.05 or push > drag else push)) / self.mass
            - way * slope * (speed > 0.3)
            - brake
        )
        speed = max(0.0, speed + gain * STEP)
        self.v, self.far = way * speed, self.far + speed * STEP

    def _shift(self) -> None:
        if self.backwards:
            self.gear = self.before = 1
            return
        self.rest = max(0.0, self.rest - STEP)
        if self.changing:
            return
        wanted = self.gear if self.stuck else self.chart()
        self.since = self.since + STEP if wanted != self.gear else 0.0
        if wanted == self.gear or self.since < self.delay or self.rest > 0.0:
            return
        up = wanted > self.gear
        self.length = self.up_length if up else self.down_length
        weak, rise = self.weak.flare
        self.flare = rise if up and weak == self.gear else 0.0
        self.old, self.began, self.changing = self.ratios[self.gear - 1], self.t, True
        self.before, self.gear, self.done, self.rest, self.since = self.gear, wanted, 0.0, self.pause, 0.0

    def _ratio(self, out: float) -> float:
        if self.backwards:
            return 2.0 if len(self.ratios) == 3 else 4.3
        new = self.ratios[self.gear - 1]
        if not self.changing:
            return new
        since, rise = self.t - self.began, 0.3 if self.flare else 0.0
        top = self.old + self.flare / max(out, 60.0)
        if since < rise:
            return self.old + (top - self.old) * since / rise
        share = (since - rise) / self.length
        if share >= 1.0:
            self.changing, self.done = False, 1.0
            return new
        self.done = (share, 0.5 - 0.5 * cos(pi * share), (1.0 - exp(-3.0 * share)) / (1.0 - exp(-3.0)))[
            self.form
        ]
        return top + (new - top) * self.done

    def _slip(self, ratio: float, out: float) -> float:
        """What the turbine turns ahead of its gear [rpm], less where it is pulled less."""
        weak, most = self.weak.slip
        pulled = self.given / self.torque
        wish = (
            most * min(1.0, max(0.0, (pulled - 0.12) / 0.35)) if weak == self.gear and self.v > 2.0 else 0.0
        )
        self.slipping += (wish - self.slipping) * STEP / 0.35
        return 0.0 if self.changing else self.slipping

    def _engine(self) -> float:
        breath = 1.0 - exp(-self.opening * 3.2 / max(0.25, self.rpm / 2600.0))
        full = self.torque * (1.0 - 0.22 * ((self.rpm - 2500.0) / 2200.0) ** 2)
        drag = self.friction + 0.010 * self.rpm
        if self.opening < 0.015 or self.rpm < self.idle:
            return max(full * breath - drag, min(90.0, (self.idle - self.rpm) * 0.7))
        return min(full * breath * 1.04, full) - drag * (1.0 - breath)

    def _fluid(self, turbine: float) -> tuple[float, float]:
        """Torque taken from the engine and given at the turbine [N m]."""
        if len(self.ratios) == 4:
            return self._coupling(turbine)
        at = turbine / self.rpm
        if at <= 1.0:
            taken = (self.rpm / self.k0) ** 2 * (1.0 - at**self.bend)
            return taken, taken * max(1.0, self.multiplies - (self.multiplies - 1.0) * at / 0.87)
        free = not self.brakes and self.gear < len(self.ratios) and not self.changing
        back = 0.0 if free else (turbine / (self.loose * self.k0)) ** 2 * (1.0 - (1.0 / at) ** self.bend)
        return -back, -back

    def _coupling(self, turbine: float) -> tuple[float, float]:
        if self.backwards:
            taken = self._split(turbine, 1.4615, all_of_it=True)
        else:
            taken = self._split(turbine, REDUCED[self.gear - 1], all_of_it=self.gear < 3)
            if self.done < 1.0:
                old = self._split(turbine, REDUCED[self.before - 1], all_of_it=self.before < 3)
                taken = old + (taken - old) * self.done
        return taken, taken

    def _split(self, turbine: float, slow: float, *, all_of_it: bool) -> float:
        """Torque of a coupling driven slower than the engine, by all of its torque or beside a ring gear."""
        at = turbine / self.rpm
        if not all_of_it:
            at = (108.0 * at - 66.0) / 42.0
        if at <= 1.0:
            one = (self.rpm / slow / self.k0) ** 2 * (1.0 - max(at, 0.0) ** self.bend)
        else:
            one = -((at * self.rpm / slow / self.k0) ** 2) * (1.0 - (1.0 / at) ** self.bend)
        one = float(min(max(one, -160.0), 900.0))
        return one / slow * (1.0 if all_of_it else 108.0 / 42.0)


def pairs_of_weak(seed: int, gears: int) -> tuple[Weak, Weak]:
    """A slip of 150 to 500 rpm in one gear and a flare of 150 to 600 rpm in one change, by seed."""
    random = np.random.default_rng((seed, gears, 7))
    slip = (int(random.integers(2, gears + 1)), float(random.uniform(150.0, 500.0)))
    flare = (int(random.integers(1, gears)), float(random.uniform(100.0, 600.0)))
    return Weak(slip=slip), Weak(flare=flare)


def spread_of(values: list[float]) -> float:
    """Root of the mean square."""
    return sqrt(sum(value * value for value in values) / max(len(values), 1))
