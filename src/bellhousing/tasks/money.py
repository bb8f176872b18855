"""Money: an hourly rate as exact decimals, with whatever sign it was written with, or none."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation

from bellhousing.errors import InputFileError

LARGEST = Decimal(1_000_000)
RATE = re.compile(
    r"\s*(?P<before>[^\d\s.,/-]{0,4})\s*(?P<figure>[0-9][0-9.,' ]*)\s*(?P<after>[^\d\s.,/-]{0,4})\s*"
    r"(?:(?:/|per)\s*(?:h|hr|hour)\.?)?\s*"
)
# Codes of ISO 4217 in use (from memory), and how sums are written by hand where there is no sign of its own.
_CODES = (
    "AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BHD BIF BMD BND BOB BRL BSD BTN BWP BYN "
    "BZD CAD CDF CHF CLP CNY COP CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS "
    "GIP GMD GNF GTQ GYD HKD HNL HTG HUF IDR ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR KMF KPW KRW "
    "KWD KYD KZT LAK LBP LKR LRD LSL LYD MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD "
    "NGN NIO NOK NPR NZD OMR PAB PEN PGK PHP PKR PLN PYG QAR RON RSD RUB RWF SAR SBD SCR SDG SEK SGD "
    "SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TND TOP TRY TTD TWD TZS UAH UGX USD UYU UZS VED "
    "VES VND VUV WST XAF XCD XOF XPF YER ZAR ZMW ZWG"
)
CODES = frozenset(re.findall("[A-Z]{3}", _CODES))
BY_HAND = frozenset(
    {"kr", "kr.", "fr", "sfr", "kč", "zł", "ft", "lei", "din", "rs", "r", "rm", "nis", "bs", "q", "l."}
)
SUM = re.compile(
    r"\s*(?P<before>[^\d\s.,/-]{0,4})\s*(?P<figure>[0-9][0-9.,' ]*)\s*(?P<after>[^\d\s.,/-]{0,4})\s*"
)
SUM_REMEDY = "write it like 1200, £1,250.50 or 840,50 EUR"
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


def with_sign(amount: Decimal, before: str = "", after: str = "", *, exact: bool = False) -> str:
    """A price with the sign of its currency: "£3,400", "840.50 EUR"; to the hundredth always if `exact`."""
    figure = f"{amount:,.2f}"
    if not exact:
        figure = figure.removesuffix(".00")
    return f"{before}{figure}{' ' + after if after else ''}"


def read_rate(text: str) -> Rate:
    """Read an hourly rate: "80", "80/h", "£80 per hour", "80,50 EUR/h".

    Raises
    ------
    InputFileError : no figure, one that is not above zero or too large, two signs, or one of no currency.
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
    for sign in (found["before"], found["after"]):
        if sign and not _is_currency(sign):
            raise InputFileError(f"'{sign}' is no currency, in the rate '{text.strip()}'", remedy=REMEDY)
    return Rate(amount, found["before"], found["after"])


def _is_currency(sign: str) -> bool:
    """Whether a sign is of money: a currency sign, a code of ISO 4217, or a customary abbreviation."""
    if any(unicodedata.category(letter) == "Sc" for letter in sign):
        return True
    return sign.upper() in CODES or sign.casefold() in BY_HAND


def read_sum(text: str, sign: str = "") -> Decimal:
    """Read a sum to the hundredth: "1200", "£1,250.50", "840,50 EUR"; `sign` is of the money it must be in.

    Raises
    ------
    InputFileError : no figure, one below nothing or too large, parts of a hundredth, or other money.
    """
    found = SUM.fullmatch(text)
    if found is None or (found["before"] and found["after"]):
        raise InputFileError(f"the sum '{text[:40]}' cannot be read", remedy=SUM_REMEDY)
    try:
        amount = Decimal(_figure(found["figure"]))
    except InvalidOperation:
        raise InputFileError(f"the sum '{text[:40]}' cannot be read", remedy=SUM_REMEDY) from None
    if amount >= LARGEST or amount != round(amount, 2):
        raise InputFileError(f"a sum of {text[:40]} cannot be", remedy=SUM_REMEDY)
    written = found["before"] or found["after"]
    if written and not _is_currency(written):
        raise InputFileError(f"'{written}' is no currency, in the sum '{text.strip()}'", remedy=SUM_REMEDY)
    if written and sign and written.casefold() != sign.casefold():
        raise InputFileError(f"that sum is in {written}, the job is in {sign}", remedy=f"say it in {sign}")
    return round(amount, 2)


def _figure(text: str) -> str:
    """A figure with a point; a comma or point before three digits parts thousands."""
    packed = text.replace(" ", "").replace("'", "")
    packed = re.sub(r"[.,](?=\d{3}(?:[.,]|$))", "", packed)
    return packed.replace(",", ".")
