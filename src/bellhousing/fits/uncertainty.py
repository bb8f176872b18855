"""Propagation of uncertainty through any formula: the linear law with its budget, and Monte Carlo."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from bellhousing.errors import QuantityError
from bellhousing.fits.student import coverage_factor

Array = NDArray[np.float64]
Model = Callable[[Array], Array]
Shape = Literal["normal", "student", "rectangular", "triangular", "arcsine", "curved-trapezoid"]
Kind = Literal["A", "B"]

_DIVISOR = {"rectangular": math.sqrt(3.0), "triangular": math.sqrt(6.0), "arcsine": math.sqrt(2.0)}


@dataclass(frozen=True)
class Input:
    """One input of a formula as it is known.

    Parameters
    ----------
    name : what it is
    value : best estimate
    standard_uncertainty : one standard deviation of what is not known about it
    freedom : degrees of freedom of that, infinite where it is taken as exact
    shape : distribution it is drawn from
    kind : A from repeats, B from anything else
    half_width : half-width of a bounded distribution, 0 for the others
    edge : how inexactly the ends of a curved trapezoid are known, half-width
    """

    name: str
    value: float
    standard_uncertainty: float
    freedom: float = math.inf
    shape: Shape = "normal"
    kind: Kind = "B"
    half_width: float = 0.0
    edge: float = 0.0

    def draw(self, draws: int, rng: np.random.Generator) -> Array:
        """Draw values of this input.

        Source: JCGM 101:2008, 6.4: rectangular 6.4.2, curved trapezoid 6.4.3, triangular 6.4.5, arcsine
        6.4.6, normal 6.4.7, scaled and shifted Student 6.4.9.
        """
        wide = self.half_width
        if self.shape == "student":
            scale = self.standard_uncertainty
            return np.asarray(self.value + scale * rng.standard_t(self.freedom, draws), dtype=np.float64)
        if self.shape == "rectangular":
            return self.value + wide * rng.uniform(-1.0, 1.0, draws)
        if self.shape == "triangular":
            return self.value + wide * (rng.uniform(0.0, 1.0, draws) - rng.uniform(0.0, 1.0, draws))
        if self.shape == "arcsine":
            return self.value + wide * np.sin(2.0 * np.pi * rng.uniform(0.0, 1.0, draws))
        if self.shape == "curved-trapezoid":
            ends = wide + self.edge * rng.uniform(-1.0, 1.0, draws)
            return self.value + ends * rng.uniform(-1.0, 1.0, draws)
        return self.value + self.standard_uncertainty * rng.standard_normal(draws)


def known(name: str, value: float, uncertainty: float, *, freedom: float = math.inf) -> Input:
    """An input known with a standard uncertainty; Student's distribution where its freedom is finite."""
    _check(name, value, uncertainty)
    if not freedom > 0.0:
        raise QuantityError("degrees of freedom are positive", where=name)
    shape: Shape = "normal" if math.isinf(freedom) else "student"
    return Input(name, value, uncertainty, freedom, shape)


def bounded(
    name: str, value: float, half_width: float, shape: Shape = "rectangular", *, freedom: float = math.inf
) -> Input:
    """An input that lies within ± half_width: u = a/√3 rectangular, a/√6 triangular, a/√2 arcsine.

    Source: JCGM 100:2008, 4.3.7, 4.3.9 and H.1.3.4.
    """
    _check(name, value, half_width)
    if shape not in _DIVISOR:
        raise QuantityError(f"no bounded distribution is called {shape}", where=name)
    return Input(name, value, half_width / _DIVISOR[shape], freedom, shape, "B", half_width)


def curved_trapezoid(name: str, value: float, half_width: float, edge: float) -> Input:
    """Bounded by ends that are themselves known within ± edge: u² = a²/3 + d²/9 (JCGM 101:2008, 6.4.3)."""
    _check(name, value, half_width)
    spread = math.sqrt(half_width**2 / 3.0 + edge**2 / 9.0)
    return Input(name, value, spread, math.inf, "curved-trapezoid", "B", half_width, edge)


def repeated(name: str, readings: Sequence[float]) -> Input:
    """The mean of repeated readings: u = s/√n with n - 1 degrees of freedom.

    Raises
    ------
    QuantityError : fewer than two readings, or one that is no number

    Source: JCGM 100:2008, 4.2.3.
    """
    if len(readings) < 2:
        raise QuantityError(
            "one reading shows no spread", where=name, remedy="repeat it, three times is usual"
        )
    mean = math.fsum(readings) / len(readings)
    squares = math.fsum((reading - mean) ** 2 for reading in readings)
    spread = math.sqrt(squares / (len(readings) - 1) / len(readings))
    _check(name, mean, spread)
    return Input(name, mean, spread, float(len(readings) - 1), "student", "A")


def _check(name: str, value: float, width: float) -> None:
    if not (math.isfinite(value) and math.isfinite(width)):
        raise QuantityError("a figure is not a number", where=name)
    if width < 0.0:
        raise QuantityError("an uncertainty is never negative", where=name)


@dataclass(frozen=True)
class Component:
    """One line of a budget: the input and what it puts into the result, |c| u [unit of the result]."""

    input: Input
    sensitivity: float
    contribution: float


@dataclass(frozen=True)
class Budget:
    """A result with everything its uncertainty is made of.

    Parameters
    ----------
    value : the result
    standard_uncertainty : combined standard uncertainty
    freedom : effective degrees of freedom
    components : one line for each input, in the order given
    """

    value: float
    standard_uncertainty: float
    freedom: float
    components: tuple[Component, ...]

    def coverage_factor(self, probability: float = 0.95) -> float:
        """Student's factor for the effective degrees of freedom, cut to a whole number (GUM G.4.1)."""
        whole = max(1.0, math.floor(self.freedom)) if math.isfinite(self.freedom) else math.inf
        return coverage_factor(probability, whole)

    def expanded(self, probability: float = 0.95) -> float:
        """Expanded uncertainty U = k u."""
        return self.coverage_factor(probability) * self.standard_uncertainty

    def share(self, component: Component) -> float:
        """Part of the variance a component makes [1]."""
        total = sum(line.contribution**2 for line in self.components)
        return component.contribution**2 / total if total > 0.0 else 0.0


def propagate(model: Model, inputs: Sequence[Input], *, second_order: bool = False) -> Budget:
    """Linear propagation: u² = Σ (∂f/∂x_i)² u_i², with central differences of half a standard deviation.

    `second_order` adds Σ_ij [½ (∂²f/∂x_i∂x_j)² + ∂f/∂x_i ∂³f/∂x_i∂x_j²] u_i² u_j², for normal inputs.
    Effective degrees of freedom by Welch and Satterthwaite, ν = u⁴ / Σ(u_i(y)⁴/ν_i).

    Parameters
    ----------
    model : the formula; takes an array (inputs, draws), gives an array (draws)
    inputs : what goes into it, independent of each other

    Source: JCGM 100:2008, 5.1.2 with its note, and G.4.1.
    """
    best = np.array([entry.value for entry in inputs])
    steps = np.array([entry.standard_uncertainty for entry in inputs])
    value = float(model(best[:, None])[0])
    slopes = [_slope(model, best, steps, place) for place in range(len(inputs))]
    lines = tuple(
        Component(entry, slope, abs(slope) * entry.standard_uncertainty)
        for entry, slope in zip(inputs, slopes, strict=True)
    )
    variance = math.fsum(line.contribution**2 for line in lines)
    if second_order:
        variance += _second_order(model, best, steps, slopes)
    loose = math.fsum(line.contribution**4 / line.input.freedom for line in lines)
    freedom = variance**2 / loose if loose > 0.0 else math.inf
    return Budget(value, math.sqrt(variance), freedom, lines)


def _at(model: Model, best: Array, moves: dict[int, float]) -> float:
    point = best.copy()
    for place, move in moves.items():
        point[place] += move
    return float(model(point[:, None])[0])


def _slope(
    model: Model, best: Array, steps: Array, place: int, *, moved: dict[int, float] | None = None
) -> float:
    step = float(steps[place]) / 2.0 or 1e-6 * (abs(float(best[place])) or 1.0)
    there = dict(moved or {})
    base = there.get(place, 0.0)
    high = _at(model, best, {**there, place: base + step})
    low = _at(model, best, {**there, place: base - step})
    return (high - low) / (2.0 * step)


def _second_order(model: Model, best: Array, steps: Array, slopes: Sequence[float]) -> float:
    total = 0.0
    for i in range(len(steps)):
        for j in range(len(steps)):
            step = float(steps[j])
            if not (steps[i] and step):
                continue
            up = _slope(model, best, steps, i, moved={j: step})
            down = _slope(model, best, steps, i, moved={j: -step})
            mixed = (up - down) / (2.0 * step)
            third = (up - 2.0 * slopes[i] + down) / step**2
            total += (0.5 * mixed**2 + slopes[i] * third) * float(steps[i]) ** 2 * step**2
    return max(total, 0.0)


@dataclass(frozen=True)
class Drawn:
    """What Monte Carlo makes of a formula: the draws in ascending order."""

    draws: Array

    @property
    def value(self) -> float:
        """Mean of the draws."""
        return float(self.draws.mean())

    @property
    def standard_uncertainty(self) -> float:
        """Standard deviation of the draws."""
        return float(self.draws.std(ddof=1))

    def shortest(self, probability: float = 0.95) -> tuple[float, float]:
        """The shortest interval that holds `probability` of the draws (JCGM 101:2008, 5.3.4 and 7.7)."""
        inside = max(1, min(len(self.draws) - 1, round(probability * len(self.draws))))
        lengths = self.draws[inside:] - self.draws[:-inside]
        start = int(np.argmin(lengths))
        return float(self.draws[start]), float(self.draws[start + inside])

    def share_between(self, low: float, high: float) -> float:
        """Part of the draws within an interval, ends included [1]."""
        inside = np.searchsorted(self.draws, high, "right") - np.searchsorted(self.draws, low, "left")
        return float(inside) / len(self.draws)


def monte_carlo(model: Model, inputs: Sequence[Input], *, draws: int = 200_000, seed: int = 1) -> Drawn:
    """Propagate whole distributions: draw every input, put the draws through the formula, sort the results.

    Source: JCGM 101:2008, section 7.
    """
    rng = np.random.default_rng(seed)
    drawn = np.stack([entry.draw(draws, rng) for entry in inputs])
    return Drawn(np.sort(model(drawn)))
