"""The owner's report in the words and units of whoever reads it; what somebody wrote stays as it was."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from pydantic import BaseModel

from bellhousing.quantities.turn import outside_quotes, turned
from bellhousing.tasks.report_shapes import OwnerReport, ReportFact, ReportPart, ReportPhoto, ReportSum
from bellhousing.tasks.shipped import parsed_once
from bellhousing.words.glossary import glossary

WRITTEN: dict[type, frozenset[str]] = {
    OwnerReport: frozenset(
        ["kind", "shop", "shop_lines", "paper", "units", "complaint", "fluid", "warranty", "work"]
    ),
    ReportFact: frozenset(),
    ReportPart: frozenset(["note"]),
    ReportPhoto: frozenset(["digest", "caption", "taken"]),
    ReportSum: frozenset(["what", "text"]),
}
"""Fields of a report that hold what the shop or the owner wrote; `work` is told as it is gathered."""

THEIRS = frozenset(["Car", "Owner"])
"""Facts at the head that somebody wrote."""


def teller(country: str, units: str) -> Callable[[str], str]:
    """What says a sentence of the program in the words of a country and in inch or metric units."""
    known = glossary(parsed_once)
    return lambda text: outside_quotes(text, lambda part: turned(known.say(part, country), units))


def report_told(report: OwnerReport, say: Callable[[str], str]) -> OwnerReport:
    """A report with every sentence of the program said by `say`."""
    told = _told(report, say)
    assert isinstance(told, OwnerReport)
    return told


def _told(value: Any, say: Callable[[str], str]) -> Any:
    if isinstance(value, str):
        return say(value)
    if isinstance(value, tuple):
        return tuple(_told(part, say) for part in value)
    if isinstance(value, ReportFact) and value.name in THEIRS:
        return value
    if isinstance(value, BaseModel):
        written = WRITTEN.get(type(value), frozenset())
        names = [name for name in type(value).model_fields if name not in written]
        return value.model_copy(update={name: _told(getattr(value, name), say) for name in names})
    return value
