"""A box known by its readings: its figures fitted to the tables, uncertain together as the tables leave them.

The figures fitted are the box's own, so that whatever the tables do not tell keeps the family's scatter. Each
figure's logarithm is normal about the family's value. The family's scatter is that between units of unlike
kind; of its variance, what units of one kind differ by is kept apart, and only the rest narrows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import erf, sqrt
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.boxes.given import Given
from bellhousing.boxes.joint import Joint
from bellhousing.boxes.kinds import FOUR_SPEED, THREE_SPEED
from bellhousing.boxes.readings import TableRow
from bellhousing.boxes.schema import specs
from bellhousing.errors import BoxFileError
from bellhousing.quantities.units import from_si, unit
from bellhousing.road.cars import Cars, middle_car, numbers_of
from bellhousing.road.least_squares import LeastSquares, least_squares
from bellhousing.road.table_rows import PrintedTable

FloatArray = NDArray[np.float64]

FAMILY_MARK = {THREE_SPEED: "modulator.valve_area", FOUR_SPEED: "throttle_valve.half_pressure"}
"""A figure without which the hydraulics of a family foretell no row."""

MODEL_SHARE = 0.01
"""How far the model itself may lie from a sound box's table, a share of the reading; common practice, no
source."""

TOLD = 0.3
"""A row tells something of a figure if the figure's own scatter moves the row by this many of the row's
standard deviations."""

AT_ODDS = 5.0
"""Standard deviations from what all other rows and the family say, beyond which a row is refused."""

SUSPECTS = 5
"""Rows furthest off that are left out in turn to find the wrong one."""

NEAR = 1e-3
"""Step, in scatters between kinds, below which the fit has settled [-]."""

DRAWS = 2000
"""Draws by which the normal posterior is checked."""


@dataclass(frozen=True)
class Open:
    """Figures the fit may move: their keys, middle of the logarithm, scatter between kinds and units."""

    keys: tuple[str, ...]
    middle: FloatArray
    kinds: FloatArray
    units: FloatArray

    def take(self, chosen: NDArray[np.bool_]) -> Open:
        """Only some of the figures."""
        keys = tuple(key for key, kept in zip(self.keys, chosen, strict=True) if kept)
        return Open(keys, self.middle[chosen], self.kinds[chosen], self.units[chosen])

    def cars(self, base: Cars, z: FloatArray) -> Cars:
        """Cars (n,) with the figures moved by z (n, figures), in scatters between kinds."""
        many = base.take(np.zeros(len(z), dtype=np.intp))
        moved = np.exp(self.middle + self.kinds * z)
        return many.with_values({key: moved[:, i] for i, key in enumerate(self.keys)})


@dataclass(frozen=True)
class Fit:
    """A fit: the figures, their middle and covariance in scatters between kinds, and how well rows are met.

    Parameters
    ----------
    residuals : foretold less printed, in standard deviations of the rows [-]
    told : greatest effect of each figure's scatter on a row, in the same [-]
    effective_share : effective share of draws from the normal posterior, weighted by the exact one [-]
    moved : how far the weighted draws move each figure, in standard deviations of the fit [-]
    """

    figures: Open
    middle: FloatArray
    covariance: FloatArray
    residuals: FloatArray
    told: FloatArray
    effective_share: float
    moved: FloatArray


def calibrated(box: Box) -> Box:
    """The box with its figures fitted to its table, or the box itself if it has none or is fitted already.

    Figures the file gives by themselves stay as they are.

    Raises
    ------
    BoxFileError : rows that no box of this family shows together, named with their lines; no family named
    """
    if box.table is None or box.joint is not None:
        return box
    if FAMILY_MARK[box.kind] not in box.figures:
        raise BoxFileError(
            "without its family a table tells nothing of the figures",
            where=f"{box.slug}, readings",
            remedy=f"write `family: {box.kind}`, or leave the table out and type limits under `windows`",
        )
    return with_fit(box, fit_table(box))


def fit_table(box: Box) -> Fit:
    """Fit a box's open figures to its table by maximum posterior, and check it by weighted draws.

    Minimises Σ ((foretold - printed) / s)² + Σ z², with s² = width²/12 + (share · printed)²: a rounded figure
    or a range is uniform over its width (JCGM 100:2008, 4.3.7). About the minimum the posterior is taken as
    normal with covariance (JᵀJ)⁻¹ (Laplace's method); draws from that, weighted by exact posterior over
    normal, tell how far it may be trusted.

    Raises
    ------
    BoxFileError : rows that no box of this family shows together
    """
    assert box.table is not None
    printed = PrintedTable(box, box.table)
    base = middle_car(box)
    low = np.array([row.low for row in printed.rows])
    high = np.array([row.high for row in printed.rows])
    target, soft = (low + high) / 2.0, MODEL_SHARE * (low + high) / 2.0
    spread = np.sqrt((high - low) ** 2 / 12.0 + soft**2)

    figures = _moving(box, printed, base, spread)
    count = len(figures.keys)

    def fitted(kept: FloatArray) -> LeastSquares:
        def residuals(z: FloatArray) -> FloatArray:
            apart = (printed.foretold(figures.cars(base, z)) - target) / spread
            return np.concatenate([apart * kept, z], axis=1)

        return least_squares(residuals, np.zeros(count), size=np.ones(count), tolerance=NEAR)

    try:
        found = fitted(np.ones(len(target)))
        _refuse_odd_row(found, printed.rows, fitted)
    except ArithmeticError as error:
        raise _refused(f"no box of this family fits the table: {error}", printed.rows) from None
    share, moved = _checked(found, printed, figures, base, (low, high, soft))
    rows = len(printed.rows)
    told = np.abs(found.jacobian[:rows]).max(axis=0)
    return Fit(figures, found.parameters, found.covariance(), found.residuals[:rows], told, share, moved)


def with_fit(box: Box, fit: Fit) -> Box:
    """The box with what was told of its figures put in their place, and how they hang together."""
    chosen = fit.told >= TOLD
    figures = fit.figures.take(chosen)
    middle = figures.middle + figures.kinds * fit.middle[chosen]
    covariance = fit.covariance[np.ix_(chosen, chosen)] * np.outer(figures.kinds, figures.kinds)
    variance = np.diag(covariance) + figures.units**2
    rows = len(fit.residuals)
    made: dict[str, Given] = dict(box.figures)
    for i, key in enumerate(figures.keys):
        was = box.number(key)
        value = float(np.exp(middle[i] + variance[i] / 2.0))
        made[key] = Given(
            value=value,
            scatter=value * sqrt(float(variance[i])),
            unit=was.unit,
            text=_three_figures(value, was.unit),
            source=f"fitted to the {rows} rows of its table",
            line=None,
            origin="readings",
        )
    joint = Joint(
        keys=figures.keys,
        factor=tuple(tuple(float(x) for x in row) for row in _root(covariance)),
        unit_scatter=tuple(float(x) for x in figures.units),
        rows=rows,
        effective_share=fit.effective_share,
    )
    return replace(box, figures=MappingProxyType(made), joint=joint)


def _three_figures(value: float, name: str) -> str:
    return f"{from_si(value, name):.3g} {unit(name).symbol}".strip()


def _moving(box: Box, printed: PrintedTable, base: Cars, spread: FloatArray) -> Open:
    """The family's figures that move any row at all, tried one by one over three scatters."""
    keys, middle, kinds, units = [], [], [], []
    for key in numbers_of(box):
        given = box.figures.get(key)
        if given is None or given.origin != "family" or not given.value or given.scatter <= 0.0:
            continue
        whole = given.scatter / given.value
        alike = min(specs()[key].usual_scatter(given.value) / given.value, whole)
        keys.append(key)
        middle.append(np.log(given.value) - whole**2 / 2.0)
        kinds.append(sqrt(whole**2 - alike**2))
        units.append(alike)
    every = Open(tuple(keys), np.array(middle), np.array(kinds), np.array(units))
    count = len(keys)
    z = np.concatenate([np.zeros((1, count)), 1.5 * np.eye(count), -1.5 * np.eye(count)])
    shown = printed.foretold(every.cars(base, z)) / spread
    moved = np.abs(shown[1:] - shown[0]).max(axis=1).reshape(2, count).max(axis=0)
    return every.take((moved > 1e-3) & (every.kinds > 0.0))


def _refuse_odd_row(
    found: LeastSquares, rows: tuple[TableRow, ...], fitted: Callable[[FloatArray], LeastSquares]
) -> None:
    """Refuse a table with a row far from what the others say, by its residual over that of a row left out.

    t = r / √(1 - h), h being the diagonal of J (JᵀJ)⁻¹ Jᵀ. A wrong row bends its neighbours, so of the
    furthest ones that is named whose leaving out makes the rest agree best.
    Source: R. D. Cook and S. Weisberg, Residuals and Influence in Regression, 1982 (from memory).
    """
    jacobian = found.jacobian[: len(rows)]
    leverage = np.einsum("ij,jk,ik->i", jacobian, found.covariance(), jacobian)
    off = found.residuals[: len(rows)] / np.sqrt(np.maximum(1.0 - leverage, 1e-6))
    if np.abs(off).max() <= AT_ODDS:
        return
    far = np.argsort(-np.abs(off))[:SUSPECTS]
    without = [fitted(np.where(np.arange(len(rows)) == row, 0.0, 1.0)).sum_of_squares for row in far]
    odd = int(far[int(np.argmin(without))])
    side = "lower" if found.residuals[odd] < 0.0 else "higher"
    raise _refused(
        "the table has a row that no box of this family shows together with the others",
        (rows[odd],),
        f"the other rows and the family say it is {side}",
    )


def _refused(what: str, rows: tuple[TableRow, ...], why: str = "") -> BoxFileError:
    said = [
        (f"line {row.line}: " if row.line else "") + row.name + (f": {why}" if why else "") for row in rows
    ]
    return BoxFileError(what, where="readings.rows", problems=said, remedy="look at its figure and its unit")


def _checked(
    found: LeastSquares,
    printed: PrintedTable,
    figures: Open,
    base: Cars,
    limits: tuple[FloatArray, FloatArray, FloatArray],
) -> tuple[float, FloatArray]:
    """Weigh draws of the normal posterior, every row being uniform between its ends with soft edges.

    Returns the effective share of the draws, 1 / (n Σ w²), and how far their weighted mean lies from the
    normal's, in its standard deviations.
    Source: A. Kong, J. S. Liu and W. H. Wong, J. Amer. Statist. Assoc. 89, 1994, pp. 278-288 (from memory).
    """
    covariance = found.covariance()
    root = _root(covariance)
    e = np.random.default_rng(7).standard_normal((DRAWS, len(root)))
    z = found.parameters + e @ root.T
    likely = _ln_likely(printed.foretold(figures.cars(base, z)), *limits)
    ln_weight = likely - 0.5 * (z * z).sum(axis=1) + 0.5 * (e * e).sum(axis=1)
    weight = np.exp(ln_weight - ln_weight.max())
    weight /= weight.sum()
    share = float(1.0 / (weight @ weight) / DRAWS)
    return share, np.asarray((weight @ z - found.parameters) / np.sqrt(np.diag(covariance)))


def _ln_likely(shown: FloatArray, low: FloatArray, high: FloatArray, soft: FloatArray) -> FloatArray:
    """Logarithm of the chance that rows foretold as `shown` are printed between their ends, (n,)."""
    scale = sqrt(2.0) * soft
    inside = 0.5 * (_erf((high - shown) / scale) - _erf((low - shown) / scale))
    return np.asarray(np.log(np.maximum(inside, 1e-30)).sum(axis=1))


def _erf(x: FloatArray) -> FloatArray:
    return np.asarray(np.frompyfunc(erf, 1, 1)(x), dtype=np.float64)


def _root(covariance: FloatArray) -> FloatArray:
    """A square root F of a covariance, F Fᵀ = C, exact where C is singular."""
    values, vectors = np.linalg.eigh(covariance)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)))
