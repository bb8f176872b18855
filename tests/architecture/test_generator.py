"""The generator of virtual cars shares names and rows of data with the package, and no code."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests.architecture.source import PACKAGE, imported_names, parsed

BENCHMARK = Path(__file__).resolve().parents[2] / "benchmarks" / "diagnosis"
GENERATOR = ("names", "reduced", "three_speed", "four_speed", "cars")
ALLOWED = {f"benchmarks.diagnosis.{name}" for name in GENERATOR} | {"benchmarks.diagnosis"}


def complaints(tree: ast.AST) -> list[str]:
    """Imports that would let the package's own laws into the generator."""
    names = [name for _, name in imported_names(tree)]
    return [
        name
        for name in names
        if name.split(".")[0] == PACKAGE or (name.startswith("benchmarks") and name not in ALLOWED)
    ]


@pytest.mark.parametrize("stem", GENERATOR)
def test_the_generator_imports_nothing_of_the_package(stem: str) -> None:
    """Neither the package nor a module of the benchmark that knows it."""
    assert complaints(parsed(BENCHMARK / f"{stem}.py")) == []


@pytest.mark.parametrize(
    "statement",
    [
        "from bellhousing.hydraulics.line import line_pressure",
        "import bellhousing",
        "from benchmarks.diagnosis.ours import adaptive",
        "def late():\n    from bellhousing.diagnosis.tables import stack",
    ],
)
def test_the_rule_catches(statement: str) -> None:
    """Each way round the rule is noticed."""
    assert complaints(ast.parse(statement)) != []


def test_modules_of_the_benchmark_are_short() -> None:
    """As those of the package."""
    assert [p.name for p in BENCHMARK.glob("*.py") if len(p.read_text("utf-8").splitlines()) > 400] == []
