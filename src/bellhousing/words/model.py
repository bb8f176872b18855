"""What is asked of the reader of notes, and what it answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from bellhousing.quantities.measured import Measured


@dataclass(frozen=True)
class FindingShape:
    """A finding as far as a line of text needs to know it.

    `possible` is in SI units; `words` are the answers in words a reading takes
    (low, normal, high; prompt, slow, very-slow; early, late, never, absent).
    """

    id: str
    name: str
    kind: Literal["reading", "states"]
    unit: str = ""
    possible: tuple[float, float] | None = None
    states: tuple[str, ...] = ()
    state_names: Mapping[str, str] = field(default_factory=dict)
    words: tuple[str, ...] = ()
    part: str | None = None


@dataclass(frozen=True)
class Alternative:
    """Another finding, or another state, the same words could mean."""

    finding: str
    states: tuple[str, ...]
    word: str | None
    confidence: float


@dataclass(frozen=True)
class Understood:
    """One finding read from a piece of text; several states mean one of them, which is not said.

    `confidence` runs from 0 to 1: the share of the meaning in the words that this finding accounts for.
    """

    said: str
    finding: str
    states: tuple[str, ...]
    word: str | None
    value: Measured | None
    conditions: Mapping[str, str]
    confidence: float
    alternatives: tuple[Alternative, ...]
    assumed: tuple[str, ...]


@dataclass(frozen=True)
class Note:
    """Text that was not understood and is kept as it was written."""

    text: str


@dataclass(frozen=True)
class Reading:
    """All that one entry says: findings in the order they were written, and what stays a note."""

    found: tuple[Understood, ...]
    notes: tuple[Note, ...]
