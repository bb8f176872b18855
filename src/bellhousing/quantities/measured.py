"""What a reading and a range are once they have been understood."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Measured:
    """One reading, in SI, with the unit and the text it was entered in.

    Parameters
    ----------
    value : the reading [SI]
    unit : name of the unit it was entered in
    text : the text as typed
    standard_uncertainty : one standard deviation [SI], or None where the text says nothing about it
    unit_assumed : True where the text named no unit and the usual one was taken
    """

    value: float
    unit: str
    text: str
    standard_uncertainty: float | None = None
    unit_assumed: bool = False


@dataclass(frozen=True)
class Interval:
    """A range from low to high, in SI, with the unit and the text it was entered in.

    Parameters
    ----------
    low : lower end [SI], -inf where only an upper end was given
    high : upper end [SI], inf where only a lower end was given
    unit : name of the unit it was entered in
    text : the text as typed
    """

    low: float
    high: float
    unit: str
    text: str

    def holds(self, value: float) -> bool:
        """Whether a value [SI] lies in the range, ends included."""
        return self.low <= value <= self.high
