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


@pytest.fixture(scope="session")
def findings() -> dict[str, FindingShape]:
    """Every finding of the catalogue, as plain shapes."""
    folder = resources.files("bellhousing.diagnosis") / "catalogue"
    reader = YAML(typ="safe", pure=True)
    shapes: dict[str, FindingShape] = {}
    for page in folder.iterdir():
        if page.name.startswith(("findings-", "looks")):
            entries = reader.load(page.read_text(encoding="utf-8")) or ()
            shapes |= {entry["id"]: _shape(entry) for entry in entries}
    return shapes


@pytest.fixture(scope="session")
def vocabulary() -> Vocabulary:
    """The vocabulary that comes with the program."""
    return load_vocabulary()
