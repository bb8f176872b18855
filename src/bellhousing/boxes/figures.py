"""A figure as typed in a box file: number, unit, scatter and source read into SI and checked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from bellhousing.errors import QuantityError
from bellhousing.quantities.parse import parse_measured, parse_tolerance
from bellhousing.quantities.units import unit

LONGEST_TEXT = 400
_PARTS = ("value", "scatter", "source", "note")


@dataclass(frozen=True)
class Figure:
    """A figure read from a file: `value` and `scatter` in SI; `value` None means written `unknown`."""

    value: float | None
    scatter: float
    unit: str
    text: str
    source: str


def problem(message: str, *at: str | int) -> PydanticCustomError:
    """Build a problem whose words are shown as they stand, `at` a place below the field."""
    return PydanticCustomError("box", "{message}", {"message": message, "at": list(at)})


@dataclass(frozen=True)
class Spec:
    """What one figure of a box file must be.

    Parameters
    ----------
    unit : usual unit
    dimension : kind of quantity
    low, high : what is possible, in the usual unit
    scatter : usual scatter between sound units when none is written, as in a box file
    says : the field in one line
    whole : a count, which has no fraction
    """

    unit: str
    dimension: str
    low: float
    high: float
    scatter: str
    says: str
    whole: bool = False

    def read(self, raw: Any) -> Figure | None:
        """Read what the file holds: text, or a mapping with value, scatter, source, note.

        Raises
        ------
        PydanticCustomError : not a figure of this kind, or an impossible one
        """
        if raw is None:
            return None
        if isinstance(raw, bool) or not isinstance(raw, str | Mapping):
            raise problem(f"a figure is expected, such as '{self.example()}', not a list")
        parts = {"value": raw} if isinstance(raw, str) else dict(raw)
        for key in parts:
            if key not in _PARTS:
                raise problem(f"unknown key `{key}`{nearest(key, _PARTS)}", key)
            if parts[key] is not None and not isinstance(parts[key], str):
                raise problem(f"`{key}` must be plain text", key)
            if parts[key] is not None and len(parts[key]) > LONGEST_TEXT:
                raise problem(f"`{key}` is longer than {LONGEST_TEXT} characters", key)
        text = (parts.get("value") or "").strip()
        source = (parts.get("source") or "").strip()
        if text.lower() in ("", "unknown"):
            return Figure(None, 0.0, self.unit, "unknown", source)
        try:
            read = parse_measured(text, usual_unit=self.unit, possible=self._possible())
        except QuantityError as error:
            raise problem(str(error)) from None
        if read.unit_assumed:
            raise problem(f"'{text}' has no unit: write it as '{text} {self.unit}'")
        if self.whole and read.value != round(read.value):
            raise problem(f"'{text}' must be a whole number")
        scatter = self._scatter(parts.get("scatter"), read.value, read.standard_uncertainty)
        return Figure(read.value, scatter, read.unit, text, source)

    def usual_scatter(self, value: float) -> float:
        """Return what sound units of one kind usually differ by, one standard deviation [SI]."""
        return self._scatter(None, value, None)

    def example(self) -> str:
        """Return a figure of this kind as one would type it."""
        middle = min(max(self.low, 1.0), self.high)
        return f"{middle:g} {self.unit}".strip()

    def _possible(self) -> tuple[float, float]:
        usual = unit(self.unit)
        low, high = usual.to_si(self.low), usual.to_si(self.high)
        slack = 1e-9 * (high - low)
        return low - (slack if self.low else 0.0), high + slack

    def _scatter(self, text: str | None, value: float, written: float | None) -> float:
        """Return one standard deviation [SI]; a ± holds 95 of 100 and counts as two of them."""
        if text is None or text.strip().lower() in ("", "unknown"):
            if written is not None:
                return written
            text = self.scatter
        halved = text.strip().startswith(("±", "+-", "+/-"))
        try:
            spread = parse_tolerance(text, usual_unit=self.unit, value=value)
        except QuantityError as error:
            raise problem(str(error), "scatter") from None
        return spread / 2 if halved else spread

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Validate with `read`."""
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Describe the figure for editors."""
        return {"description": f"{self.says} [{self.unit or 'number'}]", "anyOf": written_schema()}


def written_schema() -> list[dict[str, Any]]:
    """Return the JSON Schema of a figure as written: text alone, or a mapping."""
    written = {"type": ["string", "number", "null"]}
    text = {"type": ["string", "null"]}
    mapping = {
        "type": "object",
        "additionalProperties": False,
        "properties": {
            "value": {**written, "description": "number and unit, such as 65 psi; or unknown"},
            "scatter": {**written, "description": "standard deviation as 5 %, or ±3 psi holding 95 of 100"},
            "source": {**text, "description": "who says so"},
            "note": text,
        },
    }
    return [written, mapping]


def nearest(word: str, known: tuple[str, ...] | list[str]) -> str:
    """Return `: did you mean ...?` for the nearest known word, or the list when it is short."""
    close = get_close_matches(word.lower().replace("-", "_"), known, n=1, cutoff=0.55)
    if close:
        return f": did you mean `{close[0]}`?"
    return f": known here are {', '.join(known)}" if known and len(known) <= 14 else ""
