"""How a reading was taken, as it is kept beside it: each condition with where it comes from."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from typing import Any, Literal, cast

Source = Literal["said", "last", "usual"]
SOURCES: tuple[Source, ...] = ("said", "last", "usual")
IN_WORDS: Mapping[Source, str] = {
    "said": "said",
    "last": "taken from the last reading",
    "usual": "usual for this finding",
}

KEPT = "held"
"""Key of an entry's conditions under which they are kept."""


@dataclass(frozen=True)
class Condition:
    """One condition: as written, as a figure [SI] where it is one, and where it comes from."""

    text: str
    source: Source
    value: float | None = None


@dataclass(frozen=True)
class Conditions:
    """How one reading was taken; what is not known is None.

    `engine_speed` [rad/s], `vacuum` [Pa below the atmosphere] and `temperature` [K] hold a figure where one
    was given, else only words ("idle", "hose off", "hot"); `try_number` is a whole number.
    """

    engine_speed: Condition | None = None
    vacuum: Condition | None = None
    range: Condition | None = None
    temperature: Condition | None = None
    instrument: Condition | None = None
    try_number: Condition | None = None

    def __iter__(self) -> Iterator[tuple[str, Condition]]:
        """Name and condition of each that is known, in their order."""
        for field in fields(self):
            condition = getattr(self, field.name)
            if condition is not None:
                yield field.name, condition

    @property
    def number(self) -> int | None:
        """Number of the try, None where none was said."""
        taken = self.try_number
        return None if taken is None or taken.value is None else int(taken.value)

    def plain(self) -> dict[str, dict[str, Any]]:
        """As plain data, to be kept."""
        return {
            name: {"text": condition.text, "source": condition.source, "value": condition.value}
            for name, condition in self
        }

    @classmethod
    def of(cls, kept: Mapping[str, Any]) -> Conditions:
        """What an entry's mapping keeps; what cannot be read of it is not known."""
        held = kept.get(KEPT)
        if not isinstance(held, Mapping):
            return cls()
        names = {field.name for field in fields(cls)}
        return cls(
            **{
                name: condition
                for name, plain in held.items()
                if name in names and (condition := _condition(plain)) is not None
            }
        )


NOT_KNOWN = Conditions()
"""Nothing is known of how a reading was taken."""


def _condition(plain: object) -> Condition | None:
    if not isinstance(plain, Mapping) or plain.get("source") not in SOURCES:
        return None
    text, value = plain.get("text"), plain.get("value")
    if not isinstance(text, str):
        return None
    figure = float(value) if isinstance(value, int | float) and math.isfinite(value) else None
    return Condition(text, cast(Source, plain["source"]), figure)
