"""What the settings of a shop say of money, and the settings where their file cannot be used."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

from bellhousing.errors import BellhousingError, InputFileError
from bellhousing.tasks.money import Rate, read_rate
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.shop_settings import ShopSettings, shop_settings
from bellhousing.work.account import Terms


def settings_or_usual(shop: Shop) -> ShopSettings:
    """What the shop's file says; the usual where it cannot be used, which its own page tells of."""
    try:
        return shop_settings(shop)
    except BellhousingError:
        return ShopSettings()


def settings_terms(shop: Shop) -> Terms:
    """What an hour costs and the tax where no job said any yet."""
    settings = settings_or_usual(shop)
    rate = read_rate(settings.rate) if settings.rate else Rate(Decimal(0), "", "")
    return Terms(
        rate=rate.amount if settings.rate else None,
        tax=read_percent(settings.tax) if settings.tax else Decimal(0),
        before=rate.before,
        after=rate.after,
    )


def read_percent(text: str) -> Decimal:
    """Read a tax in per cent: "20", "7.5 %"; raises InputFileError if it is none."""
    try:
        found = Decimal(text.replace("%", "").strip().replace(",", "."))
    except InvalidOperation:
        found = Decimal(-1)
    if not found.is_finite() or not 0 <= found <= 100:
        raise InputFileError(
            f"a tax of '{text[:20]}' cannot be", where="tax", remedy="write it as 20 or 7.5 %"
        )
    return found
