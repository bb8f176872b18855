"""Findings and vocabulary for the tests of words, read once."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import resources
from typing import Any

import pytest
from ruamel.yaml import YAML

from bellhousing.quantities.parse import parse_measured
from bellhousing.words.model import FindingShape
from bellhousing.words.vocabulary import Vocabulary, load_vocabulary


def _shape(entry: Mapping[str, Any]) -> FindingShape:
    possible = entry.get("possible")
    unit = entry.get("unit", "")
    ends = [parse_measured(str(end), usual_unit=unit).value for end in possible] if possible else []
    return FindingShape(
        entry["id"],
        entry["name"],
        entry["kind"],
        unit,
        (ends[0], ends[1]) if ends else None,
        tuple(entry.get("states", ())),
        entry.get("state_names", {}),
        tuple(entry.get("words", ())),
        entry.get("part"),
    )


def _of_family(family: str) -> dict[str, FindingShape]:
    folder = resources.files("bellhousing.diagnosis") / "catalogue"
    reader = YAML(typ="safe", pure=True)
    shapes: dict[str, FindingShape] = {}
    for page in folder.iterdir():
        if page.name.startswith(("findings-", "looks")):
            entries = reader.load(page.read_text(encoding="utf-8")) or ()
            shapes |= {
                entry["id"]: _shape({**entry, **(entry.get("in_family") or {}).get(family, {})})
                for entry in entries
                if family in entry.get("families", [family])
            }
    return shapes


@pytest.fixture(scope="session")
def findings() -> dict[str, FindingShape]:
    """Every finding of a three-speed box with a vacuum modulator, as plain shapes."""
    return _of_family("three-speed-vacuum")


@pytest.fixture(scope="session")
def four_speed() -> dict[str, FindingShape]:
    """Every finding of a four-speed box with a throttle linkage, as plain shapes."""
    return _of_family("four-speed-linkage")


@pytest.fixture(scope="session")
def vocabulary() -> Vocabulary:
    """The vocabulary that comes with the program."""
    return load_vocabulary()
