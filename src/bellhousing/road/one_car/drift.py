"""Drift of a car's parameter over its years, and when it will leave its window."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

FEWEST = 3
"""Dates from which a straight line says anything."""

FURTHEST = 20.0
"""Years beyond which nothing is foretold; common practice, no source."""

SURE = 0.9
"""Share of plausible lines that must leave the window by one side before a year is named."""

DRAWS = 4000


@dataclass(frozen=True)
class Seen:
    """A fitted parameter at a date: year with its fraction, value and standard uncertainty [any unit]."""

    year: float
    value: float
    uncertainty: float


@dataclass(frozen=True)
class Drift:
    """How a parameter drifts.

    Parameters
    ----------
    per_year, uncertainty : slope of the straight line and its standard uncertainty; None = cannot tell
    leaves : year in which it leaves its window: earliest, middle, latest of 95 in 100; None = not foretold,
        infinite = not within FURTHEST years
    text : the same in words
    """

    per_year: float | None
    uncertainty: float | None
    leaves: tuple[float, float, float] | None
    text: str


def straight_line(seen: Sequence[Seen]) -> tuple[float, float, float, np.ndarray]:
    """Weighted straight line v = a + b (t - t₀): t₀, a, b and the covariance of a and b.

    Weights are 1/u²; where the points lie further from the line than their uncertainties say, the covariance
    is enlarged by their mean square.

    Source: G. A. F. Seber and A. J. Lee, Linear Regression Analysis, chapter 3 (from memory).
    """
    year = np.array([one.year for one in seen])
    value = np.array([one.value for one in seen])
    weight = 1.0 / np.array([one.uncertainty for one in seen]) ** 2
    middle = float((weight * year).sum() / weight.sum())
    design = np.stack([np.ones(len(year)), year - middle], axis=1)
    normal = design.T @ (weight[:, None] * design)
    covariance = np.linalg.inv(normal)
    a, b = covariance @ (design.T @ (weight * value))
    left = value - design @ np.array([a, b])
    excess = float((weight * left**2).sum()) / max(len(year) - 2, 1)
    return middle, float(a), float(b), covariance * max(1.0, excess)


def drift(seen: Sequence[Seen], window: tuple[float, float]) -> Drift:
    """The drift of a parameter and the year it leaves its window, or that it cannot be told.

    Parameters
    ----------
    seen : fits at different dates
    window : lowest and highest value of a sound unit
    """
    dates = len({one.year for one in seen})
    if dates < FEWEST:
        return Drift(None, None, None, f"cannot tell: {dates} of the {FEWEST} dates that a line needs")
    middle, a, b, covariance = straight_line(seen)
    uncertainty = float(np.sqrt(covariance[1, 1]))
    last = max(one.year for one in seen)
    rng = np.random.default_rng(5)
    lines = rng.multivariate_normal([a, b], covariance, size=DRAWS)
    now = lines[:, 0] + lines[:, 1] * (last - middle)
    limit = np.where(lines[:, 1] > 0.0, window[1], window[0])
    outside = (now < window[0]) | (now > window[1])
    with np.errstate(divide="ignore"):
        years = np.where(outside, 0.0, (limit - now) / lines[:, 1])
    if outside.mean() > SURE:
        return Drift(b, uncertainty, None, "already outside its window")
    soon = np.sort(years)
    ends = [float(soon[int(share * DRAWS)]) for share in (0.025, 0.5, 0.975)]
    if ends[1] > FURTHEST:
        stays = float((years > FURTHEST).mean())
        said = "over 99" if stays > 0.99 else f"{100.0 * stays:.0f}"
        text = f"does not leave its window in the next {FURTHEST:.0f} years ({said} in 100)"
        return Drift(b, uncertainty, None, text)
    if max((lines[:, 1] > 0.0).mean(), (lines[:, 1] < 0.0).mean()) < SURE:
        return Drift(b, uncertainty, None, "cannot tell: which way it drifts is not sure")
    early, half, late = (last + end if end <= FURTHEST else np.inf for end in ends)
    until = f"to {late:.0f}" if np.isfinite(late) else f"on, perhaps not in the next {FURTHEST:.0f} years"
    text = f"leaves its window in about {half:.0f} (95 in 100: from {early:.0f} {until})"
    return Drift(b, uncertainty, (early, half, late), text)
