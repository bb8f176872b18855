"""SI numbers back into what people read."""

from __future__ import annotations

from math import floor, isfinite, isnan, log10

from bellhousing.quantities.units import Unit, unit

NOT_KNOWN = "not known"
_TIGHT = frozenset({"°"})


def show(value_si: float, unit_name: str, *, digits: int | None = None) -> str:
    """An SI value as text in the named unit: "62 psi", "0.021 in".

    Parameters
    ----------
    value_si : the value [SI]; NaN reads "not known"
    unit_name : the unit to show it in
    digits : decimal places, kept even where they are zero; None takes what is usual for the unit (without
        trailing zeros), and three significant figures where that would leave nothing

    Raises
    ------
    QuantityError : unknown unit
    """
    found = unit(unit_name)
    if isnan(value_si):
        return NOT_KNOWN
    return _joined(figure(value_si, found, digits=digits), found)


def show_interval(low_si: float, high_si: float, unit_name: str, *, digits: int | None = None) -> str:
    """Two SI ends as text in the named unit: "60–75 psi", "up to 5 psi", "60 psi or more".

    Raises
    ------
    QuantityError : unknown unit
    """
    found = unit(unit_name)
    if isnan(low_si) or isnan(high_si):
        return NOT_KNOWN
    low, high = (figure(end, found, digits=digits) for end in (low_si, high_si))
    if not isfinite(low_si):
        return "any" if not isfinite(high_si) else f"up to {_joined(high, found)}"
    if not isfinite(high_si):
        return f"{_joined(low, found)} or more"
    between = " to " if low.startswith("-") or high.startswith("-") else "–"
    return _joined(low if low == high else f"{low}{between}{high}", found)


def figure(value_si: float, found: Unit, *, digits: int | None = None) -> str:
    """The bare figure of an SI value in a unit, rounded for reading."""
    value = found.from_si(value_si)
    if not isfinite(value):
        return "∞" if value > 0 else "-∞"
    if digits is not None:
        return _without_negative_zero(f"{value:.{digits}f}")
    places = found.decimals
    if value != 0.0 and abs(value) < 0.5 * 10.0**-places:
        places = 2 - floor(log10(abs(value)))
        if places > 12:
            return f"{value:.2e}"
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return _without_negative_zero(text)


def _without_negative_zero(text: str) -> str:
    return text[1:] if text.startswith("-") and not text.strip("-0.") else text


def _joined(text: str, found: Unit) -> str:
    if not found.symbol:
        return text
    return f"{text}{'' if found.symbol in _TIGHT else ' '}{found.symbol}"
