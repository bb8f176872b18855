"""This very car: lumped parameters fitted to its own shifts and pressures, and what they leave open.

Nobody in a workshop knows masses and areas, so what is fitted are the few sums that shifts and gauges can
tell: level and knee of the governor, full signal and slope of the modulator, spring and gain of the regulator
and of both shift valves; on a four-speed both governor signals, the throttle valve and its rod, regulator,
front pump and three shift valves. Rows of one car, unlike a printed table's, hold no scatter between
units.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.errors import FindingError
from bellhousing.road.calibration import MODEL_SHARE
from bellhousing.road.cars import Cars
from bellhousing.road.least_squares import LeastSquares, least_squares
from bellhousing.road.one_car.observed import Observed, foretold
from bellhousing.road.one_car.parameter import Parameter
from bellhousing.road.one_car.parameters import Prior, prior_of
from bellhousing.road.one_car.posterior import Posterior, root_of, weighted
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]

CANNOT_TELL = 0.85
"""A parameter whose scatter is still this share of what was known before is not told by the readings."""

TOGETHER = 0.9
"""Correlation from which two parameters are told only together."""

SIDES = 1.96
"""Standard deviations between which a normal holds 95 in 100."""

MOVES = 1e-6
"""Standard deviations by which a row must move for what moves it to be fitted at all."""

ODD = 4.0
"""Standard deviations from what all other rows say, beyond which a row is named as odd."""


@dataclass(frozen=True)
class Known:
    """What is known of a parameter before and after.

    Standard deviations are relative, those of a logarithm, or in the parameter's unit where it is added.

    Parameters
    ----------
    value : fitted [the parameter's unit]
    scatter : of the fit; before : of what was known before; sound : between sound units
    middle : of a sound unit [the unit]
    """

    parameter: Parameter
    value: float
    scatter: float
    before: float
    sound: float
    middle: float

    @property
    def told(self) -> bool:
        """Whether the readings say anything of it."""
        return self.scatter < CANNOT_TELL * self.before

    @property
    def ends(self) -> tuple[float, float]:
        """Between which it lies with 95 in 100 [the unit]."""
        return self._about(self.value, self.scatter)

    @property
    def window(self) -> tuple[float, float]:
        """Where 95 of 100 sound units lie [the unit]."""
        return self._about(self.middle, self.sound)

    @property
    def inside(self) -> float:
        """Probability that it lies in the window of a sound unit."""
        low, high = (self._apart(end) / self.scatter / math.sqrt(2.0) for end in self.window)
        return min(1.0, max(0.0, 0.5 * (math.erf(high) - math.erf(low))))

    def _about(self, value: float, scatter: float) -> tuple[float, float]:
        if self.parameter.added:
            return value - SIDES * scatter, value + SIDES * scatter
        return value * math.exp(-SIDES * scatter), value * math.exp(SIDES * scatter)

    def _apart(self, end: float) -> float:
        return end - self.value if self.parameter.added else math.log(end / self.value)


@dataclass(frozen=True)
class Row:
    """A row with what the fitted car shows, and how far off it is, leverage counted [standard deviations]."""

    observed: Observed
    fitted: float
    off: float

    @property
    def odd(self) -> bool:
        """Whether no car of this specification shows it together with the others."""
        return abs(self.off) > ODD


@dataclass(frozen=True)
class CarFit:
    """The fit of one car: what is known of each parameter, the rows, and draws of cars that fit.

    Parameters
    ----------
    together : pairs of parameters that are told only together, by id
    middle, root : of all parameters and of what else moves the rows, in standard deviations of the prior
    effective_share : of the draws that made them; 0 where only the normal about the minimum stands [-]
    """

    known: tuple[Known, ...]
    rows: tuple[Row, ...]
    together: tuple[tuple[str, str], ...]
    middle: FloatArray
    root: FloatArray
    prior: Prior
    effective_share: float

    def draw(self, count: int, rng: np.random.Generator) -> Cars:
        """Cars that fit the rows, (count,)."""
        z = self.middle + rng.standard_normal((count, len(self.middle))) @ self.root.T
        return self.prior.cars(z)


def fit_car(box: Box, car: Vehicle, observed: Sequence[Observed]) -> CarFit:
    """Fit this car's parameters to its rows by maximum posterior; the posterior's moments by weighted draws.

    Minimises Σ ((foretold - observed) / s)² + Σ z², with s² = u² + (share · observed)², share being how far
    the model itself may lie from a sound box.

    Raises
    ------
    FindingError : no row at all, a row without uncertainty, or rows that no car shows
    """
    if not observed:
        raise FindingError(
            "nothing to fit", remedy="note shifts with their road speed, or pressures from the gauge"
        )
    if any(not row.uncertainty > 0.0 for row in observed):
        raise FindingError("a row without uncertainty")
    prior = prior_of(box)
    target = np.array([row.value for row in observed])
    spread = np.hypot([row.uncertainty for row in observed], MODEL_SHARE * target)
    open_ones = _moving(observed, prior, car, spread)

    def residuals(z: FloatArray) -> FloatArray:
        every = np.zeros((len(z), prior.count))
        every[:, open_ones] = z
        apart = (foretold(observed, prior.cars(every), car) - target) / spread
        return np.concatenate([apart, z], axis=1)

    count = len(open_ones)
    try:
        found = least_squares(residuals, np.zeros(count), size=np.ones(count), tolerance=1e-3)
    except ArithmeticError as error:
        raise FindingError(f"no car of this specification fits these rows: {error}") from None
    posterior = _of_all(weighted(found, residuals), open_ones, prior.count)
    return _fit_of(prior, found, observed, (target, spread), posterior)


def _moving(observed: Sequence[Observed], prior: Prior, car: Vehicle, spread: FloatArray) -> NDArray[np.intp]:
    """Places of what moves any row at all, tried to either side; the rest stays as it was known."""
    steps = 1.5 * np.eye(prior.count)
    z = np.concatenate([np.zeros((1, prior.count)), steps, -steps])
    shown = foretold(observed, prior.cars(z), car) / spread
    moved = np.abs(shown[1:] - shown[0]).max(axis=1).reshape(2, prior.count).max(axis=0)
    return np.flatnonzero(moved > MOVES)


def _of_all(posterior: Posterior, open_ones: NDArray[np.intp], count: int) -> Posterior:
    """The posterior with what the rows do not move put back as it was known before."""
    middle, covariance = np.zeros(count), np.eye(count)
    middle[open_ones] = posterior.middle
    covariance[np.ix_(open_ones, open_ones)] = posterior.covariance
    return Posterior(middle, covariance, posterior.share)


def _fit_of(
    prior: Prior,
    found: LeastSquares,
    observed: Sequence[Observed],
    target_and_spread: tuple[FloatArray, FloatArray],
    posterior: Posterior,
) -> CarFit:
    target, spread = target_and_spread
    covariance = found.covariance()
    rows = len(observed)
    jacobian, apart = found.jacobian[:rows], found.residuals[:rows]
    leverage = np.einsum("ij,jk,ik->i", jacobian, covariance, jacobian)
    off = apart / np.sqrt(np.maximum(1.0 - leverage, 1e-6))
    covariance = posterior.covariance
    scatter = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(scatter, scatter)
    known = [_known(prior, i, posterior.middle[i], scatter[i]) for i in range(len(prior.parameters))]
    pairs = tuple(
        (prior.parameters[i].id, prior.parameters[j].id)
        for i in range(len(prior.parameters))
        for j in range(i + 1, len(prior.parameters))
        if abs(correlation[i, j]) > TOGETHER
    )
    fitted = target + apart * spread
    return CarFit(
        known=tuple(known),
        rows=tuple(Row(row, float(f), float(o)) for row, f, o in zip(observed, fitted, off, strict=True)),
        together=pairs,
        middle=posterior.middle,
        root=root_of(covariance),
        effective_share=posterior.share,
        prior=prior,
    )


def _known(prior: Prior, place: int, moved: float, scatter: float) -> Known:
    """A parameter from where the posterior has it, in standard deviations of the prior."""
    one = prior.parameters[place]
    middle = float(prior.base[one.key][0]) / one.scale
    size = one.scale if one.added else one.power
    before = float(prior.before[place])
    way = before * float(moved) / size
    return Known(
        one,
        middle + way if one.added else middle * math.exp(way),
        before * float(scatter) / size,
        before / size,
        float(prior.sound[place]) / size,
        middle,
    )
