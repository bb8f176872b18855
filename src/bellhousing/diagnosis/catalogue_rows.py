"""What rows of the catalogue's files share: figures with units, the families they concern, strengths."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from typing import Any

from bellhousing.boxes.kinds import FAMILIES
from bellhousing.errors import CatalogueError
from bellhousing.quantities.parse import parse_measured


def si(text: Any, usual_unit: str) -> float:
    """A figure in SI; a bare one is in the usual unit."""
    return parse_measured(str(text), usual_unit=usual_unit).value


def pair(values: Any, usual_unit: str) -> tuple[float, float] | None:
    """Two figures in SI, low and high; None where there are none."""
    return None if values is None else (si(values[0], usual_unit), si(values[1], usual_unit))


def families_of(row: Any) -> tuple[str, ...]:
    """The families a row concerns: all where it names none; CatalogueError for one that is unknown."""
    families = tuple(row.get("families") or FAMILIES)
    if not set(families) <= set(FAMILIES):
        raise CatalogueError(f"unknown family among {', '.join(families)}", where=row["id"])
    return families


def in_family(row: Any, keys: set[str]) -> Mapping[str, Any]:
    """What a row has otherwise in each family; CatalogueError for a key beside `keys`, or no such family."""
    others = row.get("in_family") or {}
    if not set(others) <= set(FAMILIES):
        raise CatalogueError(f"unknown family among {', '.join(others)}", where=row["id"])
    for other in others.values():
        if not set(other) <= keys:
            raise CatalogueError(f"in_family cannot hold {', '.join(other)}", where=row["id"])
    return dict(others)


def otherwise(other: Mapping[str, Any], unit: str) -> dict[str, Any]:
    """What of a finding reads otherwise in one family, such as what is asked, window or states."""
    fields = dict(other)
    if "states" in other:
        fields["states"] = tuple(other["states"])
    if "usual" in other:
        fields["usual"] = pair(other["usual"], unit)
    if "top_speed" in other:
        fields["top_speed"] = si(other["top_speed"], "mph")
    return fields


def check_strengths(
    name: str, strengths: Mapping[str, Any], states: Sequence[str], faults: Container[str]
) -> None:
    """Raise CatalogueError for a strength of an unknown fault or state, or strengths that sum past 0.97."""
    for fault, states_seen in strengths.items():
        if fault not in faults:
            raise CatalogueError(f"strength for unknown fault '{fault}'", where=name)
        if not set(states_seen) <= set(states[1:]) or sum(states_seen.values()) > 0.97 + 1e-9:
            raise CatalogueError(f"strengths of '{fault}' do not fit the states", where=name)
