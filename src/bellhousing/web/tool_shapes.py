"""Small sums of the bench as data: what a form asks, how it is worked out, how the answer is shown."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from bellhousing.errors import QuantityError
from bellhousing.reports.limit_line import LimitLine
from bellhousing.web.pages import Sent


@dataclass(frozen=True)
class Entry:
    """One field of a form; `choices` make it a list, `tick` a box to tick."""

    name: str
    label: str
    hint: str = ""
    usual: str = ""
    choices: tuple[str, ...] = ()
    tick: bool = False


@dataclass(frozen=True)
class Shown:
    """An answer as the page shows it: the sentence, its limit lines with a name each, and what follows."""

    text: str
    lines: tuple[tuple[str, LimitLine], ...] = ()
    more: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True)
class Tool:
    """A small sum: what it asks, how it is worked out, how its answer is shown."""

    id: str
    title: str
    entries: tuple[Entry, ...]
    work: Callable[[Sent], BaseModel]
    show: Callable[[Any], Shown]
    cautions: tuple[str, ...] = ()

    def filled(self, sent: Mapping[str, str]) -> bool:
        """Whether anything was asked of it."""
        return any(sent.get(entry.name, "").strip() for entry in self.entries)


def both(sent: Sent, first: str, second: str, what: str, remedy: str) -> tuple[str, str] | None:
    """Two fields that are given together, None where neither is.

    Raises
    ------
    QuantityError : only one of them is given
    """
    one, other = sent.given(first), sent.given(second)
    if (one is None) != (other is None):
        raise QuantityError(what, remedy=remedy)
    return None if one is None or other is None else (one, other)


def limit(
    value: float, low: float, high: float, text: str, unit: str = "%", *, half: float = 0.0
) -> LimitLine:
    """A limit line; only its last end carries the unit, so that the two do not run into each other."""
    open_above = not math.isfinite(high)
    ends = f"{low:.3g} {unit}" if open_above else f"{low:.3g}", "" if open_above else f"{high:.3g} {unit}"
    return LimitLine(value, half, low, high, *ends, text)
