"""Figures typed after an option: read with their unit, refused when impossible, assumptions told."""

from __future__ import annotations

from dataclasses import dataclass, field

from bellhousing.errors import QuantityError
from bellhousing.quantities.parse import parse_measured
from bellhousing.quantities.units import to_si, unit


@dataclass
class Figures:
    """Reads figures one after the other and keeps what it took for granted."""

    assumed: list[str] = field(default_factory=list)

    def read(self, text: str, what: str, usual: str, low: float, high: float) -> float:
        """The figure in SI; `low` and `high` are what is possible at all, in the usual unit.

        Raises
        ------
        QuantityError : no figure, a unit of something else, or a value that cannot be
        """
        symbol = unit(usual).symbol
        if not any(letter.isdigit() for letter in text):
            such = f"{0.5 * (low + high):.3g} {symbol}".rstrip()
            raise QuantityError(f"no figure for the {what}", remedy=f"write for example {such}")
        try:
            found = parse_measured(text, usual_unit=usual, possible=(to_si(low, usual), to_si(high, usual)))
        except QuantityError as error:
            raise QuantityError(error.what, where=what, remedy=error.remedy) from None
        taken = f"{what} in {unit(found.unit).symbol}"
        if found.unit_assumed and symbol and taken not in self.assumed:
            self.assumed.append(taken)
        return found.value

    def share(self, text: str, what: str, low: float = 0.0, high: float = 100.0) -> float:
        """A share such as "15 %" [-], `low` and `high` in per cent."""
        return self.read(text, what, "%", low, high)
