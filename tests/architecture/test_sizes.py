"""What one can hold in mind: no long module, no long function, no code for a name."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from tests.architecture.source import ROOT, body_lines, modules, parsed

LONGEST_MODULE = 400
LONGEST_BODY = 60

# One capital and two or three digits, as a list of numbered items would have.
CODE = re.compile(r"\b[AESBM]\d{2,3}\b")
# The names of standards that look alike.
STANDARDS = re.compile(r"(?:ASTM|SAE|ISO|NASA|NIST)\s+[A-Z]\d{2,3}\b")
TEXT_FILES = {".py", ".yaml", ".html", ".css", ".js", ".json", ".md", ".txt"}


def text_files() -> list[Path]:
    """Every text file of the package, data and pages included."""
    return sorted(path for path in ROOT.rglob("*") if path.suffix in TEXT_FILES)


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(ROOT)))
def test_module_is_short(path: Path) -> None:
    """No module is longer than one can hold in mind."""
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LONGEST_MODULE


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(ROOT)))
def test_functions_are_short(path: Path) -> None:
    """No function body, without its docstring, is longer than a page."""
    functions = (n for n in ast.walk(parsed(path)) if isinstance(n, ast.FunctionDef | ast.AsyncFunctionDef))
    assert [f"{f.name}: {body_lines(f)} lines" for f in functions if body_lines(f) > LONGEST_BODY] == []


@pytest.mark.parametrize("path", text_files(), ids=lambda path: str(path.relative_to(ROOT)))
def test_things_have_names_and_not_codes(path: Path) -> None:
    """A fault, finding or part is called by a trade word."""
    text = STANDARDS.sub("", path.read_text(encoding="utf-8"))
    assert CODE.findall(text) == []


def test_a_code_would_be_noticed() -> None:
    """The pattern finds what it should and leaves a standard's name alone."""
    assert CODE.findall("see A98 and S99") == ["A98", "S99"]
    assert CODE.findall(STANDARDS.sub("", "SAE J300, ISO A12, 0.021 in, S-valve")) == []


def test_a_long_body_would_be_noticed() -> None:
    """The docstring is not counted, every other line is."""
    source = 'def f() -> int:\n    """One.\n\n    Two.\n    """\n    a = 1\n\n    return a\n'
    (function,) = ast.parse(source).body
    assert isinstance(function, ast.FunctionDef)
    assert body_lines(function) == 3
