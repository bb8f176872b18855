"""Figures that tell of a fall: by how much ("drops 25 psi"), from what, and down to what ("sags to 45")."""

from __future__ import annotations

from collections.abc import Sequence

from bellhousing.words.text import Token, stem

_FALLS = frozenset(
    {"drop", "fall", "fell", "sag", "lose", "los", "lost", "sink", "sank", "fad", "dip", "dwindl", "droop",
     "collaps", "div"}
)  # fmt: skip
_RISES = frozenset({"rise", "rose", "ris", "climb", "gain", "jump"})
_BETWEEN = frozenset(
    {"off", "away", "down", "back", "about", "around", "roughly", "nearly", "almost", "only", "just",
     "another", "some", "maybe", "over", "at", "least", "a", "good", "as", "low", "right", "straight"}
)  # fmt: skip


def is_amount(row: Sequence[Token], place: int) -> bool:
    """Whether a figure is how much something fell or rose, or what it fell from, and so no reading itself."""
    back = _back(row, place)
    if back >= 0 and row[back].text in {"by", "from"}:
        before = _back(row, back)
        return before >= 0 and stem(row[before].text) in _FALLS | (
            _RISES if row[back].text == "by" else set()
        )
    return back >= 0 and stem(row[back].text) in _FALLS


def fallen_to(row: Sequence[Token], place: int) -> bool:
    """Whether a figure is what something fell to."""
    back = _back(row, place)
    if back < 0 or row[back].text != "to":
        return False
    earlier = _back(row, back)
    return (earlier >= 0 and stem(row[earlier].text) in _FALLS) or fell_from(row, place)


def fell_from(row: Sequence[Token], place: int) -> bool:
    """Whether a figure is the end of a fall that is told from its start: "falls from 90 to 60"."""
    back = _back(row, place)
    earlier = _back(row, back) if back >= 0 and row[back].text == "to" else -1
    return earlier >= 0 and row[earlier].kind == "number" and is_amount(row, earlier)


def before(row: Sequence[Token], place: int) -> str:
    """The last word before a place that weighs anything here, empty where there is none."""
    back = _back(row, place)
    return row[back].text if back >= 0 else ""


def _back(row: Sequence[Token], place: int) -> int:
    """The place of the last word before a place that weighs anything here."""
    back = place - 1
    while back >= 0 and row[back].text in _BETWEEN:
        back -= 1
    return back
