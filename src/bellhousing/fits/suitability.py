"""Whether an instrument is fine enough for a window at all, and which one would do."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from bellhousing.fits.instruments import Instrument
from bellhousing.quantities import units

MOST_SHARE = 0.2
"""Most of a window's width that an instrument may be wrong by, or leave between two steps [1]; common
practice, no source."""

# So little more than a fifth is a fifth: figures of other units are rounded.
SLACK = 1.0 + 1e-6


@dataclass(frozen=True)
class TooCoarse:
    """An instrument that is too coarse for a window.

    Parameters
    ----------
    fault : "resolution" or "permissible_error", whichever is the larger
    size : of it [SI]
    most : what it may be at most, a fifth of the window [SI]
    instruments : names of those that would do, the plainest first
    text : in words, without a full stop
    """

    fault: str
    size: float
    most: float
    instruments: tuple[str, ...]
    text: str


def too_coarse(
    instrument: Instrument,
    value: float,
    low: float,
    high: float,
    every: Mapping[str, Instrument],
    *,
    unit: str,
) -> TooCoarse | None:
    """What makes an instrument unfit for a window, None where it is fine enough.

    Formula: unfit where ``max(resolution, permissible error) > (high - low)/5``.  A window that is open
    below is taken to start at nothing; one that is open above has no width to compare with.

    Parameters
    ----------
    value : the reading, for instruments whose error is a part of it [SI]
    low, high : the window [SI]
    every : instruments to choose another from
    unit : to show it in

    Source: common practice, no source.
    """
    width = high - max(low, 0.0) if math.isinf(low) else high - low
    if not (math.isfinite(width) and width > 0.0):
        return None
    most = MOST_SHARE * width
    if fine_enough(instrument, value, most):
        return None
    fault = max(("resolution", "permissible_error"), key=lambda key: instrument.figure(key, value))
    able = [
        entry
        for entry in every.values()
        if entry.reads & instrument.reads and entry.id != instrument.id and fine_enough(entry, value, most)
    ]
    able.sort(key=lambda entry: (-entry.figure("permissible_error", value), entry.id))
    names = tuple(entry.name for entry in able[:2])
    size = instrument.figure(fault, value)
    return TooCoarse(fault, size, most, names, _words(instrument, fault, size, most, names, unit))


def fine_enough(instrument: Instrument, value: float, most: float) -> bool:
    """Whether neither resolution nor permissible error is more than `most` [SI]."""
    return all(instrument.figure(key, value) <= most * SLACK for key in ("resolution", "permissible_error"))


def _words(
    instrument: Instrument, fault: str, size: float, most: float, names: tuple[str, ...], unit: str
) -> str:
    what = "steps of" if fault == "resolution" else "an error of up to"
    text = (
        f"{instrument.name}: {what} {_width(size, unit)}, more than a fifth of this window "
        f"({_width(most, unit)})"
    )
    if names:
        return f"{text}; what would do: {' or '.join(names)}"
    return f"{text}; no instrument listed would do, it takes one right to {_width(most, unit)}"


def _width(size: float, unit: str) -> str:
    found = units.unit(unit)
    return f"{size / found.factor:.2g} {found.symbol}".rstrip()
