"""`python -m tests.docs.cautions_page`: every caution of the catalogue, as a list of a page."""

from __future__ import annotations

import re
from pathlib import Path

from tests.shipped import catalogue_as_shipped

PAGE = Path(__file__).resolve().parents[2] / "docs" / "cautions.md"
BEGIN, END = (
    "<!-- cautions: written by python -m tests.docs.cautions_page -->\n",
    "<!-- end of cautions -->\n",
)
TABLES = re.compile(re.escape(BEGIN) + ".*?" + re.escape(END), re.DOTALL)


def table() -> str:
    """The list, between its marks."""
    listed = "".join(f"- {text}\n" for text in catalogue_as_shipped().cautions.values())
    return f"{BEGIN}\n{listed}\n{END}"


def main() -> None:
    """Write the list into the page."""
    text = PAGE.read_text(encoding="utf-8")
    PAGE.write_text(TABLES.sub(lambda _: table(), text, count=1), encoding="utf-8")


if __name__ == "__main__":
    main()
