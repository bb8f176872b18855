"""`python -m tests.docs.http_page`: the addresses of the app, as tables of a page."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from bellhousing.tasks.shop import open_shop
from bellhousing.web.app import create_app
from bellhousing.web.openapi import described

PAGE = Path(__file__).resolve().parents[2] / "docs" / "http.md"
BEGIN, END = "<!-- addresses: written by python -m tests.docs.http_page -->\n", "<!-- end of addresses -->\n"
TABLES = re.compile(re.escape(BEGIN) + ".*?" + re.escape(END), re.DOTALL)
LEFT_OUT = re.compile(r"/(static/.*|worker\.js|unit|login|logout)$")
GROUPS: Mapping[str, str] = {
    "The shop": r"/($|shop|jobs|cars?\b|boxes|settings|learn|due|stock|bench)",
    "A job": r"/job/\{number\}($|\.json|/(causes|next|shift-map|understand|note|answer|close|reopen|entry|"
    r"leaks?|adjust|plan|proof|fit|report|measured?|bench|fits|drive|road)\b)",
    "The work on a job": r"/job/\{number\}/",
    "Everything else": r"/",
}
MOST_NAMES = 12


def table() -> str:
    """The tables, between their marks."""
    with tempfile.TemporaryDirectory() as folder, open_shop(Path(folder)) as shop:
        paths = described(create_app(shop).routes, workshop=True)["paths"]
    rows: dict[str, list[str]] = {name: [] for name in GROUPS}
    for path, methods in paths.items():
        if LEFT_OUT.search(path):
            continue
        group = next(name for name, pattern in GROUPS.items() if re.match(pattern, path))
        twin = paths.get(f"{path}.json", {})
        page = paths.get(path.removesuffix(".json"), {}) if path.endswith(".json") else {}
        rows[group] += [
            _row(method, path, method in twin, told) for method, told in methods.items() if method not in page
        ]
    return BEGIN + "".join(_tables(rows)) + END


def _tables(rows: Mapping[str, list[str]]) -> Iterator[str]:
    for name, lines in rows.items():
        yield f"\n### {name}\n\n| address | what it is | takes | least role |\n| --- | --- | --- | --- |\n"
        yield from lines
    yield "\n"


def _row(method: str, path: str, both: bool, told: Mapping[str, Any]) -> str:
    address = f"`{method.upper()} {path}`" + (" `.json`" if both else "")
    names = _taken(told)
    shown = ", ".join(f"`{name}`" for name in names[:MOST_NAMES]) + (" …" if len(names) > MOST_NAMES else "")
    return f"| {address} | {told['summary']} | {shown} | {told['x-least-role']} |\n"


def _taken(told: Mapping[str, Any]) -> list[str]:
    names = [part["name"] for part in told["parameters"] if part["in"] == "query" and part["name"] != "unit"]
    for content in told.get("requestBody", {}).get("content", {}).values():
        names += [name for name in content["schema"]["properties"] if name not in names]
    return names


def main() -> None:
    """Write the tables into the page."""
    text = PAGE.read_text(encoding="utf-8")
    PAGE.write_text(TABLES.sub(lambda _: table(), text, count=1), encoding="utf-8")


if __name__ == "__main__":
    main()
