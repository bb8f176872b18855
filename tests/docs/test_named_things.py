"""What the pages on HTTP and on Python name is all there is, and is there."""

from __future__ import annotations

import importlib
import re
from pathlib import Path

from bellhousing.tasks.shop import open_shop
from bellhousing.web.app import create_app
from bellhousing.web.openapi import addresses, plain
from tests.docs.http_page import BEGIN

ROOT = Path(__file__).resolve().parents[2]
DOCS, PACKAGE = ROOT / "docs", ROOT / "src" / "bellhousing"
FENCED = re.compile(r"^```.*?^```", re.DOTALL | re.MULTILINE)
NAMED = re.compile(r"`([A-Za-z_][\w.]*)(?:\(\))?`")


def test_the_page_on_http_names_every_address(tmp_path: Path) -> None:
    """In a row of its own, as JSON beside its page, or by name among those left out."""
    text = (DOCS / "http.md").read_text(encoding="utf-8")
    with open_shop(tmp_path) as shop:
        asked = [(method, plain(path)) for method, path, _ in addresses(create_app(shop).routes)]
    assert len(asked) > 130
    missing = [
        f"{method} {path}"
        for method, path in asked
        if f"`{method} {path}`" not in text
        and f"`{method} {path.removesuffix('.json')}` `.json`" not in text
        and f"`{path.removesuffix('/{path}')}`" not in text.split(BEGIN)[0]
    ]
    assert missing == []


def test_the_page_on_python_names_every_room_and_nothing_else() -> None:
    """A row for each room of the package, and no name in its sentences that is not there."""
    text = FENCED.sub("", (DOCS / "python.md").read_text(encoding="utf-8"))
    rows = [line.split("|")[1] for line in text.splitlines() if line.startswith("| `")]
    rooms = [name for row in rows for name in NAMED.findall(row)]
    there = {path.stem for path in PACKAGE.iterdir() if path.suffix in ("", ".py")}
    assert sorted(rooms) == sorted(name for name in there if not name.startswith("_"))
    examples = (DOCS / "python.md").read_text(encoding="utf-8")
    for name in set(NAMED.findall(text)) - set(rooms):
        if "." in name and name.split(".")[0] in rooms:
            importlib.import_module(f"bellhousing.{name}")
        else:
            assert re.search(
                rf"^(from .* import .*\b{name}\b|.*\b{name.split('.')[0]} = )", examples, re.M
            ) or (hasattr(importlib.import_module("bellhousing.diagnosis.prepare"), name)), name
