"""Several governor signals that push the same shift valve: their sum over speed, and back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from bellhousing.hydraulics.arrays import Array, Values
from bellhousing.hydraulics.governor import GovernorCurve, governor_pressure

FLAT = 1e-9
"""Share by which a sum must still grow while ω² doubles to be growing at all [-]."""


@dataclass(frozen=True)
class GovernorSum:
    """Signals whose pressures act on equal areas of one valve and so add up."""

    signals: tuple[GovernorCurve, ...]


def sum_pressure(total: GovernorSum, speed: Values, line: Values = np.inf, *, direction: int = 0) -> Array:
    """Sum of the governor pressures at an output-shaft speed, each never above the line that feeds it [Pa].

    Parameters
    ----------
    total : the signals
    speed : output-shaft speed [rad/s]
    line : line pressure [Pa]
    direction : +1 gathering speed, -1 losing it, 0 between, as in `governor_pressure`
    """
    each = [governor_pressure(curve, speed, line, direction=direction) for curve in total.signals]
    return np.asarray(sum(each), dtype=np.float64)


def sum_speed(total: GovernorSum, pressure: Values, line: Values = np.inf, *, direction: int = 0) -> Array:
    """Output-shaft speed at which the signals add up to a pressure (exact inverse of `sum_pressure`).

    Each signal is a broken straight line in ω², so their sum is one too: it is evaluated at every break of
    any signal, and the asked-for pressure is interpolated in the stretch it falls in.

    Parameters
    ----------
    total : the signals
    pressure : sum asked for [Pa]
    line : line pressure [Pa]
    direction : +1 gathering speed, -1 losing it, 0 between

    Returns
    -------
    speed [rad/s]; 0 where the resting governor already gives that sum, inf where it never does
    """
    wanted = np.asarray(pressure, dtype=np.float64)
    breaks = [b for curve in total.signals for b in _breaks(curve, line, direction)]
    shape = np.broadcast_shapes(wanted.shape, *(b.shape for b in breaks))
    wanted = np.broadcast_to(wanted, shape)
    rows = np.stack([np.zeros(shape), *(np.broadcast_to(b, shape) for b in breaks)])
    squares = np.sort(np.where(np.isfinite(rows), np.maximum(rows, 0.0), 0.0), axis=0)
    # Beyond the last break the sum goes on straight: one more point gives its slope.
    squares = np.concatenate([squares, squares[-1:] + 1.0 + squares[-1:]])
    sums = np.stack([sum_pressure(total, np.sqrt(s), line, direction=direction) for s in squares])
    sums = np.broadcast_to(sums, squares.shape)
    last = len(squares) - 2
    at = np.clip((sums < wanted).sum(axis=0) - 1, 0, last)[np.newaxis]
    low, high = (np.take_along_axis(squares, at + step, axis=0)[0] for step in (0, 1))
    below, above = (np.take_along_axis(sums, at + step, axis=0)[0] for step in (0, 1))
    with np.errstate(divide="ignore", invalid="ignore"):
        square = low + (wanted - below) / (above - below) * (high - low)
        speed = np.sqrt(np.maximum(square, 0.0))
    never = (at[0] == last) & (above - below <= FLAT * below) & (wanted > above)
    return np.asarray(np.where(wanted <= sums[0], 0.0, np.where(never, np.inf, speed)), dtype=np.float64)


def _breaks(curve: GovernorCurve, line: Values, direction: int) -> Iterator[Array]:
    """Squared speeds at which a signal leaves nought, its primary weights stop, or it meets the line.

    A break that does not come is not finite; one that lies elsewhere than thought does no harm.
    """
    both = np.asarray(np.multiply(curve.scale, np.add(curve.low, curve.high)), dtype=np.float64)
    light = np.asarray(np.multiply(curve.scale, curve.high), dtype=np.float64)
    rest = np.asarray(curve.residual - direction * np.asarray(curve.friction), dtype=np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        yield np.asarray(curve.stop / np.asarray(curve.low, dtype=np.float64))
        for level in (0.0, line):
            short = np.asarray(level - rest)
            yield np.asarray(short / both)
            yield np.asarray((short - np.multiply(curve.scale, curve.stop)) / light)
