"""One figure of a box file as the rest of the program sees it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Origin = Literal["box", "family", "readings"]


@dataclass(frozen=True)
class Given:
    """A figure in SI with its scatter from car to car, where it was written and who says so.

    Parameters
    ----------
    value : the figure in SI, None where the file says `unknown` [SI]
    scatter : one standard deviation between sound cars, absolute [SI]
    unit : the unit it was written in
    text : what was written
    source : who says so
    line : line of the box file, None when the family stands in
    origin : "box" when the file itself gives it, "family" when the family's usual value stands in, "readings"
        when it is fitted to the tables the file gives
    """

    value: float | None
    scatter: float
    unit: str
    text: str
    source: str
    line: int | None
    origin: Origin
