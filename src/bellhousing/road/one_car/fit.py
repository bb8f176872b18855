"""This very car: lumped parameters fitted to its own shifts and pressures, and what they leave open.

Nobody in a workshop knows masses and areas, so what is fitted are the few sums that shifts and gauges can
tell: level and knee of the governor, full signal and slope of the modulator, spring and gain of the regulator
and of both shift valves. Unlike a printed table, rows of one car hold no scatter between units.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.errors import FindingError
from bellhousing.road.calibration import MODEL_SHARE
from bellhousing.road.cars import DRIVER, Cars
from bellhousing.road.least_squares import LeastSquares, least_squares
from bellhousing.road.one_car.observed import Observed, foretold
from bellhousing.road.one_car.parameters import PARAMETERS, Parameter, Prior, prior_of
from bellhousing.road.one_car.posterior import Posterior, root_of, weighted
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]

CANNOT_TELL = 0.85
"""A parameter whose scatter is still this share of what was known before is not told by the readings."""

TOGETHER = 0.9
"""Correlation from which two parameters are told only together."""

ODD = 4.0
"""Standard deviations from what all other rows say, beyond which a row is named as odd."""


@dataclass(frozen=True)
class Known:
    """What is known of a parameter before and after: relative standard deviations about the middle car's.

    Parameters
    ----------
    value : fitted [the parameter's unit]
    scatter : of the fit, relative; before : of what was known before, relative
    sound : scatter between sound units, relative; middle : of a sound unit [the unit]
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
    def window(self) -> tuple[float, float]:
        """Where 95 of 100 sound units lie."""
        return self.middle * float(np.exp(-1.96 * self.sound)), self.middle * float(np.exp(1.96 * self.sound))


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
    if box.kind == FOUR_SPEED:
        raise FindingError(
            "only three-speed boxes with a vacuum modulator are fitted to one car so far", where=box.name
        )
    prior = prior_of(box)
    target = np.array([row.value for row in observed])
    spread = np.hypot([row.uncertainty for row in observed], MODEL_SHARE * target)
    count = len(PARAMETERS) + len(DRIVER) + 1

    def residuals(z: FloatArray) -> FloatArray:
        apart = (foretold(observed, prior.cars(z), car) - target) / spread
        return np.concatenate([apart, z], axis=1)

    try:
        found = least_squares(residuals, np.zeros(count), size=np.ones(count), tolerance=1e-3)
    except ArithmeticError as error:
        raise FindingError(f"no car of this specification fits these rows: {error}") from None
    posterior = weighted(found, residuals)
    return _fit_of(prior, found, observed, (target, spread), posterior)


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
    known = []
    for i, one in enumerate(PARAMETERS):
        middle = float(prior.base[one.key][0]) / one.scale
        moved = prior.before[i] * posterior.middle[i] / one.power
        known.append(
            Known(
                one,
                middle * float(np.exp(moved)),
                float(prior.before[i] * scatter[i] / one.power),
                float(prior.before[i] / one.power),
                float(prior.sound[i] / one.power),
                middle,
            )
        )
    pairs = tuple(
        (PARAMETERS[i].id, PARAMETERS[j].id)
        for i in range(len(PARAMETERS))
        for j in range(i + 1, len(PARAMETERS))
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
