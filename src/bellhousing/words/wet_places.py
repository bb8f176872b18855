"""Wet places in plain words or millimetres: "spot 40 mm behind the front of the pan"."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from bellhousing.errors import FindingError
from bellhousing.quantities.parse import parse_measured

Kind = Literal["top", "wet", "spot", "dry", "dry-above"]
When = Literal["", "parked", "running", "parked-only", "running-only", "both", "driving-only", "hot", "cold"]
Colour = Literal["", "red", "brown"]

READ_BY_RULE = 0.008
"""Standard uncertainty of a place measured with a rule from a landmark [m]; common practice, no source."""
READ_BY_EYE = 0.025
"""Standard uncertainty of a place named in words [m]; common practice, no source."""
READ_ON_PAPER = 0.05
"""Standard uncertainty of a spot on the paper, which lies within 10 cm for 95 of 100 [m]; common practice."""
ASIDE = 0.13
"""How far from the centre line "on the left" is taken to be [m]; common practice, no source."""

_FIGURE = r"(?P<figure>\d+(?:[.,]\d+)?(?:[ -]\d+/\d+)?|\d+/\d+)"
_UNIT = r"(?P<unit>mm|millimetres?|millimeters?|cm|centimetres?|centimeters?|inches|inch|in\b|\"|″)"
_BEHIND = r"behind|rearwards? of|to the rear of|back (?:of|from)|aft of"
_AHEAD = r"in front of|ahead of|forwards? of"
_ABOVE, _BELOW = r"above|over|higher than", r"below|under|lower than|beneath"
_LEFT, _RIGHT = r"(?:to the )?left of", r"(?:to the )?right of"
_RELATION = re.compile(
    rf"{_FIGURE}\s*{_UNIT}\s*(?:(?P<behind>{_BEHIND})|(?P<ahead>{_AHEAD})|(?P<above>{_ABOVE})"
    rf"|(?P<below>{_BELOW})|(?P<left>{_LEFT})|(?P<right>{_RIGHT})|(?P<from>from|along from))\b",
    re.IGNORECASE,
)
_WET = re.compile(
    r"\b(?:wet|damp|fluid|oil|oily|drip(?:s|ping)?|drops?|leak(?:s|ing)?|seep(?:s|ing)?|weep(?:s|ing)?|spots?"
    r"|puddle|stain|runs?|track)\b",
    re.IGNORECASE,
)
_SPOT = re.compile(r"\b(?:spots?|puddle|paper|card|floor|stain)\b", re.IGNORECASE)
_TOP = re.compile(
    r"\b(?:highest|foremost|uppermost|topmost|(?:starts?|begins?|comes? out) at)\b", re.IGNORECASE
)
_DRY = re.compile(r"\b(?:dry|not wet|no (?:fluid|oil|drips?|leaks?|spots?)|nothing wet)\b", re.IGNORECASE)
_DRY_ABOVE = re.compile(rf"\bdry (?:everywhere )?(?:{_ABOVE})\b", re.IGNORECASE)
_COLOURS: tuple[tuple[Colour, re.Pattern[str]], ...] = (
    ("red", re.compile(r"\b(?:red|pink)\b", re.IGNORECASE)),
    ("brown", re.compile(r"\b(?:brown|black|engine oil)\b", re.IGNORECASE)),
)
_WHEN: tuple[tuple[When, re.Pattern[str]], ...] = (
    ("both", re.compile(r"parked and running|running and parked|engine on (?:and|or) off|all the time")),
    (
        "parked-only",
        re.compile(
            r"only (?:drips? )?(?:when |while )?"
            r"(?:parked|standing|overnight|after standing|with the engine off)"
            r"|(?:parked|standing|overnight) only|never (?:when |while )?running|not (?:when |while )?running"
        ),
    ),
    ("driving-only", re.compile(r"only (?:when |while )?(?:driven|driving|moving)|not (?:when )?idling")),
    (
        "running-only",
        re.compile(
            r"only (?:drips? )?(?:when |while )?(?:running|idling|with the engine (?:on|running))"
            r"|(?:running|idling) only|(?:never|not) (?:when |while )?(?:parked|standing)"
        ),
    ),
    ("hot", re.compile(r"\b(?:only )?(?:when )?hot\b|warmed up")),
    ("cold", re.compile(r"\b(?:only )?(?:when )?cold\b")),
    ("parked", re.compile(r"\bparked\b|overnight|engine off|after (?:a|the|one) night|standing")),
    ("running", re.compile(r"\brunning\b|idling|at idle|engine on\b")),
)


@dataclass(frozen=True)
class PlaceName:
    """A place of a box as a reader of notes needs it: its names, and where it is [m], None where unknown."""

    id: str
    names: tuple[str, ...]
    along: float | None
    across: float | None
    height: float | None
    length: float = 0.0


@dataclass(frozen=True)
class WetWords:
    """One wet or dry place as it was said.

    Parameters
    ----------
    kind : highest wet point, wet, spot on the paper, dry there, or dry from there upwards
    place : id of the place that was named, None for coordinates alone
    along, across, height : where it is, None where it was not said [m]
    near : standard uncertainty of each [m]
    length : how far the place runs rearwards [m]
    when, colour : when it drips, and its colour, empty where not said
    measured : whether it was measured from a place and not only named
    """

    kind: Kind
    place: str | None
    along: float | None
    across: float | None
    height: float | None
    near: float
    length: float
    when: When
    colour: Colour
    measured: bool


def is_measured_place(text: str) -> bool:
    """Whether a line tells of a wet or dry place by a length from another place."""
    wet = _WET.search(text) is not None or _DRY.search(text) is not None or _TOP.search(text) is not None
    return wet and _RELATION.search(text) is not None


def read_wet_place(text: str, places: Sequence[PlaceName]) -> WetWords | None:
    """Read a wet or dry place, None where the text tells of none.

    Raises
    ------
    FindingError : a length is measured from a place this box does not name, or a place said has no position.
    """
    dry = _DRY.search(text) is not None
    if not dry and not _WET.search(text) and not _TOP.search(text):
        return None
    steps = list(_RELATION.finditer(text))
    kind = _kind(text, dry, bool(steps))
    if steps:
        return _measured(text, kind, steps, places)
    named = _named(text, places)
    if named is None:
        return None
    along, height = named.along, None if kind == "spot" else named.height
    near = READ_ON_PAPER if kind == "spot" else READ_BY_EYE
    across = _aside(text) if _aside(text) is not None else named.across
    return _said(text, kind, named.id, (along, across, height), near, named.length, False)


def _kind(text: str, dry: bool, measured: bool) -> Kind:
    if dry:
        return "dry-above" if _DRY_ABOVE.search(text) or (measured and "above" in text.lower()) else "dry"
    if _TOP.search(text):
        return "top"
    return "spot" if _SPOT.search(text) else "wet"


def _measured(text: str, kind: Kind, steps: list[re.Match[str]], places: Sequence[PlaceName]) -> WetWords:
    """A place measured from landmarks: each length moves from the place named after it."""
    along = across = height = None
    base: PlaceName | None = None
    for step, following in zip(steps, [*steps[1:], None], strict=True):
        after = text[step.end() : following.start() if following else len(text)]
        before, base = base, _named(after, places) or base
        if base is None:
            raise FindingError(
                f"“{step[0]} …” is measured from no place this box names",
                remedy=f"measure from {', '.join(place.names[0] for place in list(places)[:5])}",
            )
        length = _length(step)
        if base is not before:
            along = base.along if along is None else along
            across = base.across if across is None else across
            height = base.height if height is None else height
        if step["behind"] or step["ahead"] or step["from"]:
            start = base.along + base.length if base.along is not None and step["behind"] else base.along
            along = _moved(start, -length if step["ahead"] else length, base)
        elif step["above"] or step["below"]:
            height = _moved(base.height, length if step["above"] else -length, base)
        else:
            across = _moved(base.across, length if step["right"] else -length, base)
    assert base is not None
    if not any(step["behind"] or step["ahead"] or step["from"] for step in steps) and base.length:
        along = None
    aside = any(step["left"] or step["right"] for step in steps)
    if not aside and (abs(base.across or 0.0) < 0.01 or base.length):
        across = None
    side = _aside(text)
    across = across if side is None else side
    near = READ_ON_PAPER if kind == "spot" else READ_BY_RULE
    return _said(text, kind, None, (along, across, None if kind == "spot" else height), near, 0.0, True)


def _moved(start: float | None, by: float, base: PlaceName) -> float:
    if start is None:
        raise FindingError(
            f"where {base.names[0]} is on this box is not known", remedy="measure from another"
        )
    return start + by


def _length(step: re.Match[str]) -> float:
    unit = {"in": "in", "inch": "in", "inches": "in", '"': "in", "″": "in"}.get(
        step["unit"].lower(), step["unit"].lower()
    )
    return parse_measured(f"{step['figure']} {unit}", usual_unit="mm", possible=(0.0, 3.0)).value


def _named(text: str, places: Sequence[PlaceName]) -> PlaceName | None:
    """The place with the longest name found in the text, the earlier one of two as long."""
    heard = f" {' '.join(re.findall(r'[a-z]+', text.lower()))} "
    best: tuple[int, int, PlaceName] | None = None
    for place in places:
        for name in place.names:
            at = heard.find(f" {' '.join(re.findall(r'[a-z]+', name.lower()))} ")
            if at >= 0 and (best is None or (len(name), -at) > (best[0], best[1])):
                best = (len(name), -at, place)
    return None if best is None else best[2]


def _aside(text: str) -> float | None:
    if re.search(r"\b(?:left[ -]?(?:hand)? side|on the left)\b", text, re.IGNORECASE):
        return -ASIDE
    return ASIDE if re.search(r"\b(?:right[ -]?(?:hand)? side|on the right)\b", text, re.IGNORECASE) else None


def read_when(text: str) -> When:
    """When it drips, as far as the text says."""
    lowered = text.lower()
    return next((when for when, pattern in _WHEN if pattern.search(lowered)), "")


def _said(
    text: str,
    kind: Kind,
    place: str | None,
    at: tuple[float | None, float | None, float | None],
    near: float,
    length: float,
    measured: bool,
) -> WetWords:
    colour: Colour = next((name for name, pattern in _COLOURS if pattern.search(text)), "")
    return WetWords(kind, place, at[0], at[1], at[2], near, length, read_when(text), colour, measured)
