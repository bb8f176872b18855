"""How far to turn the screw or change the rod to bring this car onto its map, and what results.

The plausible cars of the box are put at every setting of the adjustment; what was measured weighs setting and
car together, so that a car whose governor or spring lies off the middle is set as itself and not as the
nominal box. That advice is given which leaves the map's readings of these cars closest to their windows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.instruments import sharing
from bellhousing.diagnosis.likelihood import observe, reading_uncertainty
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.diagnosis.windows import Window, window
from bellhousing.road.adjusters import Adjuster, adjuster_of, settings_of, show_settings
from bellhousing.road.shown import Shown

FloatArray = NDArray[np.float64]

STEPS = 37
"""Settings at which the cars are put."""

SPREAD = 0.42
"""Standard deviation of how far off a setting may be, as a share of the furthest thought of: common practice,
no source."""

SAMPLES = 2000
"""Draws of setting, car and rate that stand for what is believed."""

TOP = 50.0
"""Road speed that stands for 'never' where speeds are averaged [m/s]."""

SAME_GAUGE = 0.75
"""Share of a reading's variance that it has in common with the next reading on the same gauge, so that their
difference is free of it: common practice, no source."""

RATE_OPEN = 0.7
"""Spread (natural log) of the rate of a screw of which nothing is known: common practice, no source."""

LINES = (
    "line-drive-idle",
    "line-drive-1000",
    "line-drive-hose-off",
    "line-neutral-idle",
    "line-cruise",
    "line-stall",
)
"""Readings of the line whose windows' low ends no adjustment may go below."""

RISK = 0.1
"""Chance of a line reading below its floor that stops an adjustment: common practice, no source."""

MAPPED = ("upshift-", "line-drive-hose-off", "tv-")
"""What is brought onto the map: the changes up, and the pressure that follows the adjustment."""


@dataclass(frozen=True)
class Step:
    """One adjustment made, after `after` pieces of evidence: turns in, or metres longer, out negative."""

    after: int
    amount: float


@dataclass(frozen=True)
class Rate:
    """What one unit of adjustment does to the parameter, relative to `usual`: middle, spread of its log."""

    usual: float
    middle: float
    spread: float


@dataclass(frozen=True)
class Band:
    """Low, middle and high holding 95 of 100 plausible cars [SI]."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class Outcome:
    """One reading now, after the adjustment, and with each plausible car at its own best; its window."""

    finding: str
    now: Band
    then: Band
    best: Band
    window: Window | None


@dataclass(frozen=True)
class Setting:
    """How far to adjust: the amount to make, the band of what this car may need, and what comes of it.

    Amounts are turns in or metres longer, negative out or shorter. `limited` names the line reading whose
    floor stopped it short. `rate` is what is believed of the rate after the re-measured readings.
    """

    amount: float
    needed: Band
    outcomes: tuple[Outcome, ...]
    limited: str | None
    rate: Rate


@dataclass(frozen=True)
class Bench:
    """The plausible cars at every setting, and how what was found weighs them."""

    prepared: Prepared
    adjuster: Adjuster
    settings: FloatArray  # (settings,)
    readings: Mapping[str, FloatArray]  # (settings, cars)
    chances: Mapping[str, FloatArray]  # (settings, cars, states)
    weights: FloatArray  # (settings, cars), sums to one
    scale: FloatArray  # (cars,)

    def weighed(self, evidence: Sequence[Evidence]) -> Bench:
        """The same cars, weighed by what was found; of several entries for one finding the last counts.

        P(setting, car | findings) is proportional to a normal spread of settings about the right one, times
        the likelihoods of everything the physics bears on; the cars are those of the diagnosis, so that at
        the right setting their weights are those of its sound cars.
        """
        shown = self.prepared.shown
        # The first row stays that of the sound cars, from which windows are taken.
        local = replace(
            self.prepared,
            shown=Shown(
                {name: _joined(shown.readings[name], rows) for name, rows in self.readings.items()},
                {name: _joined(shown.chances[name], rows) for name, rows in self.chances.items()},
            ),
        )
        ln = np.repeat(np.log(_prior(self.adjuster, self.settings))[:, None], len(self.scale), axis=1)
        for entry in sharing(list({entry.finding: entry for entry in evidence}.values())):
            seen = observe(local, entry, slice(1, None))
            if seen.on_cars is not None:
                ln += np.log(np.maximum(seen.on_cars, 1e-300))
        weights = np.exp(ln - ln.max())
        return replace(self, weights=weights / weights.sum())

    @cached_property
    def moving(self) -> tuple[str, ...]:
        """Readings that the adjustment moves by more than they can be read, those that move most first."""
        found = {}
        for name, values in self.readings.items():
            finding = self.prepared.catalogue.findings.get(name)
            if finding is None or finding.kind != "reading":
                continue
            middle = np.median(np.minimum(values, TOP if finding.unit == "mph" else np.inf), axis=1)
            found[name] = float(np.ptp(middle)) / max(finding.half_width, 1e-12)
        names = [name for name, moves in found.items() if moves > 2.0]
        return tuple(sorted(names, key=lambda name: -found[name]))

    @cached_property
    def mapped(self) -> Mapping[str, Window]:
        """The readings that are brought onto the map, with their windows."""
        wanted = [name for name in self.moving if name.startswith(MAPPED)]
        windows = {name: window(self.prepared, name) for name in wanted}
        return {name: band for name, band in windows.items() if band is not None and band.high > band.low}

    def at(self, name: str, setting: FloatArray, car: NDArray[np.intp]) -> FloatArray:
        """A reading of chosen cars at chosen settings, between the settings by straight lines, (draws,)."""
        table = self.readings[name]
        if self.prepared.catalogue.finding(name).unit == "mph":
            table = np.minimum(table, TOP)
        step = self.settings[1] - self.settings[0]
        place = np.clip((setting - self.settings[0]) / step, 0.0, len(self.settings) - 1.0)
        below = np.minimum(place.astype(np.intp), len(self.settings) - 2)
        part = place - below
        return np.asarray((1.0 - part) * table[below, car] + part * table[below + 1, car])


def _joined(kept: NDArray[np.float32], rows: FloatArray) -> NDArray[np.float32]:
    return np.concatenate([kept[:1], rows.astype(np.float32)])


def bench(prepared: Prepared) -> Bench:
    """Put the plausible cars of the diagnosis at every setting; nothing found weighs them yet."""
    adjuster = adjuster_of(prepared.box)
    settings = settings_of(adjuster, STEPS)
    cars = prepared.model.cars
    readings, chances = show_settings(adjuster, cars, prepared.model.vehicle, settings)
    weights = np.repeat(_prior(adjuster, settings)[:, None] / len(cars), len(cars), axis=1)
    return Bench(prepared, adjuster, settings, readings, chances, weights, adjuster.scale(cars))


def _prior(adjuster: Adjuster, settings: FloatArray) -> FloatArray:
    chance = np.exp(-0.5 * (settings / (SPREAD * adjuster.furthest)) ** 2)
    return np.asarray(chance / chance.sum())


def rate_of(prepared: Prepared) -> tuple[Rate | None, bool]:
    """What the box file, or else its kind, says of the rate; and whether it is the box's own figure."""
    adjuster = adjuster_of(prepared.box)
    given = prepared.box.figures.get(adjuster.rate_key)
    if given is None or not given.value:
        return (Rate(1.0, 1.0, RATE_OPEN) if adjuster.thing == "rod" else None), False
    # The rod's gradient is a figure of every car already; what is told here is how much of it comes true.
    usual = 1.0 if adjuster.thing == "rod" else 2.0 * np.pi * given.value  # it is kept per radian
    spread = 0.0 if adjuster.thing == "rod" else given.scatter / given.value
    own = given.origin == "box"
    return Rate(usual, 1.0, spread if own else max(spread, RATE_OPEN)), own


def set_right(
    bench: Bench,
    rate: Rate,
    steps: Sequence[Step],
    after: Sequence[tuple[int, Evidence]],
    before: Sequence[Evidence],
) -> Setting:
    """The adjustment still to make after `steps`, and what it does.

    `before` is the evidence from before the first step, `after` later evidence with the number of steps made
    when it was taken. A reading taken on both sides of a step tells what the step did, and so the rate.

    Parameters
    ----------
    bench : the cars at every setting
    rate : what is known of the rate beforehand
    """
    draws = _Draws.of(bench, rate, steps, after, before)
    floors = {n: w.low for n in LINES if n in bench.readings and (w := window(bench.prepared, n)) is not None}
    needed = draws.needed()
    amount = _best(draws, needed)
    amount, limited = _above_floors(draws, amount, floors)
    names = [n for n in dict.fromkeys((*bench.mapped, *LINES)) if n in bench.readings]
    outcomes = tuple(
        Outcome(
            finding=name,
            now=draws.band(name, 0.0),
            then=draws.band(name, amount),
            best=draws.band(name, needed),
            window=window(bench.prepared, name),
        )
        for name in names
    )
    low, middle, high = _quantiles(needed, draws.weights)
    return Setting(amount, Band(low, middle, high), outcomes, limited, draws.learnt(rate))


@dataclass(frozen=True)
class _Draws:
    """Weighted draws of setting (as it is now), car and rate."""

    bench: Bench
    setting: FloatArray
    car: NDArray[np.intp]
    rate: FloatArray
    weights: FloatArray

    @classmethod
    def of(
        cls,
        bench: Bench,
        rate: Rate,
        steps: Sequence[Step],
        after: Sequence[tuple[int, Evidence]],
        before: Sequence[Evidence],
    ) -> _Draws:
        rng = np.random.default_rng(bench.prepared.seed)
        flat = bench.weights.ravel()
        # Systematic draws: evenly spaced along the summed weights.
        along = (rng.random() + np.arange(SAMPLES)) / SAMPLES
        chosen = np.minimum(np.searchsorted(np.cumsum(flat), along), len(flat) - 1)
        place, car = np.divmod(chosen, bench.weights.shape[1])
        spacing = bench.settings[1] - bench.settings[0]
        start = bench.settings[place] + spacing * (rng.random(SAMPLES) - 0.5)
        spread = np.clip(rng.standard_normal(SAMPLES), -2.5, 2.5)
        rates = rate.usual * rate.middle * np.exp(rate.spread * spread)
        moved = np.concatenate([[0.0], np.cumsum([step.amount for step in steps])])
        known: dict[str, tuple[int, Evidence]] = {entry.finding: (0, entry) for entry in before}
        ln = np.zeros(SAMPLES)
        per_unit = rates / bench.scale[car]
        for made, entry in after:
            if entry.value is not None and entry.finding in bench.readings:
                ln += _told(bench, entry, known.get(entry.finding), start, car, per_unit, moved, made)
                known[entry.finding] = (made, entry)
        weights = np.exp(ln - ln.max())
        return cls(bench, start + per_unit * moved[-1], car, rates, weights / weights.sum())

    def after(self, amount: float | FloatArray) -> FloatArray:
        """The setting after another adjustment."""
        return np.asarray(self.setting + amount * self.rate / self.bench.scale[self.car])

    def needed(self) -> FloatArray:
        """The adjustment that brings each drawn car closest to its map, (draws,)."""
        bench = self.bench
        loss = np.zeros(bench.weights.shape)
        for name, band in bench.mapped.items():
            table = bench.readings[name]
            if bench.prepared.catalogue.finding(name).unit == "mph":
                table = np.minimum(table, TOP)
            loss += ((table - 0.5 * (band.low + band.high)) / (0.5 * (band.high - band.low))) ** 2
        best = _lowest(bench.settings, loss)
        return (best[self.car] - self.setting) * bench.scale[self.car] / self.rate

    def band(self, name: str, amount: float | FloatArray) -> Band:
        """A reading after an adjustment, the same for all or each draw's own (draws,)."""
        return Band(*_quantiles(self.bench.at(name, self.after(amount), self.car), self.weights))

    def below(self, name: str, floor: float, amount: float) -> float:
        """Chance that a reading lies below its floor after an adjustment."""
        return float(self.weights @ (self.bench.at(name, self.after(amount), self.car) < floor))

    def loss(self, amount: float) -> float:
        """Mean squared distance of the map's readings from the middles of their windows, in half windows."""
        total = 0.0
        setting = self.after(amount)
        for name, band in self.bench.mapped.items():
            apart = self.bench.at(name, setting, self.car) - 0.5 * (band.low + band.high)
            total += float(self.weights @ (apart / (0.5 * (band.high - band.low))) ** 2)
        return total

    def learnt(self, before: Rate) -> Rate:
        """What is believed of the rate: its middle relative to the usual one, and its spread."""
        ln = np.log(self.rate / before.usual)
        mean = float(self.weights @ ln)
        return Rate(before.usual, float(np.exp(mean)), float(np.sqrt(self.weights @ (ln - mean) ** 2)))


def _told(
    bench: Bench,
    entry: Evidence,
    earlier: tuple[int, Evidence] | None,
    start: FloatArray,
    car: NDArray[np.intp],
    per_unit: FloatArray,
    moved: FloatArray,
    made: int,
) -> FloatArray:
    """Log likelihood of a later reading: of its change since the earlier one, or of itself."""
    assert entry.value is not None
    finding = bench.prepared.catalogue.finding(entry.finding)
    spread = reading_uncertainty(finding, entry)
    there = bench.at(entry.finding, start + per_unit * moved[made], car)
    if earlier is not None and earlier[1].value is not None:
        before = bench.at(entry.finding, start + per_unit * moved[earlier[0]], car)
        apart = (entry.value - earlier[1].value) - (there - before)
        spread = np.sqrt(2.0 * (1.0 - SAME_GAUGE)) * spread
    else:
        apart = entry.value - there
    # Student's t with 5 degrees of freedom, as for every figure.
    return np.asarray(-3.0 * np.log1p((apart / spread) ** 2 / 5.0))


def _lowest(settings: FloatArray, loss: FloatArray) -> FloatArray:
    """Setting of the lowest loss of each car, (cars,), by a parabola through it and its neighbours."""
    place = np.clip(loss.argmin(axis=0), 1, len(settings) - 2)
    car = np.arange(loss.shape[1])
    left, middle, right = loss[place - 1, car], loss[place, car], loss[place + 1, car]
    bend = left - 2.0 * middle + right
    shift = np.where(bend > 0.0, 0.5 * (left - right) / np.where(bend > 0.0, bend, 1.0), 0.0)
    return np.asarray(settings[place] + np.clip(shift, -1.0, 1.0) * (settings[1] - settings[0]))


def _best(draws: _Draws, needed: FloatArray) -> float:
    """The amount of whole steps with the least expected distance from the map."""
    step = draws.bench.adjuster.step
    low, _, high = _quantiles(needed, draws.weights)
    choices = step * np.arange(np.floor(min(low, 0.0) / step), np.ceil(max(high, 0.0) / step) + 1)
    if len(choices) > 120:
        choices = np.linspace(choices[0], choices[-1], 121)
    best = choices[int(np.argmin([draws.loss(float(choice)) for choice in choices]))]
    return float(step * np.round(best / step))


def _above_floors(draws: _Draws, amount: float, floors: Mapping[str, float]) -> tuple[float, str | None]:
    """Out or shorter only while no line reading is likely to sink below its floor, and which stopped it."""
    step, limited = draws.bench.adjuster.step, None
    while amount < -0.5 * step:
        sunk = [
            name
            for name, floor in floors.items()
            if draws.below(name, floor, amount) > max(RISK, draws.below(name, floor, 0.0))
        ]
        if not sunk:
            break
        amount, limited = amount + step, sunk[0]
    return (0.0 if abs(amount) < 0.5 * step else amount), limited


def _quantiles(values: FloatArray, weights: FloatArray) -> tuple[float, float, float]:
    order = np.argsort(values)
    along = np.cumsum(weights[order])
    places = np.searchsorted(along, np.array([0.025, 0.5, 0.975]) * along[-1])
    low, middle, high = values[order][np.minimum(places, len(values) - 1)]
    return float(low), float(middle), float(high)
