"""Limits typed from a manual: "60-75 psi", "65 ± 5 psi", "up to 0.035 in"."""

from __future__ import annotations

from bellhousing.quantities.measured import Interval
from bellhousing.quantities.parse import find_quantity, parse_interval


def read_window(text: str) -> Interval:
    """Read a window; its unit is the one written in it, a bare figure is a plain number.

    Raises
    ------
    QuantityError : it is not a range, or runs backwards
    """
    named = [found.unit for found in find_quantity(text[:200]) if found.unit]
    return parse_interval(text, usual_unit=named[-1] if named else "")
