"""How each reading is usually taken: range, engine speed, vacuum, temperature, instrument."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from bellhousing.diagnosis.catalogue import Finding, parsed
from bellhousing.errors import CatalogueError

NAMES = ("range", "engine_speed", "vacuum", "temperature")


@dataclass(frozen=True)
class Usual:
    """The usual conditions of all readings, and the usual instrument of each unit.

    `differences` are readings in which the instrument's error drops out.
    """

    conditions: Mapping[str, Mapping[str, str]]
    instruments: Mapping[str, str]
    differences: frozenset[str]

    def instrument(self, finding: Finding) -> str | None:
        """The usual instrument of a finding, None where nothing is read."""
        unit = finding.unit or ("" if finding.thresholds is None else finding.thresholds.unit)
        return self.instruments.get(unit)

    def shares_bias(self, finding: Finding) -> bool:
        """Whether a reading carries the error of its instrument."""
        return finding.kind == "reading" and finding.half_width > 0.0 and finding.id not in self.differences


@cache
def load_usual(parse: Callable[[str], Any] = parsed) -> Usual:
    """Read the shipped conditions; `parse` makes data of the text of the file.

    Raises
    ------
    CatalogueError : a condition of another name.
    """
    path = resources.files("bellhousing.diagnosis") / "catalogue" / "usual.yaml"
    content = parse(path.read_text(encoding="utf-8"))
    for finding, given in content["conditions"].items():
        unknown = [name for name in given if name not in NAMES]
        if unknown:
            raise CatalogueError(
                f"'{unknown[0]}' is no condition", where=finding, remedy=f"one of: {', '.join(NAMES)}"
            )
    return Usual(content["conditions"], content["instruments"], frozenset(content["differences"]))
