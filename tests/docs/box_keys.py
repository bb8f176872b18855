"""`python -m tests.docs.box_keys`: every figure of a box file, from the schema, as tables of a page."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from bellhousing.boxes.kinds import FOUR_SPEED, THREE_SPEED
from bellhousing.boxes.schema import specs

PAGE = Path(__file__).resolve().parents[2] / "docs" / "file-formats.md"
BEGIN, END = "<!-- figures: written by python -m tests.docs.box_keys -->\n", "<!-- end of figures -->\n"
TABLES = re.compile(re.escape(BEGIN) + ".*?" + re.escape(END), re.DOTALL)
HEAD = "\n| key | unit | what it is | least | most |\n| --- | --- | --- | ---: | ---: |\n"


def table() -> str:
    """The tables, between their marks."""
    return BEGIN + "".join(_tables()) + END


def _tables() -> Iterator[str]:
    three, four = specs(THREE_SPEED), specs(FOUR_SPEED)
    for title, keys in (
        ("Both kinds", [key for key in three if key in four]),
        ("Three-speeds with converter and vacuum modulator", [key for key in three if key not in four]),
        ("Four-speeds with fluid coupling and linkage", [key for key in four if key not in three]),
    ):
        yield f"\n#### {title}\n{HEAD}"
        for key in keys:
            spec = three.get(key) or four[key]
            yield f"| `{key}` | {spec.unit or '–'} | {spec.says} | {spec.low:g} | {spec.high:g} |\n"
    yield "\n"


def main() -> None:
    """Write the tables into the page."""
    text = PAGE.read_text(encoding="utf-8")
    PAGE.write_text(TABLES.sub(lambda _: table(), text, count=1), encoding="utf-8")


if __name__ == "__main__":
    main()
