"""`python -m tests.docs.refresh PAGE...`: writes what the examples print now into the pages.

Blocks that hold already are left as they are; of the others the whole output is put in, to be read and, where
it is long, cut with a line of “…” by hand.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import pytest

from tests.docs.pages import PROMPT, Block, blocks, commands, holds
from tests.docs.running import Reader, is_server, settle, shown_only


def refreshed(page: Path, reader: Reader) -> str:
    """The page's text with what its examples print now."""
    text = page.read_text(encoding="utf-8")
    changes: list[tuple[int, int, str]] = []
    printed = ""
    for block in blocks(page):
        if block.write_into(reader.folder):
            continue
        if block.kind == "console":
            changes.append((block.start, block.end, _console(block, reader)))
        elif block.kind == "python":
            printed = reader.execute(block, page)
        elif block.kind == "output" and not holds(tuple(block.text.splitlines()), printed.splitlines()):
            changes.append((block.start, block.end, printed))
    for start, end, put in reversed(changes):
        text = text[:start] + put + text[end:]
    return text


def _console(block: Block, reader: Reader) -> str:
    lines: list[str] = []
    for command in commands(block):
        lines.append(PROMPT + command.typed)
        shown = list(command.shown)
        if not shown_only(command):
            began = time.process_time()
            status, came = reader.type(command.typed)
            print(f"{status}  {time.process_time() - began:5.2f} s  {command.typed}", flush=True)
            if not is_server(command) and not holds(command.shown, came.splitlines()):
                shown = [line.rstrip() for line in came.splitlines()]
        lines += shown
    return "\n".join(lines) + "\n"


def main() -> None:
    """Refresh the pages named."""
    cache = Path(tempfile.gettempdir()) / "bellhousing-docs-cache"
    for name in sys.argv[1:]:
        page = Path(name).resolve()
        with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
            text = refreshed(page, settle(Path(folder), cache, patch))
        page.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
