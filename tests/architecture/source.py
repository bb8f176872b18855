"""The source tree as the architecture tests read it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2] / "src" / "bellhousing"
PACKAGE = "bellhousing"


def modules() -> list[Path]:
    """Every Python file of the package."""
    return sorted(ROOT.rglob("*.py"))


def parsed(path: Path) -> ast.Module:
    """One module's syntax tree."""
    return ast.parse(path.read_text(encoding="utf-8"), filename=str(path))


def room_of(path: Path) -> str:
    """The room a file stands in: its first folder, or its own name at the package's root."""
    inside = path.relative_to(ROOT)
    return inside.parts[0] if len(inside.parts) > 1 else inside.stem


def imported_names(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line and full name of everything a module imports, inside functions and type-checking blocks too."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name
        elif isinstance(node, ast.ImportFrom):
            source = "." * node.level + (node.module or "")
            if source == PACKAGE:
                yield from ((node.lineno, f"{PACKAGE}.{alias.name}") for alias in node.names)
            else:
                yield node.lineno, source


def body_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of a function's body without its docstring."""
    body = function.body
    if ast.get_docstring(function) is not None:
        body = body[1:]
    if not body:
        return 0
    return (body[-1].end_lineno or body[-1].lineno) - body[0].lineno + 1
