"""Figures of a box that are uncertain together, as a table tells sums and ratios of them and not each."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Joint:
    """A joint distribution of the logarithms of some figures, and what units differ by besides.

    ln figure = middle + factor · e + unit_scatter · u, where e and u are standard normal: e is one draw of
    what the tables leave open about this kind of box, u is this unit's own deviation.

    Parameters
    ----------
    keys : dotted keys of the figures
    factor : one row per figure, a square root of the covariance of the fit, in logarithms [-]
    unit_scatter : standard deviation between sound units of one kind, relative [-]
    rows : count of rows the figures were fitted to
    effective_share : effective share of the draws that checked the fit, 1 where it is exactly normal [-]
    """

    keys: tuple[str, ...]
    factor: tuple[tuple[float, ...], ...]
    unit_scatter: tuple[float, ...]
    rows: int
    effective_share: float
