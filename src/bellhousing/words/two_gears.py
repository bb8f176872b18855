"""Line pressure told in two gears at one engine speed: "88 in 1st, 62 in 4th" compares them."""

from __future__ import annotations

import re
from collections.abc import Mapping

from bellhousing.quantities.units import to_si
from bellhousing.words.model import FindingShape, Understood

LEAST, MOST = 15.0, 400.0
"""Span in which a figure beside a gear is a line pressure [psi]; common practice, no source."""
CONFIDENCE = 0.8

_GEARS = {"1st": "first", "first": "first", "2nd": "second", "second": "second", "3rd": "third",
          "third": "third", "4th": "fourth", "fourth": "fourth", "top": "top"}  # fmt: skip
_OF_PAIR = {
    ("first", "fourth"): ("line-top-below-first", 6.0),
    ("second", "third"): ("line-third-below-second", 8.0),
}
"""For each pair of gears the finding, and the fall that the plan does not explain [psi]; common practice."""
_FIGURE = r"(\d{1,3}(?:\.\d+)?)\s*(psi|bar|kpa|lbs?|pounds)?"
_GEAR = r"(1st|2nd|3rd|4th|first|second|third|fourth|top)(?:\s+gear)?"
_PAIR = re.compile(
    rf"(?:line(?:\s+pressure)?|pressure)?\s*(?:is\s+|was\s+|reads\s+)?{_FIGURE}\s+in\s+{_GEAR}"
    rf"\s*(?:,|and|but|to|;|/)\s*(?:only\s+)?{_FIGURE}\s+in\s+{_GEAR}\s*[.!]?",
    re.IGNORECASE,
)
_UNITS = {"lb": "psi", "lbs": "psi", "pounds": "psi", "": "psi"}


def read_two_gears(text: str, findings: Mapping[str, FindingShape]) -> Understood | None:
    """The finding two pressures in two gears stand for; None for any other text."""
    found = _PAIR.fullmatch(text.strip())
    if found is None:
        return None
    top = "fourth" if "slip-fourth" in findings else "third"
    figures: dict[str, float] = {}
    unit = _unit(found[2] or found[5])
    for figure, gear in ((found[1], found[3]), (found[4], found[6])):
        name = _GEARS[gear.lower()]
        figures[top if name == "top" else name] = to_si(float(figure), unit) / to_si(1.0, "psi")
    ordered = sorted(figures, key=("first", "second", "third", "fourth").index)
    low, high = ordered[0], ordered[-1]
    pair = _OF_PAIR.get((low, high))
    if pair is None or pair[0] not in findings or not all(LEAST <= f <= MOST for f in figures.values()):
        return None
    fall = figures[low] - figures[high]
    assumed = [
        f"{fall:.0f} psi lower in {high}, held against {pair[1]:.0f}",
        "taken as at one engine speed",
    ]
    if not (found[2] or found[5]):
        assumed.append("taken as psi")
    state = "lower" if fall > pair[1] else "even"
    return Understood(text.strip(), pair[0], (state,), None, None, {}, CONFIDENCE, (), tuple(assumed))


def _unit(name: str | None) -> str:
    lower = (name or "").lower()
    return _UNITS.get(lower, {"kpa": "kPa"}.get(lower, lower))
