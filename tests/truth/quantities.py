"""Every computed quantity of the package: its public functions that give a formula or a unit, and a figure.

What gives nothing, a yes or no, or a text is no quantity, whatever units its description has.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

NO_FIGURE = ("None", "bool", "str", "BoolArray", "tuple[BoolArray, BoolArray]")
ROOMS = ("quantities", "geartrain", "hydraulics", "friction", "fits", "road", "diagnosis")
SAYS = re.compile(r"^\s*Formula:|\[[^\]\n]{1,16}\]|`[^`]* = [^`]*`", re.MULTILINE)
FORMULA = re.compile(r"Formula: *(.+?)(?=\n\s*\n|\Z)", re.DOTALL)
SOURCE = re.compile(r"Source: *(.+?)(?=\n\s*\n|\Z)", re.DOTALL)


@dataclass(frozen=True)
class Quantity:
    """A computed quantity: the code, what it is, its formula and where that comes from, as it says itself."""

    code: str
    sentence: str
    formula: str
    source: str

    @property
    def room(self) -> str:
        """The room it belongs to."""
        return self.code.partition(".")[0]


def one_line(text: str) -> str:
    """A text without line breaks."""
    return " ".join(text.replace("``", "`").split())


def described(code: str, text: str) -> Quantity:
    """What a docstring says."""
    formula, source = FORMULA.search(text), SOURCE.search(text)
    return Quantity(
        code,
        one_line(text.split("\n\n")[0]),
        one_line(formula[1]) if formula else "",
        one_line(source[1]) if source else "",
    )


def functions(tree: ast.Module) -> Iterator[tuple[str, ast.FunctionDef]]:
    """Functions, methods and properties of a module, with their names; of an overloaded one its last form."""
    found = {}
    for node in tree.body:
        if isinstance(node, ast.FunctionDef):
            found[node.name] = node
        elif isinstance(node, ast.ClassDef):
            for inner in node.body:
                if isinstance(inner, ast.FunctionDef):
                    found[f"{node.name}.{inner.name}"] = inner
    yield from found.items()


def public(name: str) -> bool:
    """Whether no part of a name is private."""
    return not any(part.startswith("_") for part in name.split("."))


def gives_a_figure(node: ast.FunctionDef) -> bool:
    """Whether a function gives back something that may hold a figure."""
    return node.returns is None or ast.unparse(node.returns) not in NO_FIGURE


def quantities(root: Path, named: frozenset[str] = frozenset()) -> list[Quantity]:
    """The computed quantities, and all functions `named`, in the order of rooms and modules."""
    made = []
    for room in ROOMS:
        for path in sorted((root / "src" / "bellhousing" / room).rglob("*.py")):
            module = ".".join(path.relative_to(root / "src" / "bellhousing").with_suffix("").parts)
            for name, node in functions(ast.parse(path.read_text(encoding="utf-8"))):
                text = ast.get_docstring(node) or ""
                code = f"{module}.{name}"
                counts = public(name) and SAYS.search(text) and gives_a_figure(node)
                if code in named or counts:
                    made.append(described(code, text))
    return made
