"""The order of the rooms: an upper one may import a lower one, never the other way round."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests.architecture.source import PACKAGE, ROOT, imported_names, modules, parsed, room_of

# From the doors down. Rooms on one line are siblings and never import each other.
ORDER: tuple[tuple[str, ...], ...] = (
    ("__main__",),
    ("web", "cli"),
    ("tasks",),
    ("reports",),
    ("records",),
    ("diagnosis", "work"),
    ("road", "words"),
    ("boxes",),
    ("geartrain", "hydraulics", "friction", "fits"),
    ("quantities",),
    ("errors",),
)
LEVEL = {room: level for level, rooms in enumerate(ORDER) for room in rooms}

# A library that only one room may know, so that no physics waits for a database or a plotter.
OWNERS: dict[str, frozenset[str]] = {
    "sqlalchemy": frozenset({"records"}),
    "alembic": frozenset({"records"}),
    "psycopg": frozenset({"records"}),
    "vl_convert": frozenset({"reports"}),
    "starlette": frozenset({"web"}),
    "uvicorn": frozenset({"web", "cli"}),
    "jinja2": frozenset({"reports", "web"}),
    "click": frozenset({"cli"}),
    "polars": frozenset({"road"}),
    "rapidfuzz": frozenset({"words"}),
    "ruamel": frozenset({"boxes", "diagnosis", "words", "tasks", "fits"}),
    "segno": frozenset({"reports"}),
    "typst": frozenset({"reports"}),
    "icalendar": frozenset({"reports"}),
    "ortools": frozenset({"fits"}),
    "PIL": frozenset({"records"}),
    "pi_heif": frozenset({"records"}),
    "argon2": frozenset({"records"}),
    "cryptography": frozenset({"records"}),
}


def may_import(importer: str, imported: str) -> bool:
    """Whether one room stands above another."""
    return importer == imported or LEVEL[importer] < LEVEL[imported]


def complaints(room: str, names: list[tuple[int, str]]) -> list[str]:
    """What is wrong with the imports of a module that stands in a room."""
    found: list[str] = []
    for line, name in names:
        top, _, rest = name.partition(".")
        if top == "":
            found.append(f"line {line}: relative import {name}")
        elif top == PACKAGE:
            target = rest.split(".")[0]
            if target not in LEVEL:
                found.append(f"line {line}: imports {name}, which is the package root or no room")
            elif not may_import(room, target):
                found.append(f"line {line}: {room} imports {name}")
        elif top in OWNERS and room not in OWNERS[top]:
            found.append(f"line {line}: {room} imports {top}, which belongs to {sorted(OWNERS[top])}")
    return found


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(ROOT)))
def test_imports_run_downhill(path: Path) -> None:
    """No module imports upwards, sideways, the package root, or a library that another room owns."""
    room = room_of(path)
    if room == "__init__":
        assert list(imported_names(parsed(path))) == []
        return
    assert room in LEVEL, f"{room} is not a room: add it to ORDER with its place"
    assert complaints(room, list(imported_names(parsed(path)))) == []


@pytest.mark.parametrize(
    "path", sorted(ROOT.rglob("__init__.py")), ids=lambda path: str(path.relative_to(ROOT))
)
def test_package_files_hold_a_docstring_at_most(path: Path) -> None:
    """An __init__.py does nothing, so that importing a room never pulls in another."""
    rest = [node for node in parsed(path).body if not isinstance(node, ast.Expr)]
    assert rest == []


@pytest.mark.parametrize(
    ("room", "statement"),
    [
        ("hydraulics", "from bellhousing.boxes.load import load_box"),
        ("geartrain", "from bellhousing.friction.band import band_torque"),
        ("fits", "from bellhousing.boxes.box import Box"),
        ("fits", "from bellhousing.friction.band import band_torque"),
        ("boxes", "from ortools.sat.python import cp_model"),
        ("records", "def late():\n    from bellhousing.tasks.rank import rank"),
        ("boxes", "import bellhousing"),
        ("boxes", "from bellhousing import boxes, web"),
        ("boxes", "from . import load"),
        ("diagnosis", "import sqlalchemy.orm"),
        ("diagnosis", "from bellhousing.work.strip import strip_plan"),
        ("work", "from bellhousing.diagnosis.catalogue import load_catalogue"),
        ("work", "from bellhousing.records.store import Store"),
        ("web", "from bellhousing.cli.main import main"),
    ],
)
def test_the_contract_catches(room: str, statement: str) -> None:
    """Each way of breaking the order is noticed."""
    assert complaints(room, list(imported_names(ast.parse(statement)))) != []


def test_the_contract_allows_what_is_right() -> None:
    """A downhill import and the standard library pass."""
    statement = (
        "import math\nfrom bellhousing.quantities.units import unit\nfrom bellhousing.errors import TiedUp"
    )
    assert complaints("hydraulics", list(imported_names(ast.parse(statement)))) == []
