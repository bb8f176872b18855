"""Money: an hourly rate as exact decimals, with whatever sign it was written with, or none."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation

from bellhousing.errors import InputFileError

LARGEST = Decimal(1_000_000)
RATE = re.compile(
    r"\s*(?P<before>[^\d\s.,/-]{0,4})\s*(?P<figure>[0-9][0-9.,' ]*)\s*(?P<after>[^\d\s.,/-]{0,4})\s*"
    r"(?:(?:/|per)\s*(?:h|hr|hour)\.?)?\s*"
)
REMEDY = "write it like 80/h, £80/h or 80 EUR/h"


@dataclass(frozen=True)
class Rate:
    """What an hour of work costs, and the sign of the currency before or after the figure."""

    amount: Decimal
    before: str = ""
    after: str = ""

    def of(self, hours: float) -> Decimal:
        """The price of some hours, to the hundredth, halves up."""
        exact = Decimal(str(round(hours, 4))) * self.amount
        return exact.quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)

    def show(self, amount: Decimal) -> str:
        """A price with its sign: "£840", "840.50 EUR"."""
        return with_sign(amount, self.before, self.after)


def with_sign(amount: Decimal, before: str = "", after: str = "") -> str:
    """A price in whole units where it is one, with the sign of its currency: "£3,400", "840.50 EUR"."""
    figure = f"{amount:,.2f}".removesuffix(".00")
    return f"{before}{figure}{' ' + after if after else ''}"


def read_rate(text: str) -> Rate:
    """Read an hourly rate: "80", "80/h", "£80 per hour", "80,50 EUR/h".

    Raises
    ------
    InputFileError : no figure, a figure that is not above zero or too large, or two signs.
    """
    found = RATE.fullmatch(text)
    if found is None or (found["before"] and found["after"]):
        raise InputFileError(f"the rate '{text}' cannot be read", remedy=REMEDY)
    try:
        amount = Decimal(_figure(found["figure"]))
    except InvalidOperation:
        raise InputFileError(f"the rate '{text}' cannot be read", remedy=REMEDY) from None
    if not 0 < amount < LARGEST:
        raise InputFileError(f"a rate of {text} an hour cannot be", remedy=REMEDY)
    return Rate(amount, found["before"], found["after"])


def _figure(text: str) -> str:
    """A figure with a point; a comma or point before three digits parts thousands."""
    packed = text.replace(" ", "").replace("'", "")
    packed = re.sub(r"[.,](?=\d{3}(?:[.,]|$))", "", packed)
    return packed.replace(",", ".")
