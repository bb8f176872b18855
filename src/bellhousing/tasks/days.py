"""Days as people say them: "2026-06-01", "today", "in 3 weeks"."""

from __future__ import annotations

import re
from datetime import date, timedelta

from bellhousing.errors import InputFileError

AHEAD = re.compile(r"(?:in )?(\d{1,3}) (day|week)s?")
REMEDY = "write it like 2026-06-01 or in 3 weeks"


def read_day(text: str, today: date) -> date:
    """Read a day, counted from today where it is said so.

    Raises
    ------
    InputFileError : it is no day
    """
    said = " ".join(text.lower().split())
    if said in ("today", "tomorrow"):
        return today + timedelta(days=int(said == "tomorrow"))
    ahead = AHEAD.fullmatch(said)
    if ahead is not None:
        return today + timedelta(days=int(ahead[1]) * (7 if ahead[2] == "week" else 1))
    try:
        return date.fromisoformat(said)
    except ValueError:
        raise InputFileError(f"'{text[:40]}' is no day", remedy=REMEDY) from None
