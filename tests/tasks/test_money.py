"""Rates as a shop writes them, prices as exact decimals."""

from __future__ import annotations

from decimal import Decimal

import pytest

from bellhousing.errors import InputFileError
from bellhousing.tasks.money import Rate, read_rate, with_sign


@pytest.mark.parametrize(
    ("text", "rate"),
    [
        ("80", Rate(Decimal(80))),
        ("80/h", Rate(Decimal(80))),
        ("£80/h", Rate(Decimal(80), "£")),
        ("£ 80 per hour", Rate(Decimal(80), "£")),
        ("80 EUR/h", Rate(Decimal(80), "", "EUR")),
        ("80,50 € / h", Rate(Decimal("80.50"), "", "€")),
        ("1,250.50/hr", Rate(Decimal("1250.50"))),
        ("1.250,50", Rate(Decimal("1250.50"))),
        ("12 500 Kč/h", Rate(Decimal(12500), "", "Kč")),
        ("A$95/h", Rate(Decimal(95), "A$")),
        ("900 kr/h", Rate(Decimal(900), "", "kr")),
        ("60 gbp", Rate(Decimal(60), "", "gbp")),
    ],
)
def test_rates_are_read(text: str, rate: Rate) -> None:
    """With and without the sign of a currency, a point or a comma."""
    assert read_rate(text) == rate


@pytest.mark.parametrize(
    "text", ["", "free", "0/h", "-5", "£80 EUR/h", "80/day", "nan", "1e9", "9" * 30, "80/h/h", "٣/h"]
)
def test_what_is_no_rate_is_refused(text: str) -> None:
    """With an example of one."""
    with pytest.raises(InputFileError, match="80/h"):
        read_rate(text)


@pytest.mark.parametrize("text", ["80 psi", "80 mph", "80 bar/h", "rpm 80", "80 in", "80 °F", "80 h"])
def test_a_unit_that_is_no_currency_is_refused(text: str) -> None:
    """By name, with an example of a rate."""
    with pytest.raises(InputFileError, match=r"is no currency.*80 EUR/h"):
        read_rate(text)


def test_prices_are_exact() -> None:
    """A tenth of an hour at 0.30 is three hundredths, and halves go up."""
    assert Rate(Decimal("0.30")).of(0.1) == Decimal("0.03")
    assert Rate(Decimal(80)).of(10.5) == Decimal("840.00")
    assert Rate(Decimal("0.25")).of(0.1) == Decimal("0.03")
    assert sum((Rate(Decimal("33.33")).of(0.1) for _ in range(3)), Decimal(0)) == Decimal("9.99")


def test_prices_are_shown_with_their_sign() -> None:
    """Hundredths only where there are any."""
    assert with_sign(Decimal("3400.00"), "£") == "£3,400"
    assert with_sign(Decimal("840.50"), "", "EUR") == "840.50 EUR"
    assert Rate(Decimal(80)).show(Decimal("12.00")) == "12"
