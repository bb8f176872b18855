"""`python -m tests.docs.word_pairs`: words of two countries, from the list the pages are turned by."""

from __future__ import annotations

import re
from importlib import resources
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML

PAGE = Path(__file__).resolve().parents[2] / "docs" / "glossary.md"
BEGIN, END = "<!-- words: written by python -m tests.docs.word_pairs -->\n", "<!-- end of words -->\n"
TABLES = re.compile(re.escape(BEGIN) + ".*?" + re.escape(END), re.DOTALL)


def pairs() -> Any:
    """The list as it stands in the words room."""
    text = resources.files("bellhousing.words").joinpath("glossary.yaml").read_text("utf-8")
    return YAML(typ="safe", pure=True).load(text)


def table() -> str:
    """The two tables, between their marks."""
    found = pairs()
    words = "".join(f"| {entry['british']} | {entry['american']} |\n" for entry in found["words"])
    spellings = "".join(f"| {british} | {american} |\n" for british, american in found["spellings"])
    head = "\n| British | American |\n| --- | --- |\n"
    return f"{BEGIN}{head}{words}\nSpellings:\n{head}{spellings}\n{END}"


def main() -> None:
    """Write the tables into the page."""
    text = PAGE.read_text(encoding="utf-8")
    PAGE.write_text(TABLES.sub(lambda _: table(), text, count=1), encoding="utf-8")


if __name__ == "__main__":
    main()
